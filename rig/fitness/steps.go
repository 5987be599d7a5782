package fitness

import (
	"fmt"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat"

	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/rig/wording"
)

// A shot is one time that a current was made to flow and was stepped.
type shot struct {
	step, off signal.Instant // planned
	edge      signal.Span    // of the step, as it was
	fell      signal.Span    // of the supply
	before    signal.Current // what flowed before the step
	noise     float64        // standard deviation of that
	readings  []reading      // all, in the order of arrival
	trouble   string         // the guard tripped
}

// golden spreads the steps evenly over the meter's interval, however many there are.
const golden = 0.6180339887498949

// shoot makes a current flow, steps it, and takes the supply off, all planned
// beforehand so that nothing hangs on this program being quick.
func (s *session) shoot(b rig.Bench, number int, step Step) (*shot, error) {
	if err := s.bench.Safe(); err != nil {
		return nil, fmt.Errorf("make the bench safe before a current flows: %w", err)
	}
	s.dark = false
	if err := s.until(b, b.Now().Add(s.Pause), nil); err != nil {
		return nil, err
	}
	if len(s.troubles) > 0 {
		h := &shot{}
		return h, s.see(h, step)
	}
	s.forget()
	phase := float64(number) * golden
	at := b.Now().Add(s.Facts.Lead + 5*time.Millisecond + time.Duration((phase-float64(int(phase)))*float64(s.Facts.Meter.Interval)))
	plans := map[signal.Line][]signal.Edge{}
	for _, m := range s.Start {
		plans[m.Line] = append(plans[m.Line], signal.Edge{At: at, Level: m.Level})
		at = at.Add(m.Wait + time.Nanosecond)
	}
	h := &shot{step: at.Add(s.Run)}
	h.off = h.step
	if step.Line != signal.Supply {
		plans[step.Line] = append(plans[step.Line], signal.Edge{At: h.step, Level: step.Level})
		h.off = h.step.Add(s.hold())
	}
	plans[signal.Supply] = append(plans[signal.Supply], signal.Edge{At: h.off, Level: signal.Broken})
	for _, l := range slices.Sorted(keys(plans)) {
		if err := s.plan(b, l, plans[l]); err != nil {
			return nil, err
		}
	}
	if err := s.until(b, h.off.Add(s.after()), nil); err != nil {
		return nil, err
	}
	return h, s.see(h, step)
}

func keys(m map[signal.Line][]signal.Edge) func(func(signal.Line) bool) {
	return func(yield func(signal.Line) bool) {
		for l := range m {
			if !yield(l) {
				return
			}
		}
	}
}

// see sums up what was seen of a shot.
func (s *session) see(h *shot, step Step) error {
	h.readings = slices.Clone(s.readings)
	for _, o := range s.troubles {
		if o.Trouble != nil && h.trouble == "" {
			h.trouble = o.Trouble.Text
		}
	}
	if h.trouble != "" {
		return nil
	}
	off, ok := s.emitted(signal.Supply, h.off)
	edge, too := s.emitted(step.Line, h.step)
	if step.Line == signal.Supply {
		edge, too = off, ok
	}
	if !ok || !too {
		h.trouble = fmt.Sprintf("the bench never said that %v or supply had been switched", step.Line)
		return nil
	}
	h.edge, h.fell = edge.Span, off.Span
	var flow []float64
	for _, r := range h.readings {
		if r.at <= h.edge.Early && r.at > h.edge.Early.Add(-s.Run/4) {
			flow = append(flow, float64(r.current))
		}
	}
	if len(flow) >= 2 {
		mean, sd := stat.MeanStdDev(flow, nil)
		h.before, h.noise = signal.Current(mean), sd
	}
	return nil
}

// patience is how often a shot is tried that the bench's own trouble has spoilt.
const patience = 3

// guardedShot is a shot with a guard over the bench. What a passing trouble has spoilt
// is tried again, and the trouble is kept; what the guard has ended is not.
func (s *session) guardedShot(number int, step Step) (h *shot, err error) {
	for range patience {
		g := rig.NewGuarded(s.bench, s.Protect, s.Motion)
		h, err = s.shoot(g, number, step)
		if g.Tripped() != nil {
			s.troubles = s.troubles[:0]
			return h, err
		}
		s.keepTroubles()
		if err != nil || h.trouble == "" {
			return h, err
		}
	}
	return h, nil
}

// least is the smallest current that is one, and not noise.
func (s *session) least() signal.Current {
	noise := s.Facts.Meter.Noise
	if n := s.report.Measured.Noise; n != nil {
		noise = max(noise, *n)
	}
	return max(8*noise, 10*s.Facts.Meter.Resolution)
}

