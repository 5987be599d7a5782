package derive

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// work is a proposal while its reasoning is being written down.
type work struct {
	p        Proposal
	low      float64 // SI; NaN: nothing known
	high     float64
	why      [2]string // what bounds it from below, from above
	prefer   float64   // a value above the least one that would be better still; 0: none
	formulas struct{ low, high int }
}

func begin(claim string, u Unit) *work {
	return &work{p: Proposal{Claim: claim, Unit: u}, low: math.NaN(), high: math.NaN()}
}

func (w *work) line(text string, value float64, show func(float64) string, formula string, args ...any) float64 {
	w.p.Steps = append(w.p.Steps, Step{Text: text, Formula: fmt.Sprintf(formula, args...), Result: show(value), Value: value})
	return value
}

// eq writes a line and gives its result, rounded as shown.
func (w *work) eq(text string, x float64, show func(float64) string, formula string, args ...any) float64 {
	return w.line(text, round(x), show, formula, args...)
}

// say writes a line without arithmetic.
func (w *work) say(format string, args ...any) {
	w.p.Steps = append(w.p.Steps, Step{Text: fmt.Sprintf(format, args...)})
}

func (w *work) show() func(float64) string {
	if w.p.Unit == Microamperes {
		return amp
	}
	return sec
}

// least writes a line whose result is a lower bound.
func (w *work) least(why, text string, x float64, formula string, args ...any) float64 {
	x = w.line(text, roundUp(x), w.show(), formula, args...)
	w.bound(x, why)
	return x
}

// most writes a line whose result is an upper bound.
func (w *work) most(why, text string, x float64, formula string, args ...any) float64 {
	x = w.line(text, roundDown(x), w.show(), formula, args...)
	w.under(x, why)
	return x
}

// bound raises the lower bound to x, under lowers the upper one.
func (w *work) bound(x float64, why string) {
	w.formulas.low++
	if !(x <= w.low) {
		w.low, w.why[0] = x, why
	}
}

func (w *work) under(x float64, why string) {
	w.formulas.high++
	if !(x >= w.high) {
		w.high, w.why[1] = x, why
	}
}

func (w *work) missing(what ...string) { w.p.Missing = added(w.p.Missing, what) }
func (w *work) note(format string, args ...any) {
	w.p.Notes = append(w.p.Notes, fmt.Sprintf(format, args...))
}

func (w *work) source(what ...string) { w.p.Sources = added(w.p.Sources, what) }

// added appends what is not there yet.
func added(to, what []string) []string {
	for _, s := range what {
		if !slices.Contains(to, s) {
			to = append(to, s)
		}
	}
	return to
}

func (w *work) hasLow() bool   { return !math.IsNaN(w.low) }
func (w *work) hasHigh() bool  { return !math.IsNaN(w.high) }
func (w *work) conflict() bool { return w.low > w.high }

// Where among the sound values the proposed one is looked for.
type aim int

const (
	nearLow aim = iota // no longer, no more than need be
	middle             // as far from the one side as from the other
)

// finish closes the reasoning: it says which bound counts, proposes a value, or
// says that there is none.
func (w *work) finish(a aim) {
	if w.formulas.low > 1 {
		w.say("The largest of the least values counts: %s, for %s.", w.show()(w.low), w.why[0])
	}
	if w.formulas.high > 1 {
		w.say("The smallest of the most values counts: %s, for %s.", w.show()(w.high), w.why[1])
	}
	if w.hasLow() {
		w.p.Low = new(int64)
		*w.p.Low = w.units(w.low)
	}
	if w.hasHigh() {
		w.p.High = new(int64)
		*w.p.High = w.units(w.high)
	}
	switch {
	case w.conflict():
		w.p.Conflict = fmt.Sprintf("it would have to be at least %s for %s, yet at most %s for %s",
			w.show()(w.low), w.why[0], w.show()(w.high), w.why[1])
	case w.hasLow() || w.hasHigh():
		w.p.Proposed = w.units(choose(w.target(a), w.low, w.high))
	}
}

func (w *work) target(a aim) float64 {
	switch {
	case !w.hasLow():
		return w.high / 1.5
	case a == middle && w.hasHigh():
		return math.Sqrt(w.low * w.high)
	}
	return math.Max(w.low*1.15, w.prefer*1.1)
}

// units turns a figure of SI into the proposal's whole numbers.
func (w *work) units(x float64) int64 {
	if w.p.Unit == Microamperes {
		return int64(microamps(x))
	}
	return int64(duration(x))
}

// proposed is the proposed value in SI; in a conflict the least value.
func (w *work) proposed() float64 {
	switch {
	case w.conflict():
		return w.low
	case w.p.Unit == Microamperes:
		return round(float64(w.p.Proposed) / 1e6)
	}
	return round(float64(w.p.Proposed) / 1e9)
}

func (w *work) remedy(apply func(*Given), format string, args ...any) {
	w.p.Remedies = append(w.p.Remedies, Remedy{fmt.Sprintf(format, args...), apply})
}

// The figures that people choose, from the handiest to the exact.
var handy = [][]float64{{1, 2, 5}, {1, 1.5, 2, 2.5, 3, 4, 5, 6, 8}}

// choose gives a figure between low and high, either of which may be NaN, near the
// target and as round as may be.
func choose(target, low, high float64) float64 {
	within := func(x float64) bool { return !(x < low) && !(x > high) }
	if !(target > 0) {
		target = math.Max(0, low)
	}
	if target == 0 {
		return 0
	}
	decade := math.Pow10(int(math.Floor(math.Log10(target))))
	for _, series := range handy {
		best := math.NaN()
		for _, by := range []float64{decade / 10, decade, decade * 10} {
			for _, m := range series {
				x := round(m * by)
				if within(x) && !(math.Abs(math.Log(x/target)) >= math.Abs(math.Log(best/target))) {
					best = x
				}
			}
		}
		if math.Abs(math.Log(best/target)) < 0.13 {
			return best
		}
	}
	for n := 2; n <= digits; n++ {
		for _, to := range []func(float64) float64{math.Round, up, down} {
			if x := rounded(target, n, to); within(x) {
				return x
			}
		}
	}
	return math.Min(math.Max(target, nanOr(low, target)), nanOr(high, target))
}

func nanOr(x, otherwise float64) float64 {
	if math.IsNaN(x) {
		return otherwise
	}
	return x
}

// and joins words as a sentence does.
func and(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}
