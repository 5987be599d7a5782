package fitness

import (
	"fmt"
	"math"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"pintle/rig/rule"
	"pintle/rig/signal"
)

// steps steps the current many times and finds each step in the samples.
func (s *session) steps() error {
	m := s.Facts.Meter
	r := Result{Name: "meter: latency", Done: fmt.Sprintf("%d times the current was stepped by %v, at instants spread over the meter's interval, and the step was looked for in the samples.", s.Steps, s.Step.Line),
		Limits: []Figure{{Name: "stated least", Value: int64(m.Least), Unit: Nanoseconds}, {Name: "stated most", Value: int64(m.Most), Unit: Nanoseconds}}}
	defer func() { s.add(r) }()
	if s.notTried(&r) {
		return nil
	}
	var found []Range
	for i := range s.Steps {
		h, err := s.guardedShot(i, s.Step)
		if err != nil {
			r.Verdict, r.Reason, r.Advice = rule.Inconclusive, "The check ended here: "+err.Error(), "Check the bench again."
			return err
		}
		if s.spoilt(h, &r) {
			return nil
		}
		d, ok := s.delay(h)
		if !ok {
			r.Verdict, r.Reason = rule.Fail, fmt.Sprintf("%v was switched, and no step of the current was found in the samples.", s.Step.Line)
			r.Advice = "See that the line really switches a current that the meter measures."
			return nil
		}
		found = append(found, d)
	}
	s.judgeLatency(&r, found)
	return nil
}

// delay brackets the latency from one shot. Of two samples in a row, the share of the
// step that both together show tells how much of their windows lay after it, and so
// when the later window ended.
func (s *session) delay(h *shot) (Range, bool) {
	m, until := s.Facts.Meter, h.off
	if s.Step.Line == signal.Supply {
		until = signal.Never
	}
	after, ok := settled(h, until, s.past())
	if !ok || (after-h.before).Abs() < s.least() {
		return Range{}, false
	}
	share := func(r reading) float64 {
		return min(1, max(0, float64(r.current-h.before)/float64(after-h.before)))
	}
	// Of the few readings before a step the deviation may happen to be far too small.
	noise := max(h.noise, float64(m.Noise), float64(m.Resolution)) / float64((after - h.before).Abs())
	i := 0
	for i < len(h.readings) && (h.readings[i].at <= h.edge.Early || share(h.readings[i]) < 0.5) {
		i++
	}
	if i == 0 || i == len(h.readings) {
		return Range{}, false
	}
	small := max(4*noise, 0.002)
	window, gap := float64(m.Window), float64(m.Interval-m.Window)
	g, prior := share(h.readings[i]), share(h.readings[i-1])
	low := (g + prior) * window // from the step to the end of the window
	high := low
	switch {
	case prior > small: // the step fell into the window before
		low, high = low+gap, high+gap
	case g >= 1-small: // or between the two
		high += gap
	}
	doubt := 2*1.5*noise*window + small*window
	at := h.readings[i].at
	return Range{
		Least: at.Sub(h.edge.Late) - time.Duration(math.Ceil(high+doubt)) - s.Step.Follows.Most,
		Most:  at.Sub(h.edge.Early) - time.Duration(math.Floor(low-doubt)) - s.Step.Follows.Least,
	}, true
}

// settled is the mean of the readings once the step is well over, up to an instant.
func settled(h *shot, until signal.Instant, after time.Duration) (signal.Current, bool) {
	var sum signal.Current
	n := signal.Current(0)
	for _, r := range h.readings {
		if r.at > h.edge.Late.Add(after) && r.at < until {
			sum += r.current
			n++
		}
	}
	if n == 0 {
		return 0, false
	}
	return sum / n, true
}

// judgeLatency holds all brackets against the stated latency: each must lie within for
// a pass, and one that certainly lies without is a fail.
func (s *session) judgeLatency(r *Result, found []Range) {
	m := s.Facts.Meter
	all, wide := found[0], time.Duration(0)
	least, most := found[0].Most, found[0].Least // innermost: what the latency certainly reached
	for _, d := range found {
		all = Range{min(all.Least, d.Least), max(all.Most, d.Most)}
		least, most = min(least, d.Most), max(most, d.Least)
		wide = max(wide, d.Most-d.Least)
	}
	if s.even && most-s.swing <= least+s.swing { // all latencies lie within the swing of the arrivals
		all = Range{max(all.Least, most-s.swing), min(all.Most, least+s.swing)}
	}
	all.Least = max(0, all.Least)
	r.Figures = []Figure{{Name: "least", Value: int64(all.Least), Unit: Nanoseconds}, {Name: "most", Value: int64(all.Most), Unit: Nanoseconds},
		{Name: "span", Value: int64(all.Most - all.Least), Unit: Nanoseconds}, {Name: "doubt about one", Value: int64(wide), Unit: Nanoseconds},
		{Name: "repetitions", Value: int64(len(found)), Unit: Count}}
	said := fmt.Sprintf("It was %s to %s, and %s to %s is stated. With a confidence of 95 %%, %d in 100 latencies are like those that were seen.",
		took(all.Least), took(all.Most), took(m.Least), took(m.Most), int(100*held(len(found))))
	switch {
	case least < m.Least || most > m.Most:
		r.Verdict, r.Reason = rule.Fail, said
		r.Advice = "Write the measured latency into the bench's file, with some room on both sides; if it is far off, look at the serial adapter's latency timer."
	case all.Least >= m.Least && all.Most <= m.Most:
		r.Verdict, r.Reason = rule.Pass, said
	default:
		r.Verdict, r.Reason = rule.Inconclusive, said+" The step is not sharp enough to tell which is right."
		r.Advice = "Step the current by a switch whose own time is known, and state that time; or state the latency with more room."
	}
	if r.Verdict != rule.Inconclusive { // otherwise it says less than what is stated
		all = s.widen(all)
		s.report.Measured.Latency = &all
	}
}

// widen makes room for how the samples at rest arrived: a few steps seldom meet the
// earliest and the latest of thousands.
func (s *session) widen(all Range) Range {
	if more := s.swing - (all.Most - all.Least); s.even && more > 0 {
		all = Range{max(0, all.Least-more/2), all.Most + (more+1)/2}
	}
	return all
}

// held is the share of all values that lie between the least and the most of so many,
// with a confidence of 95 %: it has a beta distribution (Wilks, Annals of Mathematical
// Statistics 12, 1941, 91-96).
func held(n int) float64 {
	if n < 2 {
		return 0
	}
	return distuv.Beta{Alpha: float64(n - 1), Beta: 2}.Quantile(0.05)
}