// drops takes the supply off a running motor, several times, and sees when the current
// ends.
func (s *session) drops() error {
	r := Result{Name: "supply relay", Done: "The motor was run.",
		Limits: []Figure{{Name: "current ends within", Value: int64(s.Drop), Unit: Nanoseconds}}}
	defer func() { s.add(r) }()
	if s.notTried(&r) {
		return nil
	}
	var all Range
	for i := range s.Drops {
		h, err := s.guardedShot(i, Step{Line: signal.Supply})
		if err != nil {
			r.Verdict, r.Reason, r.Advice = rule.Inconclusive, "The check ended here: "+err.Error(), "Check the bench again."
			return err
		}
		if s.spoilt(h, &r) {
			return nil
		}
		s.running = h.before
		s.sign.take(s.way(h.edge.Early), h.before)
		r.Done = fmt.Sprintf("The motor was run and the supply taken off, %s.", wording.Times(i+1))
		end, ok := s.end(h)
		if !ok {
			r.Verdict, r.Reason = rule.Fail, fmt.Sprintf("The supply was switched off, and %s later the meter still read a current of about %v: the relay does not drop.", took(s.after()), roundly(h.readings[len(h.readings)-1].current))
			r.Advice = "Pull the supply's plug now. The contacts may be welded: replace the relay, with a rating for the motor's starting current, and put a fuse before it."
			s.noStep = "the supply's relay does not drop, so the supply was not put on again"
			return nil
		}
		if i == 0 {
			all = end
		}
		all = Range{min(all.Least, end.Least), max(all.Most, end.Most)}
	}
	s.judgeDrop(&r, all)
	s.add(s.judgeSign())
	return nil
}

// judgeDrop holds the bracket of all drops against the limit.
func (s *session) judgeDrop(r *Result, all Range) {
	r.Figures = []Figure{{Name: "current ends after at least", Value: int64(all.Least), Unit: Nanoseconds}, {Name: "at most", Value: int64(all.Most), Unit: Nanoseconds}}
	switch {
	case all.Most <= s.Drop:
		r.Verdict, r.Reason = rule.Pass, fmt.Sprintf("The current of about %v was gone within %s each time.", roundly(s.running), took(all.Most))
	case all.Least > s.Drop:
		r.Verdict, r.Reason = rule.Fail, "The current goes on for too long."
		r.Advice = "A diode across the relay's coil slows it down: put a Zener diode or a varistor there. Look whether capacitors behind the relay feed the motor."
	default:
		r.Verdict, r.Reason = rule.Inconclusive, "It ended before or after the limit: the meter is too slow to tell."
		r.Advice = "Use a meter with a shorter interval, or allow the relay more time."
	}
	s.report.Measured.Drop = &all
}

// notTried fills in a result for which a current would have to flow, and must not.
func (s *session) notTried(r *Result) bool {
	if s.noStep == "" {
		return false
	}
	r.Done, r.Verdict, r.Reason, r.Advice = nothing, rule.Inconclusive, "Not tried: "+s.noStep+".", "Mend that first, then check the bench again."
	return true
}

// nothing is what was done where a part was left out.
const nothing = "Nothing was done."

// spoilt fills in a result where a shot tells nothing.
func (s *session) spoilt(h *shot, r *Result) bool {
	switch {
	case h.trouble != "":
		r.Verdict, r.Reason = rule.Fail, "It could not be measured: "+h.trouble+"."
		r.Advice = "Mend what it names, then check the bench again."
		s.noStep = "no steady current was to be had"
	case h.before.Abs() < s.least():
		r.Verdict, r.Reason = rule.Fail, fmt.Sprintf("The motor was told to run, and the meter read only %v: no current flows, or the meter does not see it.", roundly(h.before))
		r.Advice = "See that controller, motor and meter are connected and that the start written for the check really makes the motor run."
		s.noStep = "no current was seen to flow"
	default:
		return false
	}
	return true
}

// end brackets how long after the supply's edge the current ended.
func (s *session) end(h *shot) (Range, bool) {
	m := s.Facts.Meter
	zero := signal.Current(0)
	if z := s.report.Measured.Zero; z != nil {
		zero = *z
	}
	floor := max(h.before.Abs()/20, s.least())
	last := -1
	for i, r := range h.readings {
		if (r.current - zero).Abs() > floor {
			last = i
		}
	}
	if last < 0 || last == len(h.readings)-1 {
		return Range{}, false
	}
	least := h.readings[last].at.Add(-m.Most - m.Window).Sub(h.fell.Late)
	most := h.readings[last+1].at.Add(-m.Least).Sub(h.fell.Early)
	return Range{max(0, least), max(0, most)}, true
}

// roundly is a current to the hundredth of an ampere.
func roundly(c signal.Current) signal.Current { return (c + 5000) / 10000 * 10000 }
