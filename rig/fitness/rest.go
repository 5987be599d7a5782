package fitness

import (
	"fmt"
	"math"
	"time"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"pintle/rig/rule"
	"pintle/rig/signal"
)

// identify compares what the meter says it is with what it should be.
func (s *session) identify() error {
	r := Result{Name: "meter: identity", Done: "What the meter says of itself was compared with what the bench's file expects."}
	switch {
	case s.Identity == "":
		r.Verdict, r.Reason = rule.Inconclusive, "The meter does not say what it is."
		r.Advice = "Read its name plate, and see that it is the meter that the bench's file describes."
	case s.Expected == "":
		r.Verdict, r.Reason = rule.Inconclusive, fmt.Sprintf("The meter says that it is %q, and nothing says whether it should be.", s.Identity)
		r.Advice = "Write that into the bench's file under identity, if it is the right meter."
	case s.Identity != s.Expected:
		r.Verdict, r.Reason = rule.Fail, fmt.Sprintf("The meter says that it is %q and not %q.", s.Identity, s.Expected)
		r.Advice = "Plug in the right meter, or correct the bench's file and check again."
	default:
		r.Verdict, r.Reason = rule.Pass, fmt.Sprintf("The meter says that it is %q, as expected.", s.Identity)
	}
	s.add(r)
	return nil
}

// rest reads the meter with the supply off.
func (s *session) rest() error {
	if err := s.bench.Safe(); err != nil {
		return fmt.Errorf("make the bench safe to read the meter at rest: %w", err)
	}
	if err := s.wait(s.Pause + s.Facts.Meter.Most + s.Facts.Meter.Interval); err != nil {
		return err
	}
	s.keepTroubles()
	s.forget()
	begin := s.bench.Now()
	m := s.Facts.Meter
	edges := time.Duration(3*blockOf(m.Most-m.Least, m.Interval)) * m.Interval // in which no loss is seen
	if err := s.wait(s.Rest + edges); err != nil {
		return err
	}
	s.keepTroubles()
	at := append([]reading(nil), s.readings...)
	if err := s.count(at, s.bench.Now().Sub(begin)); err != nil {
		return err
	}
	s.still(at)
	return nil
}

// count judges the stream of samples: none lost, evenly apart, arriving evenly.
func (s *session) count(at []reading, over time.Duration) error {
	m := s.Facts.Meter
	f, err := follow(at, m.Most-m.Least, m.Interval, s.Clock)
	if err != nil {
		return fmt.Errorf("work out the meter's interval: %w", err)
	}
	if !m.Steady { // there is no even row to hold the arrivals against
		f.lost, f.extra = f.gaps, 0
	}
	s.swing, s.even = f.swing, m.Steady && f.interval > 0
	done := fmt.Sprintf("With the supply off the meter was read for %s.", took(over))
	s.add(s.dropouts(f, done, over), s.interval(f, done), s.jitter(f, done))
	return nil
}

func (s *session) dropouts(f stream, done string, over time.Duration) Result {
	m := s.Facts.Meter
	due := int64(over / m.Interval)
	r := Result{Name: "meter: samples", Done: done,
		Figures: []Figure{{Name: "samples", Value: int64(f.count), Unit: Count}, {Name: "lost", Value: int64(f.lost), Unit: Count},
			{Name: "too many", Value: int64(f.extra), Unit: Count}, {Name: "longest gap", Value: int64(f.gap), Unit: Nanoseconds}},
		Limits: []Figure{{Name: "due", Value: due, Unit: Count}, {Name: "most lost", Unit: Count}}}
	loose := int64((m.Most-m.Least)/m.Interval) + 2 + due*s.Drift/1e6
	switch {
	case f.count == 0:
		s.noStep = "the meter is silent, and nothing runs unwatched"
		r.Verdict, r.Reason = rule.Fail, "The meter was silent: not one sample came."
		r.Advice = "Look at the meter's lead, its supply, and the port and speed in the bench's file."
	case f.lost > 0 || f.extra > 0:
		r.Verdict, r.Reason = rule.Fail, fmt.Sprintf("Of %d samples %d did not come, and %d came that should not have.", f.count+f.lost, f.lost, f.extra)
		r.Advice = "Shorten the meter's lead, raise the speed of its port, take other work off the machine, or ask for fewer samples a second."
	case f.interval == 0:
		r.Verdict, r.Reason = rule.Inconclusive, fmt.Sprintf("%d samples are too few to tell whether one was lost.", f.count)
		r.Advice = "Let the check read the meter for longer."
	case int64(f.count) < due-loose || int64(f.count) > due+loose:
		r.Verdict, r.Reason = rule.Fail, fmt.Sprintf("%d samples came where %d were due.", f.count, due)
		r.Advice = "The meter's interval is not the one in the bench's file: correct the one or the other."
	default:
		r.Verdict, r.Reason = rule.Pass, "No sample was lost."
		if !m.Steady {
			r.Reason = "No gap was so long that a sample must have been lost. The meter promises no exact interval, so that is all that can be told."
		}
	}
	return r
}

