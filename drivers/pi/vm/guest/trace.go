package guest

import (
	"fmt"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// An Edge is one thing that the kernel did to a line, electrically.
type Edge struct {
	Line int   // offset on the chip
	High bool  // the level that was set
	At   int64 // nanoseconds on CLOCK_MONOTONIC, to the microsecond
	// Direction is "out" or "in" where the line's direction was changed, and empty
	// where a level was set.
	Direction string
}

const tracing = "/sys/kernel/tracing/"

// A Witness sees every change of one chip's lines from its start on.
type Witness struct {
	t           testing.TB
	base, count int
}

// Watch starts the kernel's trace of a chip's lines.
func Watch(t testing.TB, c *Chip) *Witness {
	t.Helper()
	base, count, err := span(c.read("/sys/kernel/debug/gpio"), c.Name)
	if err != nil {
		t.Fatal(err)
	}
	c.write(tracing+"trace_clock", "mono")
	c.write(tracing+"events/gpio/enable", "1")
	c.write(tracing+"trace", "")
	return &Witness{t, base, count}
}

// Forget lets the witness begin anew: the kernel keeps so many changes only.
func (w *Witness) Forget() {
	w.t.Helper()
	if err := os.WriteFile(tracing+"trace", nil, 0o644); err != nil {
		w.t.Fatal(err)
	}
}

// Edges gives what has happened since the start, in the order of time.
func (w *Witness) Edges() []Edge {
	w.t.Helper()
	text, err := os.ReadFile(tracing + "trace")
	if err != nil {
		w.t.Fatal(err)
	}
	edges, err := parse(string(text), w.base, w.count)
	if err != nil {
		w.t.Fatal(err)
	}
	return edges
}

// Levels gives the levels that one line was set to, in the order of time.
func (w *Witness) Levels(line int) (levels []bool) {
	w.t.Helper()
	for _, e := range w.Edges() {
		if e.Line == line && e.Direction == "" {
			levels = append(levels, e.High)
		}
	}
	return levels
}

var chipSpan = regexp.MustCompile(`(?m)^(gpiochip\d+): GPIOs (\d+)-(\d+),`)

// span finds a chip's numbers in the kernel's list of all lines.
func span(list, chip string) (base, count int, err error) {
	for _, m := range chipSpan.FindAllStringSubmatch(list, -1) {
		if m[1] != chip {
			continue
		}
		first, _ := strconv.Atoi(m[2])
		last, _ := strconv.Atoi(m[3])
		return first, last - first + 1, nil
	}
	return 0, 0, fmt.Errorf("the kernel's list of lines has no %s:\n%s", chip, list)
}

var traced = regexp.MustCompile(`\s(\d+)\.(\d{6}): gpio_(value|direction): (\d+)\s+(set|get|in|out) +(\(?-?\d+\)?)`)

// parse reads the text of the kernel's trace. A level that was only read, and a
// change of direction that failed, are no edges.
func parse(text string, base, count int) (edges []Edge, err error) {
	if strings.Contains(text, "LOST") {
		return nil, fmt.Errorf("the kernel's trace has lost events:\n%s", text)
	}
	for line := range strings.Lines(text) {
		if strings.HasPrefix(line, "#") || !strings.Contains(line, ": gpio_") {
			continue
		}
		m := traced.FindStringSubmatch(line)
		if m == nil {
			return nil, fmt.Errorf("a line of the kernel's trace is not understood: %q", line)
		}
		number, _ := strconv.Atoi(m[4])
		if number < base || number >= base+count || m[5] == "get" || m[3] == "direction" && m[6] != "(0)" {
			continue
		}
		seconds, _ := strconv.ParseInt(m[1], 10, 64)
		micros, _ := strconv.ParseInt(m[2], 10, 64)
		e := Edge{Line: number - base, At: seconds*1e9 + micros*1e3}
		if m[3] == "direction" {
			e.Direction = m[5]
		} else {
			e.High = m[6] == "1"
		}
		edges = append(edges, e)
	}
	return edges, nil
}
