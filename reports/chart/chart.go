package chart

import (
	"strings"

	"pintle/reports"
	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// Options say what to draw of a trace. The zero Options draw the whole of it.
type Options struct {
	Title    string
	Note     string         // beside the title: which run, scenario and trial
	From, To signal.Instant // part to draw; both zero: chosen so that the finding can be seen
	Finding  *rule.Finding  // its requirement is drawn in; nil: none
	Rule     reports.Rule   // of the finding
	Lanes    []signal.Line  // nil: those that changed, the limits, those that the rule names
	Motor    []motion.Change
}

// A Chart is a trace made ready for drawing.
type Chart struct {
	trace    *signal.Trace
	opts     Options
	lanes    []signal.Line
	from, to signal.Instant
	end      signal.Instant // of the trial
	req      requirement
}

// New makes a chart. The trace must stay as it is while the chart is used.
func New(trace *signal.Trace, opts Options) *Chart {
	c := &Chart{trace: trace, opts: opts, end: endOf(trace)}
	c.req = requirementOf(opts.Finding)
	c.from, c.to = opts.From, opts.To
	if c.from == 0 && c.to == 0 || c.to <= c.from {
		c.from, c.to = window(c.end, c.req)
	}
	c.lanes = opts.Lanes
	if c.lanes == nil {
		c.lanes = lanesOf(trace, opts.Rule.Name)
	}
	return c
}

// Window gives the part of the trial that the chart shows.
func (c *Chart) Window() (from, to signal.Instant) { return c.from, c.to }

// Lanes gives the lines that the chart shows, from top to bottom.
func (c *Chart) Lanes() []signal.Line { return c.lanes }

// zoomed says that the chart shows less than the trial, so that an overview helps.
func (c *Chart) zoomed() bool { return c.from > 0 || c.to < c.end }

// endOf is the end of a trial, also of a trace that was cut off before its end
// was written.
func endOf(t *signal.Trace) signal.Instant {
	end := max(t.End, 1)
	if n := len(t.Samples); n > 0 {
		end = max(end, t.Samples[n-1].To)
	}
	if n := len(t.Edges); n > 0 {
		end = max(end, t.Edges[n-1].Span.Late)
	}
	return end
}

// lanesOf chooses the lines worth a lane. A limit that never came is as telling as
// one that did, so both limits are always there.
func lanesOf(t *signal.Trace, ruleName string) []signal.Line {
	changed := signal.SetOf(signal.OpenLimit, signal.ClosedLimit)
	for _, e := range t.Edges {
		changed |= signal.SetOf(e.Line)
	}
	var lanes []signal.Line
	for _, info := range signal.Lines {
		named := info.Line != signal.Heartbeat && strings.Contains(ruleName, info.Name)
		if named || info.Line != signal.Heartbeat && changed.Has(info.Line) {
			lanes = append(lanes, info.Line)
		}
	}
	return lanes
}

// window chooses what to show: the whole trial where the requirement is wide
// enough to be read in it, else the surroundings of the requirement.
func window(end signal.Instant, r requirement) (from, to signal.Instant) {
	lo, hi, ok := r.extent()
	if !ok {
		return 0, end
	}
	wide := hi - lo
	if to = max(end, hi); wide >= to/10 {
		return 0, min(to, end+end/4)
	}
	from = max(0, lo-wide/2) // half as much before; the words stand behind
	return from, min(from+3*wide, max(end, hi))
}
