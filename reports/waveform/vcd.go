package waveform

import (
	"bufio"
	"fmt"
	"io"
	"strconv"

	"pintle/rig/signal"
)

// currentID is the identifier of the motor current; lines have theirs by number.
const currentID = '!'

// id is a line's identifier: one printable character.
func id(l signal.Line) byte { return byte('!' + 1 + l) }

// VCD writes a value change dump. The scope is named after the trial, in letters,
// digits and underscores.
func VCD(w io.Writer, t *signal.Trace, scope string) error {
	b := bufio.NewWriter(w)
	lines := used(t)
	header(b, lines, scope)
	dump(b, t, lines)
	changes(b, t)
	fmt.Fprintf(b, "#%d\n", max(int64(t.End), 0))
	if err := b.Flush(); err != nil {
		return fmt.Errorf("write the value change dump: %w", err)
	}
	return nil
}

// used lists the lines that were ever made.
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

func header(b *bufio.Writer, lines []signal.Line, scope string) {
	fmt.Fprintf(b, "$version pintle $end\n$timescale 1 ns $end\n$scope module %s $end\n", word(scope))
	fmt.Fprintf(b, "$var real 64 %c motor_current_A $end\n", currentID)
	for _, l := range lines {
		fmt.Fprintf(b, "$var wire 1 %c %s $end\n", id(l), word(l.String()))
	}
	fmt.Fprint(b, "$upscope $end\n$enddefinitions $end\n")
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

// dump tells what is so at the origin: the levels, and the last reading before it.
func dump(b *bufio.Writer, t *signal.Trace, lines []signal.Line) {
	current := "r0"
	for _, s := range t.Samples {
		if middle(s) > 0 {
			break
		}
		current = real(s)
	}
	fmt.Fprintf(b, "#0\n$dumpvars\n%s %c\n", current, currentID)
	for _, l := range lines {
		fmt.Fprintf(b, "%d%c\n", t.Initial[l], id(l))
	}
	fmt.Fprint(b, "$end\n")
}

func middle(s signal.Sample) signal.Instant { return signal.Span{Early: s.From, Late: s.To}.Mid() }

func real(s signal.Sample) string { return "r" + strconv.FormatFloat(s.Current.Amperes(), 'g', -1, 64) }

// changes merges edges and readings in the order of time.
func changes(b *bufio.Writer, t *signal.Trace) {
	at := int64(0)
	stamp := func(i signal.Instant) {
		if v := max(int64(i), 0); v > at {
			at = v
			fmt.Fprintf(b, "#%d\n", at)
		}
	}
	edges := t.Edges
	last := signal.Sample{Current: 1 << 62}
	for _, s := range t.Samples {
		mid := middle(s)
		for len(edges) > 0 && edges[0].Span.Mid() <= mid {
			edge(b, edges[0], stamp)
			edges = edges[1:]
		}
		if mid > 0 && s.Current != last.Current {
			stamp(mid)
			fmt.Fprintf(b, "%s %c\n", real(s), currentID)
			last = s
		}
	}
	for _, e := range edges {
		edge(b, e, stamp)
	}
}

func edge(b *bufio.Writer, e signal.EdgeSeen, stamp func(signal.Instant)) {
	stamp(e.Span.Mid())
	fmt.Fprintf(b, "%d%c\n", e.Level, id(e.Line))
}
