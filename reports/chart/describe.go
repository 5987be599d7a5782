package chart

import (
	"fmt"
	"strings"

	"pintle/rig/signal"
)

// sentence says in words what the finding came to.
func (c *Chart) sentence() string {
	f := c.opts.Finding
	if f == nil {
		return ""
	}
	parts := []string{strings.ToUpper(f.Verdict.String())}
	if c.opts.Rule.Name != "" {
		parts[0] += ": " + c.opts.Rule.Name
	}
	if f.Measured {
		parts = append(parts, "measured "+c.req.valueText())
		if s := c.req.limitText(); s != "" {
			parts = append(parts, "limit "+s)
		}
		if s := c.req.marginText(); s != "" {
			parts = append(parts, s)
		}
	}
	if f.Reason != "" {
		parts = append(parts, f.Reason)
	}
	return strings.Join(parts, "; ")
}

const (
	mostEdgesTold = 12
	mostStepsTold = 40
)

// Describe tells in words what the chart shows, for those who cannot see it.
func (c *Chart) Describe() string {
	var b strings.Builder
	if s := c.sentence(); s != "" {
		fmt.Fprintf(&b, "%s. ", s)
	}
	fmt.Fprintf(&b, "Shown: %s s to %s s of a trial of %s s.", seconds(c.from, 3), seconds(c.to, 3), seconds(c.end, 3))
	for _, l := range c.lanes {
		fmt.Fprintf(&b, " %s: %s.", l, c.tell(l))
	}
	if n := len(c.trace.Samples); n > 0 {
		lo, hi := c.trace.Samples[0].Current, c.trace.Samples[0].Current
		for _, s := range c.trace.Samples {
			lo, hi = min(lo, s.Current), max(hi, s.Current)
		}
		fmt.Fprintf(&b, " Current: %d samples in the trial, from %s A to %s A.", n, amperes(int64(lo), 2), amperes(int64(hi), 2))
	} else {
		b.WriteString(" Current: no samples.")
	}
	for i, m := range c.trace.Marks {
		if i == 0 {
			b.WriteString(" Steps:")
		}
		if i == mostStepsTold {
			fmt.Fprintf(&b, " and %d more steps", len(c.trace.Marks)-i)
			break
		}
		fmt.Fprintf(&b, " %s s %s;", seconds(m.At, 3), m.Text)
	}
	return strings.TrimSuffix(b.String(), ";")
}

// tell lists the edges of a line in the window.
func (c *Chart) tell(l signal.Line) string {
	line := c.trace.Line(l)
	told := []string{line.Level(c.from).String() + " at first"}
	more := 0
	for _, e := range line.Edges {
		switch {
		case e.At <= c.from || e.At > c.to:
		case len(told) > mostEdgesTold:
			more++
		default:
			told = append(told, fmt.Sprintf("%s at %s s", e.Level, seconds(e.At, 3)))
		}
	}
	if more > 0 {
		told = append(told, fmt.Sprintf("and %d more changes", more))
	}
	return strings.Join(told, ", ")
}
