package waveform

import (
	"bufio"
	"fmt"
	"io"
	"strconv"
	"strings"

	"pintle/rig/signal"
)

// currentID is the identifier of the motor current; lines have theirs by number.
const currentID = '!'

// id is a line's identifier: one printable character of ASCII.
func id(l signal.Line) byte { return currentID + byte(l) }

// VCD writes a value change dump. The scope is named after the trial, in letters,
// digits and underscores. Lanes stand in a scope of their own in it, named seen.
func VCD(w io.Writer, t *signal.Trace, scope string, lanes ...Lane) error {
	d := dumper{w: bufio.NewWriterSize(w, 1<<16), wires: wires(lanes)}
	lines := used(t)
	d.header(lines, scope, lanes)
	d.origin(t, lines, lanes)
	visit(t, signal.Span.Mid, &d)
	d.stamp(t.End)
	for len(d.wires) > 0 {
		d.stamp(d.wires[0].At)
	}
	if err := d.w.Flush(); err != nil {
		return fmt.Errorf("write the value change dump: %w", err)
	}
	return nil
}

// used lists the lines that were ever made or changed.
func used(t *signal.Trace) []signal.Line {
	var seen signal.LineSet
	for _, e := range t.Edges {
		seen |= signal.SetOf(e.Line)
	}
	var lines []signal.Line
	for _, info := range signal.Lines {
		if seen.Has(info.Line) || t.Initial[info.Line] == signal.Made {
			lines = append(lines, info.Line)
		}
	}
	return lines
}

// word makes an identifier of a name.
func word(name string) string {
	out := []byte(name)
	for i, c := range out {
		if (c < 'a' || c > 'z') && (c < 'A' || c > 'Z') && (c < '0' || c > '9') {
			out[i] = '_'
		}
	}
	if len(out) == 0 || out[0] >= '0' && out[0] <= '9' {
		return "t" + string(out)
	}
	return string(out)
}

// remark makes a text that cannot end the comment it stands in: words between
// single blanks, with no word that begins as a keyword does.
func remark(text string) string {
	words := strings.Fields(strings.ToValidUTF8(text, "?"))
	for i, w := range words {
		if w[0] == '$' {
			words[i] = "_" + w[1:]
		}
	}
	return strings.Join(words, " ")
}

// A dumper writes the dump. The buffered writer keeps the first error for Flush.
type dumper struct {
	w       *bufio.Writer
	now     int64
	level   [signal.LineCount]signal.Level
	current signal.Current
	line    []byte
	wires   []wire // still to come
}

// header writes the declarations.
func (d *dumper) header(lines []signal.Line, scope string, lanes []Lane) {
	fmt.Fprintf(d.w, "$version pintle $end\n$timescale 1 ns $end\n$scope module %s $end\n", word(scope))
	fmt.Fprintf(d.w, "$var real 64 %c motor_current_A $end\n", currentID)
	for _, l := range lines {
		fmt.Fprintf(d.w, "$var wire 1 %c %s $end\n", id(l), word(l.String()))
	}
	if len(lanes) > 0 {
		fmt.Fprint(d.w, "$scope module seen $end\n")
		for i, name := range laneNames(lanes) {
			fmt.Fprintf(d.w, "$var wire 1 %s %s $end\n", laneID(i), name)
		}
		fmt.Fprint(d.w, "$upscope $end\n")
	}
	fmt.Fprint(d.w, "$upscope $end\n$enddefinitions $end\n")
}

// origin writes what is so at zero: the levels, and no current read yet.
func (d *dumper) origin(t *signal.Trace, lines []signal.Line, lanes []Lane) {
	d.level = t.Initial
	fmt.Fprintf(d.w, "#0\n$dumpvars\nr0 %c\n", currentID)
	for _, l := range lines {
		fmt.Fprintf(d.w, "%d%c\n", d.level[l], id(l))
	}
	for i, l := range lanes {
		fmt.Fprintf(d.w, "%c%s\n", l.Origin, laneID(i))
	}
	fmt.Fprint(d.w, "$end\n")
}

// stamp writes what lanes do until then, and the time.
func (d *dumper) stamp(at signal.Instant) {
	for len(d.wires) > 0 && d.wires[0].At <= at {
		next := d.wires[0]
		d.wires = d.wires[1:]
		d.time(next.At)
		fmt.Fprintf(d.w, "%c%s\n", next.Level, next.id)
	}
	d.time(at)
}

// time writes the time, if it is later than what was written last.
func (d *dumper) time(at signal.Instant) {
	if int64(at) > d.now {
		d.now = int64(at)
		d.line = append(strconv.AppendInt(append(d.line[:0], '#'), d.now, 10), '\n')
		d.w.Write(d.line)
	}
}

func (d *dumper) edge(at signal.Instant, e *signal.EdgeSeen) {
	if d.level[e.Line] == e.Level {
		return
	}
	d.level[e.Line] = e.Level
	d.stamp(at)
	d.line = append(d.line[:0], '0'+byte(e.Level), id(e.Line), '\n')
	d.w.Write(d.line)
}

func (d *dumper) sample(at signal.Instant, s *signal.Sample) {
	if s.Current == d.current {
		return
	}
	d.current = s.Current
	d.stamp(at)
	d.line = appendAmperes(append(d.line[:0], 'r'), s.Current)
	d.line = append(d.line, ' ', currentID, '\n')
	d.w.Write(d.line)
}

func (d *dumper) mark(at signal.Instant, m *signal.Mark) {
	d.stamp(at)
	fmt.Fprintf(d.w, "$comment %s $end\n", remark(m.Text))
}

// appendAmperes adds a current in amperes, exactly: 1250000 µA as 1.25.
func appendAmperes(b []byte, c signal.Current) []byte {
	n := uint64(c)
	if c < 0 {
		b, n = append(b, '-'), -n
	}
	b = strconv.AppendUint(b, n/1e6, 10)
	rest := n % 1e6
	if rest == 0 {
		return b
	}
	b = append(b, '.')
	for digit := uint64(1e5); rest > 0; digit /= 10 {
		b = append(b, '0'+byte(rest/digit))
		rest %= digit
	}
	return b
}
