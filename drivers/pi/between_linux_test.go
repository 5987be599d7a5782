package pi

import (
	"fmt"
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
	m := meter.Config{Port: slave.Name(), Protocol: "text", Baud: 921600, Interval: time.Second / perSecond, Most: 300 * time.Millisecond,
		Resolution: 1000, Range: 60 * signal.Ampere, Silence: time.Second}
	q := &quay{t: t, master: master, stop: make(chan struct{})}
	q.says("00.00100A\n")
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
		Script: []rig.Step{{Kind: rig.Wait, For: 200 * time.Millisecond, Text: "wait 200ms"}},
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

// The meter fills all the room there is in 1.8 s. What it says while nobody conducts is
// not the next trial's business, whatever it was.
func TestAPauseBetweenTrialsCostsNothing(t *testing.T) {
	q := openQuay(t)
	q.passes()
	q.pause(2500 * time.Millisecond)
	q.passes()
	for _, odd := range []string{"65.00000A\n", "-6.0A -6A\n", "55.00000A\n"} {
		q.says(odd)
		q.pause(20 * time.Millisecond)
		q.says("00.00100A\n")
		q.passes()
	}
	q.says("")
	q.pause(1200 * time.Millisecond)
	q.says("00.00100A\n")
	fmt.Fprint(q.master, "\n")
	q.passes()
}
