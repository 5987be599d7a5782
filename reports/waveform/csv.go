package waveform

import (
	"bufio"
	"fmt"
	"io"
	"strconv"

	"pintle/rig/signal"
)

// CSV writes a table with a row for each reading and each edge, in the order of
// their earliest instants: what it is of, its span in nanoseconds, and its value
// in the unit that the heading names.
func CSV(w io.Writer, t *signal.Trace) error {
	b := bufio.NewWriter(w)
	fmt.Fprintln(b, "what,early_ns,late_ns,current_uA,made")
	for l, v := range t.Initial {
		if v == signal.Made {
			fmt.Fprintf(b, "%v,0,0,,%d\n", signal.Line(l), v)
		}
	}
	edges := t.Edges
	row := func(e signal.EdgeSeen) {
		fmt.Fprintf(b, "%v,%d,%d,,%d\n", e.Line, e.Span.Early, e.Span.Late, e.Level)
	}
	for _, s := range t.Samples {
		for len(edges) > 0 && edges[0].Span.Early < s.From {
			row(edges[0])
			edges = edges[1:]
		}
		b.WriteString("current,")
		b.WriteString(strconv.FormatInt(int64(s.From), 10))
		b.WriteByte(',')
		b.WriteString(strconv.FormatInt(int64(s.To), 10))
		b.WriteByte(',')
		b.WriteString(strconv.FormatInt(int64(s.Current), 10))
		b.WriteString(",\n")
	}
	for _, e := range edges {
		row(e)
	}
	if err := b.Flush(); err != nil {
		return fmt.Errorf("write the table: %w", err)
	}
	return nil
}
