package appraise

import (
	"cmp"
	"math"
	"math/bits"
	"time"

	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/rig/uncertainty"
)

// A term is one line of a budget: what it moves the value by, and how wide it is in
// the value's unit. The width is a half-width, or a standard deviation where the
// source is normal.
type term struct {
	source SourceID
	shift  float64
	width  float64
}

// terms works out the budget of a measured value: its best estimate and its lines.
// There are none where the value is known exactly.
func (t *Trial) terms(m rule.Measured) (value float64, lines []term) {
	lines = t.scratch[:0]
	value = middle(m.Value)
	switch rule.UnitOf(m.Rule.Pattern) {
	case rule.Nanoseconds:
		lines = t.duration(lines, m)
	case rule.Microamperes:
		lines = t.current(lines, m)
	case rule.Millionths:
		lines = t.load(lines, m)
	}
	t.scratch = lines
	kept := lines[:0]
	for _, l := range lines {
		value += l.shift
		if l.width > 0 {
			kept = append(kept, l)
		}
	}
	return value, kept
}

func middle(v rule.Interval) float64 { return float64(v.Least) + float64(v.Most-v.Least)/2 }

// duration is the budget of a time from one instant to another.
func (t *Trial) duration(lines []term, m rule.Measured) []term {
	if m.Value.Least == m.Value.Most && m.Decided[0] == m.Decided[1] {
		return lines // one and the same instant
	}
	lines = t.instant(lines, m.Decided[0], -1)
	lines = t.instant(lines, m.Decided[1], +1)
	return append(lines, term{source: ClockRate, width: float64(t.means.Clock) * 1e-6 * nominal(m)})
}

// nominal is the size that a part of the value is taken of: that of the limit, or a
// power of two that is not less than the value. So it hardly differs from trial to
// trial, and errs to the safe side.
func nominal(m rule.Measured) float64 {
	limit, size := magnitude(m.Limit), max(magnitude(m.Value.Least), magnitude(m.Value.Most))
	if size <= limit || size == 0 {
		return float64(limit)
	}
	return math.Ldexp(1, bits.Len64(uint64(size-1)))
}

func magnitude(x int64) int64 { return max(x, -x) }

// ids are the sources of one end.
var ids = [2]struct{ edge, look, window, noise, delay, bridge, swing SourceID }{
	{EdgeStart, LookStart, WindowStart, NoiseStart, DelayStart, BridgeStart, SwingStart},
	{EdgeEnd, LookEnd, WindowEnd, NoiseEnd, DelayEnd, BridgeEnd, SwingEnd},
}

// instant adds what is uncertain about one end; sign is +1 for the later one.
func (t *Trial) instant(lines []term, s signal.Span, sign float64) []term {
	id := &ids[0]
	if sign > 0 {
		id = &ids[1]
	}
	c, seen := t.change(s)
	if !seen {
		return append(lines, term{source: id.edge, width: float64(s.Width()) / 2})
	}
	m := &t.means
	share, doubt, slope := crossing(m.Motion, c)
	window := float64(m.Window)
	// Readings farther apart than their delays can explain were really so.
	delay := m.Most - m.Least + m.Bridge
	look := max(s.Width()-m.Window-2*delay, time.Duration(max(1, c.Readings))*m.Interval)
	lines = append(lines,
		term{source: id.look, width: float64(look) / 2},
		term{source: id.window, shift: sign * (share - 0.5) * window, width: doubt * window},
		term{source: id.delay, width: float64(m.Most-m.Least) / 2},
		term{source: id.bridge, width: float64(m.Bridge) / 2},
		term{source: id.swing, shift: sign * swings(c) * float64(m.Swing) / 2, width: float64(m.Swing) / 2})
	if slope > 0 {
		lines = append(lines, term{source: id.noise, width: float64(m.Noise) / slope * window})
	}
	return lines
}

// swings says on which side of a step, which carries the same charge, a current that
// takes its time crosses the threshold: a falling one later, a rising one sooner.
func swings(c motion.Change) float64 {
	if c.Is == motion.Stopped {
		return +1
	}
	return -1
}

// Of a level that readings tell this part may be wrong: it ripples, and a motor that
// starts or is braked has not the same current for long.
const levelDoubt = 0.2

