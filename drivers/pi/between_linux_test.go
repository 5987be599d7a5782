package pi

import (
	"os"
	"sync/atomic"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
	"golang.org/x/term"

	"pintle/drivers/meter"
	"pintle/drivers/pi/hands"
	"pintle/rig"
	"pintle/rig/gate"
	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A quay is a bench without lines whose meter fills a line of 921 600 baud, as the test
// lets it: ten bytes a reading, 9216 readings a second.
type quay struct {
	*Bench
	t      *testing.T
	facts  rig.Facts
	job    *rig.Job
	master *os.File
	saying atomic.Pointer[string] // by the meter, ten bytes; nil: nothing
	stop   chan struct{}
}

const perSecond = 9216

func openQuay(t *testing.T) *quay {
	t.Helper()
	master, slave, err := pty.Open()
	require.NoError(t, err)
	_, err = term.MakeRaw(int(slave.Fd()))
	require.NoError(t, err)
	m := meter.Config{Port: slave.Name(), Protocol: "text", Baud: 921600, Interval: time.Second / perSecond, Most: 200 * time.Millisecond,
		Resolution: 1000, Range: 60 * signal.Ampere, Silence: time.Second}
	q := &quay{t: t, master: master, stop: make(chan struct{})}
	q.says(quiet)
	ended := make(chan struct{})
	go func() { defer close(ended); q.speak() }()
	guard := hands.Guard{MostCurrent: 50 * signal.Ampere, Runs: 1_500_000, Stops: signal.Ampere, LongestDrive: 20 * time.Second, MeterSilence: 600 * time.Millisecond}
	q.Bench, q.facts, _, err = New(Config{Name: "quay", Meter: m.Facts(), Late: time.Second, Hands: hands.Config{Chip: "none", Meter: &m, Guard: guard,
		Outputs: []hands.Wire{{Line: signal.Remote, Offset: 0}, {Line: signal.OpenLimit, Offset: 1}, {Line: signal.Supply, Offset: 2}}}})
	require.NoError(t, err)
	q.job = &rig.Job{Gate: gate.Spec{
		Opening: gate.Travel{Time: 6 * time.Second, RunUp: 400 * time.Millisecond}, Closing: gate.Travel{Time: 5 * time.Second, RunUp: 300 * time.Millisecond},
		Sensors: []gate.Sensor{{Line: signal.OpenLimit, From: 0.97, To: 1, Hysteresis: 0.005}}},
		Motion: motion.Thresholds{Runs: guard.Runs, Stops: guard.Stops, Settle: 20 * time.Millisecond},
		Guard:  rig.Guard{MostCurrent: guard.MostCurrent, LongestDrive: guard.LongestDrive, MeterSilence: guard.MeterSilence},
		Settle: 100 * time.Millisecond, Limit: 20 * time.Second}
	t.Cleanup(func() { require.NoError(t, q.Close()); close(q.stop); <-ended; slave.Close(); master.Close() })
	return q
}

func (q *quay) says(text string) {
	if text == "" {
		q.saying.Store(nil)
		return
	}
	q.saying.Store(&text)
}

func (q *quay) speak() {
	n, began := 0, time.Now()
	for tick := time.NewTicker(time.Millisecond); ; {
		select {
		case <-q.stop:
			tick.Stop()
			return
		case <-tick.C:
		}
		text := q.saying.Load()
		var all []byte
		for due := int(time.Since(began) * perSecond / time.Second); n < due; n++ {
			if text != nil {
				all = append(all, *text...)
			}
		}
		if _, err := q.master.Write(all); err != nil {
			return
		}
	}
}

// pause is a while in which nobody conducts.
func (q *quay) pause(d time.Duration) { time.Sleep(d) }

// trial performs one that waits, on a motor that must not run, and passes where nothing
// is wrong.
func (q *quay) trial() rig.Outcome {
	q.t.Helper()
	still := rule.Condition{Text: "motor opening", Any: [][]rule.Term{{{Kind: rule.MotorIs, State: motion.Opening}}}}
	s := rig.Scenario{Name: "rest", Start: gate.Start{Position: 0.5, Obstacle: -1},
		Script: []rig.Step{{Kind: rig.Wait, For: 50 * time.Millisecond, Text: "wait 50ms"}},
		Rules:  []rule.Rule{{Name: "stands", Pattern: rule.Absence, P: still}}}
	o, err := rig.NewConductor(q.job, q.Bench, q.facts, nil).Perform(&s, 7, rig.Day{})
	require.NoError(q.t, err)
	return o
}

func (q *quay) passes() {
	q.t.Helper()
	o := q.trial()
	require.Equal(q.t, rule.Pass, o.Verdict, "%s %+v", o.Reason, o.Troubles)
}

func (q *quay) isVoid(code string) {
	q.t.Helper()
	o := q.trial()
	require.Equal(q.t, rule.Void, o.Verdict)
	require.Equal(q.t, code, o.Troubles[0].Code, "%s", o.Troubles[0].Text)
	q.t.Log(o.Troubles[0].Text)
}

const quiet = "00.00100A\n"

// What the meter says while nobody conducts is not the next trial's business, whatever it
// was: it fills all the room there is in 1.8 s.
func TestAPauseBetweenTrialsCostsNothing(t *testing.T) {
	t.Parallel()
	q := openQuay(t)
	q.passes()
	for _, c := range []struct {
		name, says string
		lasts      time.Duration
	}{
		{"more readings than room", quiet, 2200 * time.Millisecond},
		{"over range", "65.00000A\n", 20 * time.Millisecond},
		{"no reading at all", "-6.0A -6A\n", 20 * time.Millisecond},
		{"more than the guard allows", "55.00000A\n", 20 * time.Millisecond},
		{"a gap up to its beginning", "", 700 * time.Millisecond},
	} {
		t.Run(c.name, func(t *testing.T) {
			q.t = t
			q.says(c.says)
			q.pause(c.lasts)
			q.says(quiet)
			q.passes()
		})
	}
}

// What goes on into the trial voids it, is told by its name, and again to the next one.
func TestWhatIsStillWrongAfterAPauseIsTold(t *testing.T) {
	t.Parallel()
	for code, says := range map[string]string{meter.OverRange: "65.00000A\n", meter.Garbage: "-6.0A -6A\n", rig.GuardCurrent: "55.00000A\n", "meter-silent": ""} {
		t.Run(code, func(t *testing.T) {
			t.Parallel()
			q := openQuay(t)
			q.says(says)
			q.pause(500 * time.Millisecond)
			q.isVoid(code)
			q.isVoid(code)
		})
	}
}

// A meter that was pulled out in a pause is gone for good, also where it was plugged in
// again: its port is another one by then. Each trial is told so.
func TestAMeterPulledOutInAPauseIsTold(t *testing.T) {
	t.Parallel()
	q := openQuay(t)
	q.passes()
	require.NoError(t, q.master.Close())
	q.pause(300 * time.Millisecond)
	q.isVoid(meter.HungUp)
	q.isVoid(meter.HungUp)
}
