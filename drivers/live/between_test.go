package live

import (
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/drivers/benchtest"
	"pintle/drivers/meter"
	"pintle/rig"
	"pintle/rig/gate"
	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A tape is a port on which a meter talks by itself, a thousand readings a second.
type tape struct {
	says   atomic.Pointer[string]
	within time.Duration
	closed chan struct{}
}

func (p *tape) say(text string)                      { p.says.Store(&text) }
func (p *tape) SetReadTimeout(d time.Duration) error { p.within = d; return nil }
func (p *tape) Write(b []byte) (int, error)          { return len(b), nil }
func (p *tape) Close() error                         { close(p.closed); return nil }

func (p *tape) Read(b []byte) (int, error) {
	for end := time.Now().Add(p.within); ; {
		select {
		case <-p.closed:
			return 0, errClosed
		case <-time.After(ms):
		}
		text := *p.says.Load()
		switch {
		case text == "gone":
			return 0, errClosed
		case text != "" || !time.Now().Before(end):
			return copy(b, text), nil
		}
	}
}

// A shed is a live bench whose meter is a real one on a tape, and a job to perform on it.
type shed struct {
	*Bench
	t     *testing.T
	tape  *tape
	facts rig.Facts
}

func openShed(t *testing.T) *shed {
	s := &shed{t: t, tape: &tape{closed: make(chan struct{})}}
	s.tape.say("0.001A\n")
	clock, inner := NewClock(), benchtest.NewFake()
	inner.About.Meter.Interval = 0
	m, err := meter.On(meter.Config{Port: "tape", Protocol: "text", Interval: ms, Most: 5 * ms, Resolution: 1000, Range: 60 * signal.Ampere, Silence: 50 * ms}, s.tape, clock)
	require.NoError(t, err)
	s.Bench, s.facts, err = New(Config{Lines: inner, Facts: inner.About, Meter: m, Clock: clock})
	require.NoError(t, err)
	return s
}

// trial performs one on a motor that must not run, for longer than its edges are late.
func (s *shed) trial() rig.Outcome {
	s.t.Helper()
	job := &rig.Job{Gate: gate.Spec{Opening: gate.Travel{Time: 6 * time.Second}, Closing: gate.Travel{Time: 5 * time.Second},
		Sensors: []gate.Sensor{{Line: signal.OpenLimit, From: 0.97, To: 1, Hysteresis: 0.005}}},
		Motion: motion.Thresholds{Runs: 1_500_000, Stops: signal.Ampere, Settle: 20 * ms},
		Guard:  rig.Guard{MostCurrent: 50 * signal.Ampere, LongestDrive: 20 * time.Second, MeterSilence: 300 * ms},
		Settle: 100 * ms, Limit: 20 * time.Second}
	rests := rig.Scenario{Name: "rest", Start: gate.Start{Position: 0.5, Obstacle: -1},
		Script: []rig.Step{{Kind: rig.Wait, For: 200 * ms, Text: "wait 200ms"}},
		Rules: []rule.Rule{{Name: "stands", Pattern: rule.Absence,
			P: rule.Condition{Text: "motor opening", Any: [][]rule.Term{{{Kind: rule.MotorIs, State: motion.Opening}}}}}}}
	o, err := rig.NewConductor(job, s.Bench, s.facts, nil).Perform(&rests, 7, rig.Day{})
	require.NoError(s.t, err)
	return o
}

func (s *shed) passes() {
	s.t.Helper()
	o := s.trial()
	require.Equal(s.t, rule.Pass, o.Verdict, "%s %+v", o.Reason, o.Troubles)
}

func (s *shed) isVoid(code string) {
	s.t.Helper()
	o := s.trial()
	require.Equal(s.t, rule.Void, o.Verdict)
	require.Equal(s.t, code, o.Troubles[0].Code, "%s", o.Troubles[0].Text)
}

// What the meter says in a pause between two trials is not the next one's business,
// however long the pause is and whatever it says.
func TestAPauseBetweenTrialsCostsNothing(t *testing.T) {
	for name, pause := range map[string]func(*shed){
		"no pause":                   func(*shed) {},
		"more readings than room":    func(*shed) { time.Sleep(10 * time.Second) },
		"over range":                 func(s *shed) { s.tape.say("65.0A\n"); time.Sleep(20 * ms) },
		"over range in the pause":    func(s *shed) { s.tape.say("65.0A\n"); time.Sleep(20 * ms); s.tape.say("0.0A\n"); time.Sleep(ms) },
		"more than the guard allows": func(s *shed) { s.tape.say("55.0A\n"); time.Sleep(20 * ms) },
		"no reading at all":          func(s *shed) { s.tape.say("-6.0A -6A\n"); time.Sleep(20 * ms) },
		"a gap up to its beginning":  func(s *shed) { s.tape.say(""); time.Sleep(40 * ms) },
		"a long gap":                 func(s *shed) { s.tape.say(""); time.Sleep(4 * time.Second) },
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				s := openShed(t)
				defer func() { require.NoError(t, s.Close()) }()
				s.passes()
				pause(s)
				s.tape.say("0.001A\n")
				s.passes()
			})
		})
	}
}