// crossing tells at which share of its window a step in the current falls where the
// mean over the window is just at the threshold, how far that may be off, and by
// how much the mean changes over a whole window.
//
// With a share f of the window before the step the mean is f times the level before
// and 1 - f times the level after.
func crossing(t motion.Thresholds, c motion.Change) (share, doubt, slope float64) {
	before, after := float64(c.Before), float64(c.After)
	if !c.Levels || before == after {
		return 0.5, 0.5, 0
	}
	share = (threshold(t, c) - after) / (before - after)
	if share < 0 || share > 1 {
		return 0.5, 0.5, 0
	}
	return share, levelDoubt * min(share, 1-share), math.Abs(before - after)
}

// threshold is the current at which the reading goes over.
func threshold(t motion.Thresholds, c motion.Change) float64 {
	switch {
	case c.Was == motion.Opening:
		return float64(t.Stops)
	case c.Was == motion.Closing:
		return -float64(t.Stops)
	case c.Is == motion.Closing:
		return -float64(t.Runs)
	}
	return float64(t.Runs)
}

// current is the budget of a reading, or of the mean of several.
func (t *Trial) current(lines []term, m rule.Measured) []term {
	means := &t.means
	noise := float64(means.Noise)
	if w := m.Rule.Window; w > means.Interval {
		noise /= math.Sqrt(float64(w / means.Interval))
	}
	return append(lines,
		term{source: ReadNoise, width: noise},
		term{source: ReadStep, width: float64(means.Resolution) / 2},
		term{source: ReadGain, width: float64(means.Gain) * 1e-6 * nominal(m)},
		term{source: ReadZero, width: float64(means.Zero)})
}

// load is the budget of a thermal load, which goes with the square of the current.
func (t *Trial) load(lines []term, m rule.Measured) []term {
	return append(lines,
		term{source: LoadBounds, width: float64(m.Value.Most-m.Value.Least) / 2},
		term{source: ReadGain, width: 2 * float64(t.means.Gain) * 1e-6 * nominal(m)})
}

// budget makes a budget of the lines, for evaluation. What is small beside the
// largest is put together and rounded up, so that trials which differ in nothing
// that matters share one evaluation.
func (a *Appraiser) budget(quantity, unit string, value float64, lines []term) *uncertainty.Budget {
	b := &uncertainty.Budget{Quantity: quantity, Unit: unit, Offset: value, Coverage: a.decision.Coverage}
	largest := 0.0
	for _, l := range lines {
		largest = max(largest, l.standard())
	}
	rest := 0.0
	for _, l := range lines {
		if u := l.standard(); u < largest/16 {
			rest += u * u
			continue
		}
		b.Add(l.input(unit))
	}
	if rest > 0 {
		frac, exp := math.Frexp(math.Sqrt(rest))
		if frac > 0.5 {
			exp++
		}
		b.Add(uncertainty.Input{Name: "all that is small", Unit: unit, Distribution: normal, Standard: math.Ldexp(0.5, exp), Sensitivity: 1})
	}
	return b
}

func (l term) standard() float64 {
	if l.source.source().Distribution == normal {
		return l.width
	}
	return l.width / math.Sqrt(3)
}

func (l term) input(unit string) uncertainty.Input {
	s := l.source.source()
	in := uncertainty.Input{Name: s.Name, Unit: unit, Distribution: s.Distribution, Sensitivity: 1, Source: s.Assumes}
	if s.Distribution == normal {
		in.Standard = l.width
	} else {
		in.HalfWidth = l.width
	}
	return in
}

// recorded gives the lines in the order of the sources, widths rounded up.
func recorded(lines []term) []rule.BudgetLine {
	out := make([]rule.BudgetLine, 0, len(lines))
	for _, l := range lines {
		out = append(out, rule.BudgetLine{Source: uint8(l.source), Shift: int64(math.Round(l.shift)), Width: int64(math.Ceil(l.width))})
	}
	sortLines(out)
	return out
}

func sortLines(lines []rule.BudgetLine) {
	for i := 1; i < len(lines); i++ {
		for j := i; j > 0 && cmp.Less(lines[j].Source, lines[j-1].Source); j-- {
			lines[j], lines[j-1] = lines[j-1], lines[j]
		}
	}
}