// interval judges the interval with its uncertainty against the stated one.
func (s *session) interval(f stream, done string) Result {
	m := s.Facts.Meter
	slack := float64(m.Interval) * float64(s.Drift) / 1e6
	r := Result{Name: "meter: interval", Done: done, Limits: []Figure{
		{Name: "stated", Value: int64(m.Interval), Unit: Nanoseconds}, {Name: "may differ by", Value: int64(slack), Unit: Nanoseconds}}}
	if f.interval == 0 {
		r.Verdict, r.Reason, r.Advice = rule.Inconclusive, "There were too few samples.", "Let the check read the meter for longer, once it speaks."
		return r
	}
	doubt := math.Ceil(f.expanded)
	r.Figures = []Figure{{Name: "interval", Value: int64(math.Round(f.interval)), Unit: Nanoseconds, Doubt: int64(doubt)}}
	off := math.Abs(f.interval - float64(m.Interval))
	if !m.Steady { // it is the longest that is stated
		off = max(0, f.interval-float64(m.Interval))
	}
	r.Verdict = within(off, doubt, slack)
	r.Reason = fmt.Sprintf("It is off by %s from what is stated.", took(time.Duration(off)))
	if r.Verdict != rule.Pass {
		r.Advice = "Write the measured interval into the bench's file, or set the meter to the stated one."
	}
	if r.Verdict != rule.Inconclusive {
		measured := time.Duration(math.Round(f.interval))
		s.report.Measured.Interval = &measured
	}
	return r
}

func (s *session) jitter(f stream, done string) Result {
	m := s.Facts.Meter
	r := Result{Name: "meter: jitter", Done: done, Limits: []Figure{{Name: "swing at most", Value: int64(m.Most - m.Least), Unit: Nanoseconds}}}
	if f.interval == 0 {
		r.Verdict, r.Reason, r.Advice = rule.Inconclusive, "There were too few samples.", "Let the check read the meter for longer, once it speaks."
		return r
	}
	r.Figures = []Figure{{Name: "standard deviation", Value: int64(f.deviation), Unit: Nanoseconds}, {Name: "swing", Value: int64(f.certain), Unit: Nanoseconds}}
	if !m.Steady {
		r.Limits = []Figure{{Name: "longest gap at most", Value: int64(m.Interval + m.Most - m.Least), Unit: Nanoseconds}}
		r.Figures = []Figure{{Name: "longest gap", Value: int64(f.gap), Unit: Nanoseconds}}
		f.certain = f.gap - m.Interval
	}
	if f.certain <= m.Most-m.Least {
		r.Verdict, r.Reason = rule.Pass, "Samples arrive no less evenly than the latency that is stated lets them."
		return r
	}
	if !m.Steady {
		r.Verdict, r.Reason = rule.Fail, fmt.Sprintf("There was a gap of %s between two samples, more than the stated latency allows.", took(f.gap))
		r.Advice = "Take other work off the machine, or state a wider latency in the bench's file."
		return r
	}
	r.Verdict, r.Reason = rule.Fail, fmt.Sprintf("Samples arrive anywhere within %s, more than the stated latency allows.", took(f.certain))
	r.Advice = "Switch the serial adapter to its low-latency mode, or state a wider latency in the bench's file."
	return r
}

// within decides on a figure that must not be above a limit, guarded both ways by its
// doubt: what may lie on either side is inconclusive.
func within(value, doubt, limit float64) rule.Verdict {
	switch {
	case value+doubt <= limit:
		return rule.Pass
	case value-doubt > limit:
		return rule.Fail
	}
	return rule.Inconclusive
}

// still judges what the meter reads of no current: noise, zero, step of the reading.
func (s *session) still(at []reading) {
	s.add(s.noise(at), s.zero(at))
}

