package appraise

import (
	"errors"
	"fmt"
	"time"

	"pintle/rig/motion"
	"pintle/rig/signal"
	"pintle/rig/uncertainty"
)

// Means are what a bench measures with.
type Means struct {
	Interval   time.Duration // between one reading of the meter and the next
	Window     time.Duration // that a reading averages; 0: an instant
	Least      time.Duration // from the end of the window to the bench, without the bridge
	Most       time.Duration
	Bridge     time.Duration  // by which a serial bridge may hold a reading back besides
	Swing      time.Duration  // that the current takes from one level to the other
	Noise      signal.Current // standard deviation of a reading
	Resolution signal.Current // one step of a reading
	Gain       int64          // the meter may read so many millionths more or less than there is
	Zero       signal.Current // and so much more or less whatever there is
	Clock      int64          // the bench's clock may run so many millionths fast or slow
	Motion     motion.Thresholds
}

// Check collects all that is wrong with the means.
func (m Means) Check() error {
	var all []error
	if m.Interval <= 0 {
		all = append(all, fmt.Errorf("the meter's interval is %v; a meter reads from time to time", m.Interval))
	}
	if m.Least > m.Most {
		all = append(all, fmt.Errorf("the meter's least delay of %v is more than the most, %v", m.Least, m.Most))
	}
	for _, x := range []struct {
		what  string
		value int64
	}{
		{"window", int64(m.Window)}, {"least delay", int64(m.Least)}, {"bridge's delay", int64(m.Bridge)}, {"swing", int64(m.Swing)}, {"noise", int64(m.Noise)},
		{"resolution", int64(m.Resolution)}, {"gain error", m.Gain}, {"zero error", int64(m.Zero)}, {"clock's error", m.Clock},
	} {
		if x.value < 0 {
			all = append(all, fmt.Errorf("the %s is less than nothing", x.what))
		}
	}
	if m.Gain > 500_000 || m.Clock > 500_000 {
		all = append(all, errors.New("a meter or clock that is off by more than half measures nothing"))
	}
	return errors.Join(all...)
}

// A Decision is how verdicts are reached. The zero value is DefaultDecision.
type Decision struct {
	Rule     uncertainty.Rule
	Coverage float64 // probability that the coverage interval holds the value; 0: 95 %
}

// DefaultDecision passes and fails only what is clear of the limit by the whole
// expanded uncertainty; what lies between is inconclusive.
func DefaultDecision() Decision {
	return Decision{uncertainty.InFourWays(), uncertainty.DefaultCoverage}
}

func (d Decision) filled() Decision {
	if d.Rule == (uncertainty.Rule{}) {
		d.Rule = DefaultDecision().Rule
	}
	if d.Coverage == 0 {
		d.Coverage = uncertainty.DefaultCoverage
	}
	return d
}

// Check says what is wrong with the decision.
func (d Decision) Check() error {
	d = d.filled()
	err := d.Rule.Check()
	if d.Coverage < 0.5 || d.Coverage > 0.9999 {
		err = errors.Join(err, fmt.Errorf("a coverage probability of %v; it takes 0.5 to 0.9999", d.Coverage))
	}
	return err
}

// Text is the decision in sentences for a certificate, conditional answers and
// what was not measured included.
func (d Decision) Text() string {
	d = d.filled()
	text := d.Rule.Text(d.Coverage)
	if d.Rule.Kind == uncertainty.FourWay {
		text += " A conditional pass and a conditional fail are given as inconclusive, with their names."
	}
	return text + " A requirement that was never put to the test is inconclusive, and one judged on a bench that failed is void."
}

// Name is the decision in a few words.
func (d Decision) Name() string { return d.filled().Rule.String() }