// What goes on into the trial voids it, and is told by its name.
func TestWhatIsStillWrongAfterAPauseIsTold(t *testing.T) {
	for code, says := range map[string]string{meter.OverRange: "65.0A\n", meter.Garbage: "-6.0A -6A\n", meter.HungUp: "gone", meter.Silent: "",
		rig.GuardCurrent: "55.0A\n"} {
		t.Run(code, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				s := openShed(t)
				defer func() { require.NoError(t, s.Close()) }()
				s.passes()
				s.tape.say(says)
				time.Sleep(time.Minute)
				s.isVoid(code)
				s.isVoid(code)
			})
		})
	}
}

// A reading does not overtake the edges that came before it, also where it wakes the
// bench between two turns.
func TestEdgesComeBeforeLaterReadings(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, _, _, e := openFake(t, func(c *Config, inner *benchtest.Fake, _ *echo) { inner.About.Meter.Interval = 0 })
		edge := b.Now().Add(20*ms + 300*time.Microsecond)
		require.NoError(t, b.Plan(signal.Remote, []signal.Edge{{At: edge, Level: signal.Made}}))
		go func() {
			time.Sleep(20*ms + 600*time.Microsecond)
			_ = e.speak(signal.Sample{})
		}()
		var kinds []rig.ObservationKind
		for until := b.Now().Add(30 * ms); len(kinds) < 2; {
			o, err := b.Next(until)
			require.NoError(t, err)
			kinds = append(kinds, o.Kind)
		}
		require.Equal(t, []rig.ObservationKind{rig.Emitted, rig.Sampled}, kinds)
		require.NoError(t, b.Close())
	})
}

// What a line was sensed as before a trial is not forgotten with the edges.
func TestForgettingKeepsWhatIsSensed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, _, _, _ := openFake(t, func(c *Config, inner *benchtest.Fake, _ *echo) {
			for i, l := range []signal.Line{signal.DriveOpen, signal.DriveClose} {
				inner.Troubles = append(inner.Troubles, rig.Observation{Kind: rig.Sensed, Line: l, Level: signal.Made, Span: signal.At(signal.Instant(i+1) * signal.Instant(ms))})
			}
			inner.Troubles = append(inner.Troubles, rig.Observation{Kind: rig.Sensed, Line: signal.DriveOpen, Span: signal.At(signal.Instant(9 * ms))})
		})
		time.Sleep(50 * ms)
		for range 2 { // trials
			b.Forget()
			o, err := b.Next(b.Now())
			require.NoError(t, err)
			require.Equal(t, rig.Observation{Kind: rig.Sensed, Line: signal.DriveClose, Level: signal.Made, Span: signal.At(b.Now())}, o)
			o, err = b.Next(b.Now())
			require.NoError(t, err)
			require.Equal(t, rig.Reached, o.Kind)
		}
		require.NoError(t, b.Close())
	})
}