// fewest is how many readings it takes to tell noise: the standard deviation is then
// known to about a seventh.
const fewest = 100

func amounts(at []reading) []float64 {
	x := make([]float64, len(at))
	for i, r := range at {
		x[i] = float64(r.current)
	}
	return x
}

// noise holds the standard deviation, with its chi-squared confidence bounds (ISO 2854
// gives the same interval), against a quarter more than noise and step of the reading
// make together.
func (s *session) noise(at []reading) Result {
	m := s.Facts.Meter
	limit := 1.25 * math.Hypot(float64(m.Noise), float64(m.Resolution)/math.Sqrt(12))
	r := Result{Name: "meter: noise", Done: fmt.Sprintf("With no current the standard deviation of %d readings was taken.", len(at)),
		Limits: []Figure{{Name: "at most", Value: int64(limit), Unit: Microamps}}}
	if len(at) < fewest {
		r.Verdict, r.Reason, r.Advice = rule.Inconclusive, "There were too few samples.", "Let the check read the meter for longer, once it speaks."
		return r
	}
	sd := stat.StdDev(amounts(at), nil)
	low, high := spread(sd, len(at))
	r.Figures = []Figure{{Name: "standard deviation", Value: int64(math.Round(sd)), Unit: Microamps, Doubt: int64(math.Ceil(high - sd))}}
	switch {
	case sd == 0 && m.Noise > m.Resolution:
		s.noStep = "the meter is dead, and nothing runs unwatched"
		r.Verdict, r.Reason = rule.Fail, fmt.Sprintf("Every reading was %v, and a meter with that noise never reads so evenly: it is dead, or stuck.", at[0].current)
		r.Advice = "Look at the meter's shunt and its lead, and switch it off and on."
		return r
	case low > limit:
		r.Verdict, r.Reason = rule.Fail, "The meter is noisier than the bench's file states."
	case high > limit:
		r.Verdict, r.Reason = rule.Inconclusive, "The noise may lie on either side of the limit."
	default:
		r.Verdict, r.Reason = rule.Pass, "The meter is no noisier than stated."
	}
	if r.Verdict != rule.Pass {
		r.Advice = "Keep the meter's leads away from the motor's and from power supplies, or state the noise that was measured."
	}
	up := signal.Current(math.Ceil(high))
	s.report.Measured.Noise = &up
	return r
}

// spread is the two-sided 95 % confidence interval of a standard deviation.
func spread(sd float64, n int) (low, high float64) {
	chi := distuv.ChiSquared{K: float64(n - 1)}
	return sd * math.Sqrt(float64(n-1)/chi.Quantile(0.975)), sd * math.Sqrt(float64(n-1)/chi.Quantile(0.025))
}

func (s *session) zero(at []reading) Result {
	m := s.Facts.Meter
	r := Result{Name: "meter: zero", Done: fmt.Sprintf("With no current the mean of %d readings was taken.", len(at)),
		Limits: []Figure{{Name: "either way at most", Value: int64(s.ZeroMost), Unit: Microamps}}}
	if len(at) < fewest {
		r.Verdict, r.Reason, r.Advice = rule.Inconclusive, "There were too few samples.", "Let the check read the meter for longer, once it speaks."
		return r
	}
	mean, sd := stat.MeanStdDev(amounts(at), nil)
	// What does not vary by a step may lie anywhere within half of one.
	doubt := distuv.UnitNormal.Quantile(0.975) * sd / math.Sqrt(float64(len(at)))
	if sd < float64(m.Resolution)/2 {
		doubt = max(doubt, float64(m.Resolution)/2)
	}
	r.Figures = []Figure{{Name: "mean", Value: int64(math.Round(mean)), Unit: Microamps, Doubt: int64(math.Ceil(doubt))}}
	r.Verdict = within(math.Abs(mean), doubt, float64(s.ZeroMost))
	switch r.Verdict {
	case rule.Pass:
		r.Reason = "The meter reads nothing of nothing."
	case rule.Fail:
		r.Reason, r.Advice = "The meter reads a current where there is none.", "Let it warm up and set its zero, then check again; see that the motor's lead is really dead with the supply off."
	default:
		r.Reason, r.Advice = "The zero may lie on either side of the limit.", "Let the check read the meter for longer, or allow a larger zero."
	}
	offset := signal.Current(math.Round(mean))
	s.report.Measured.Zero = &offset
	return r
}
