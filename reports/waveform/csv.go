package waveform

import (
	"bufio"
	"fmt"
	"io"
	"strconv"
	"strings"

	"pintle/rig/signal"
)

// Heading is the first line of a table: what a row is of, its span, the line and
// whether it is made (1) or broken (0), the current, a remark.
const Heading = "kind,early_ns,late_ns,line,made,current_uA,text"

// CSV writes a table after RFC 4180, its lines ended by a line feed alone. It has
// the level of each line at the origin (kind level), then every edge, sample and
// mark in the order of their earliest instants, then the end of the trial.
func CSV(w io.Writer, t *signal.Trace) error {
	c := tabler{w: bufio.NewWriterSize(w, 1<<16)}
	c.w.WriteString(Heading + "\n")
	for l := signal.Line(1); l < signal.LineCount; l++ {
		c.onLine("level", signal.Span{}, l, t.Initial[l])
	}
	visit(t, func(s signal.Span) signal.Instant { return s.Early }, &c)
	c.row("end", signal.At(t.End))
	c.w.WriteString(",,,\n")
	if err := c.w.Flush(); err != nil {
		return fmt.Errorf("write the table: %w", err)
	}
	return nil
}

// A tabler writes rows. The buffered writer keeps the first error for Flush.
type tabler struct {
	w    *bufio.Writer
	line []byte
}

// row begins a row, up to and with the comma after its span.
func (c *tabler) row(kind string, s signal.Span) {
	c.line = append(append(c.line[:0], kind...), ',')
	c.line = append(strconv.AppendInt(c.line, int64(s.Early), 10), ',')
	c.line = append(strconv.AppendInt(c.line, int64(s.Late), 10), ',')
	c.w.Write(c.line)
}

// onLine writes a row that is about a line.
func (c *tabler) onLine(kind string, s signal.Span, l signal.Line, v signal.Level) {
	c.row(kind, s)
	fmt.Fprintf(c.w, "%v,%d,,\n", l, v)
}

func (c *tabler) edge(_ signal.Instant, e *signal.EdgeSeen) {
	c.onLine("edge", e.Span, e.Line, e.Level)
}

func (c *tabler) sample(_ signal.Instant, s *signal.Sample) {
	c.row("sample", signal.Span{Early: s.From, Late: s.To})
	c.line = append(c.line[:0], ",,"...)
	c.line = append(strconv.AppendInt(c.line, int64(s.Current), 10), ",\n"...)
	c.w.Write(c.line)
}

func (c *tabler) mark(_ signal.Instant, m *signal.Mark) {
	c.row("mark", signal.At(m.At))
	fmt.Fprintf(c.w, ",,,%s\n", quoted(m.Text))
}

// quoted puts a text into quotation marks, so that commas, line ends and marks in
// it are its own.
func quoted(s string) string { return `"` + strings.ReplaceAll(s, `"`, `""`) + `"` }
