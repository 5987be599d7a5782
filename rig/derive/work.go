package derive

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// work is a proposal while its reasoning is being written down.
type work struct {
	p      Proposal
	low    float64 // SI; NaN: nothing known
	high   float64
	why    [2]string // what bounds it from below, from above
	prefer float64   // a value above the least one that would be better still; 0: none
	bounds struct{ low, high int }
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
	w.bounds.low++
	if !(x <= w.low) {
		w.low, w.why[0] = x, why
	}
}

func (w *work) under(x float64, why string) {
	w.bounds.high++
	if !(x >= w.high) {
		w.high, w.why[1] = x, why
	}
}

func (w *work) missing(what ...string) { w.p.Missing = added(w.p.Missing, what) }
func (w *work) note(format string, args ...any) {
	w.p.Notes = append(w.p.Notes, fmt.Sprintf(format, args...))
}

// looks is how often the controller looks at its inputs, in seconds.
func (w *work) looks(g Given) float64 {
	if g.Loop == 0 {
		w.missing("how often the controller looks at its inputs")
	}
	return seconds(g.Loop)
}

func (w *work) source(what ...string) { w.p.Sources = added(w.p.Sources, what) }

// borrowed names the source of a figure that is not the gate's own, if there is one.
func (w *work) borrowed(from string) {
	if from != "" {
		w.source(from)
	}
}

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
func (w *work) conflict() bool { return w.low > w.high || w.nothing() }

// nothing says that the upper bound leaves not even the least figure there is.
func (w *work) nothing() bool { return w.hasHigh() && w.units(w.high) <= 0 }

// Where among the sound values the proposed one is looked for.
type aim int

const (
	nearLow aim = iota // no longer, no more than need be
	middle             // as far from the one side as from the other
)

// finish closes the reasoning: it says which bound counts, proposes a value, or
// says that there is none.
func (w *work) finish(a aim) {
	if w.bounds.low > 1 && !w.conflict() {
		w.say("The low end is the largest of these: %s, for %s.", w.show()(w.low), w.why[0])
	}
	if w.bounds.high > 1 && !w.conflict() {
		w.say("The high end is the smallest: %s, for %s.", w.show()(w.high), w.why[1])
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
	case w.conflict() && !w.hasLow():
		w.p.Conflict = fmt.Sprintf("%s leaves nothing at all", w.why[1])
	case w.conflict() && w.nothing():
		w.p.Conflict = fmt.Sprintf("it would have to be at least %s for %s, yet %s leaves nothing at all",
			w.show()(w.low), w.why[0], w.why[1])
	case w.conflict():
		w.p.Conflict = fmt.Sprintf("it would have to be at least %s for %s, yet at most %s for %s",
			w.show()(w.low), w.why[0], w.show()(w.high), w.why[1])
	case w.hasLow() || w.hasHigh():
		w.p.Proposed = max(w.units(w.choice(a)), 1) // an upper bound of a nanosecond may be chosen from, too
	}
}

// choice is the figure to propose. A handy one keeps away from the bounds, too.
func (w *work) choice(a aim) float64 {
	prefer := math.Min(w.prefer, nanOr(w.high, w.prefer))
	target, from, to := w.low*1.1, w.low, w.high
	switch {
	case !w.hasLow():
		target = w.high / 1.5
	case a == middle && w.hasHigh():
		target = math.Sqrt(w.low * w.high)
		from, to = math.Sqrt(w.low*target), math.Sqrt(target*w.high)
	}
	if prefer > 0 && prefer >= target {
		target, from, to = prefer*1.05, prefer, w.high
	} else if prefer > 0 {
		from = math.Max(nanOr(from, prefer), prefer)
	}
	if x, ok := handiest(target, from, to); ok {
		return x
	}
	return nearest(target, w.low, w.high)
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
	w.p.Remedies = append(w.p.Remedies, Remedy{Text: fmt.Sprintf(format, args...), apply: apply})
}

func (w *work) advise(text string) {
	w.p.Remedies = append(w.p.Remedies, Remedy{Text: text, Advice: true})
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

// terms joins the terms of a sum, without those that are zero.
func terms(sign string, parts ...string) string {
	var some []string
	for _, p := range parts {
		if p != "0 s" && !strings.HasSuffix(p, "× 0 s") {
			some = append(some, p)
		}
	}
	if len(some) == 0 {
		return "0 s"
	}
	return strings.Join(some, sign)
}
