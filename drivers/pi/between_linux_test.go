package pi

import (
	"io"
	"os"
	"runtime"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
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
	saying atomic.Pointer[string] // by the meter, over and over; empty: nothing
	turns  atomic.Int64           // of the meter
	stop   chan struct{}
	killed bool // are the hands
}

const perSecond = 9216

// patient is longer than anything here takes on purpose: the test is the meter and the
// conductor, and a busy machine may keep it waiting.
const patient = 10 * time.Second

func openQuay(t *testing.T) *quay {
	t.Helper()
	master, slave, err := pty.Open()
	require.NoError(t, err)
	_, err = term.MakeRaw(int(slave.Fd()))
	require.NoError(t, err)
	m := meter.Config{Port: slave.Name(), Protocol: "text", Baud: 921600, Interval: time.Second / perSecond, Most: 500 * time.Millisecond,
		Resolution: 1000, Range: 60 * signal.Ampere, Silence: patient}
	q := &quay{t: t, master: master, stop: make(chan struct{})}
	quiet := quiet
	q.saying.Store(&quiet)
	ended := make(chan struct{})
	go func() { defer close(ended); q.speak() }()
	guard := hands.Guard{MostCurrent: 50 * signal.Ampere, Runs: 1_500_000, Stops: signal.Ampere, LongestDrive: 20 * time.Second, MeterSilence: patient, Conductor: patient}
	q.Bench, q.facts, _, err = New(Config{Name: "quay", Meter: m.Facts(), Late: time.Second, Hands: hands.Config{Chip: "none", Hang: patient, Meter: &m, Guard: guard,
		Outputs: []hands.Wire{{Line: signal.Remote, Offset: 0}, {Line: signal.OpenLimit, Offset: 1}, {Line: signal.Supply, Offset: 2}}}})
	require.NoError(t, err)
	q.job = &rig.Job{Gate: gate.Spec{
		Opening: gate.Travel{Time: 6 * time.Second, RunUp: 400 * time.Millisecond}, Closing: gate.Travel{Time: 5 * time.Second, RunUp: 300 * time.Millisecond},
		Sensors: []gate.Sensor{{Line: signal.OpenLimit, From: 0.97, To: 1, Hysteresis: 0.005}}},
		Motion: motion.Thresholds{Runs: guard.Runs, Stops: guard.Stops},
		Guard:  rig.Guard{MostCurrent: guard.MostCurrent, LongestDrive: guard.LongestDrive, MeterSilence: guard.MeterSilence},
		Settle: 100 * time.Millisecond, Limit: 20 * time.Second}
	t.Cleanup(func() {
		err := q.Close()
		if assert.Equal(t, q.killed, err != nil, "%v", err); q.killed {
			assert.ErrorContains(t, err, "BY HAND") // there are no lines to take over
		}
		close(q.stop)
		go func() { _, _ = io.Copy(io.Discard, slave) }() // who says something may wait for a reader
		<-ended
		slave.Close()
		master.Close()
	})
	return q
}

// says lets the meter say something, and waits until it has.
func (q *quay) says(text string) {
	q.saying.Store(&text)
	for began := q.turns.Load(); q.turns.Load() < began+2; time.Sleep(time.Millisecond) {
	}
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
		text := *q.saying.Load()
		var all []byte
		for due := int(time.Since(began) * perSecond / time.Second); n < due; n++ {
			all = append(all, text...)
		}
		if _, err := q.master.Write(all); err != nil {
			return
		}
		q.turns.Add(1)
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

const (
	quiet   = "00.00100A\n"
	again   = "00.00200A\n" // and quiet once more
	much    = "55.00000A\n" // more than the guard allows
	over    = "65.00000A\n"
	garbage = "-6.0A -6A\n"
)

// What the meter says while nobody conducts is not the next trial's business, whatever it
// was: it fills all the room there is in 1.8 s. Nor is what is still on its way.
func TestAPauseBetweenTrialsCostsNothing(t *testing.T) {
	t.Parallel()
	q := openQuay(t)
	q.passes()
	for _, odd := range []string{over, garbage, much, ""} {
		q.says(odd)
		q.pause(50 * time.Millisecond)
		q.says(quiet)
	}
	q.pause(2200 * time.Millisecond)
	q.passes()
	for _, odd := range []string{over, much} {
		q.says(odd)
		q.says(quiet)
	}
	q.passes()
}

// What goes on into the trial voids it, is told by its name, and again to the next one.
func TestWhatIsStillWrongAfterAPauseIsTold(t *testing.T) {
	t.Parallel()
	q := openQuay(t)
	q.says(over)
	q.pause(500 * time.Millisecond)
	q.isVoid(meter.OverRange)
	q.isVoid(meter.OverRange)
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

// Inside a trial nothing is lost silently: that something was comes before all that is
// still there, as a trial could be over before that has been looked at.
func TestALossInATrialComesFirst(t *testing.T) {
	t.Parallel()
	q := openQuay(t)
	q.Forget()
	for lost, end := uint64(0), q.Now().Add(30*time.Second); lost == 0; lost, _ = q.hands.Lost(0) {
		require.Less(t, q.Now(), end, "there is room for all")
		q.pause(10 * time.Millisecond)
	}
	o, err := q.Next(q.Now())
	require.NoError(t, err)
	require.Equal(t, rig.Trouble, o.Kind)
	require.Equal(t, "notes-lost", o.Trouble.Code)
}

// A reading that is lost to noise on the wire is told before any reading after it, however
// long the words take, and so is a guard that has tripped.
func TestNoReadingOvertakesATrouble(t *testing.T) {
	for _, c := range [][2]string{{much, rig.GuardCurrent}, {garbage, meter.Garbage}, {garbage, meter.Garbage}, {garbage, meter.Garbage}} {
		says, code, told := c[0], c[1], ""
		for try := 0; try < 4 && told != code; try++ { // of a machine too busy to take them, readings are lost
			told = overtaken(t, says)
			require.Contains(t, []string{code, "notes-lost", meter.Lost}, told)
		}
		require.Equal(t, code, told)
	}
}

// overtaken gives the first trouble after a meter said something that is one, and wants no
// reading before it that was said later.
func overtaken(t *testing.T, says string) (code string) {
	q := openQuay(t)
	defer func() { assert.NoError(t, q.Close()) }() // each takes some of the machine
	q.Forget()
	require.NoError(t, q.Plan(signal.Supply, []signal.Edge{{At: q.Now().Add(50 * time.Millisecond), Level: signal.Made}}))
	q.until(700 * time.Millisecond) // until no reading may be of before
	if says == much {               // a reading that comes before the guard has acted is before its trip
		q.says(says)
		q.pause(50 * time.Millisecond)
		q.says(again)
	} else { // words about it are on their way for longer than a reading
		text := says + again
		q.saying.Store(&text)
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1)) // nobody takes them while this looks
	}
	for end := q.Now().Add(30 * time.Second); ; {
		o, err := q.Next(q.Now())
		require.NoError(t, err)
		if o.Kind == rig.Trouble {
			return o.Trouble.Code
		}
		require.Less(t, q.Now(), end, "nothing is told")
		if o.Kind == rig.Sampled {
			require.NotEqual(t, signal.Current(2000), o.Sample.Current, "a reading that was said after %q", says)
		}
	}
}

// Of hands that are gone all that they laid down is given, readings that the lines' thread
// had not come to included: one that was held back would keep a trip back as well.
func TestWhatHandsThatAreGoneLaidDownIsGiven(t *testing.T) {
	t.Parallel()
	for range 3 {
		q := openQuay(t)
		q.Forget()
		q.until(100 * time.Millisecond)
		require.NoError(t, syscall.Kill(q.hands.PID(), syscall.SIGKILL))
		q.killed = true
		var codes []string
		killed := q.Now()
		for at := killed; ; {
			o, err := q.Next(at)
			require.NoError(t, err)
			if o.Kind == rig.Reached {
				if len(codes) > 0 && at > killed {
					break
				}
				require.Less(t, at, killed.Add(30*time.Second), "nobody says that the hands are gone")
				at = q.Now().Add(300 * time.Millisecond)
				continue
			}
			if o.Kind == rig.Trouble {
				require.Contains(t, o.Trouble.Text, "BY HAND", "there are no lines to take over")
			}
			if require.Empty(t, codes, "%v comes last", o.Kind); o.Kind == rig.Trouble {
				codes = append(codes, o.Trouble.Code)
			}
		}
		require.Equal(t, []string{"hands-gone"}, codes)
		require.False(t, q.held, "a reading is held back")
	}
}

// until takes what comes for a while.
func (q *quay) until(d time.Duration) {
	q.t.Helper()
	for at := q.Now().Add(d); ; {
		o, err := q.Next(at)
		require.NoError(q.t, err)
		require.NotEqual(q.t, rig.Trouble, o.Kind, "%+v", o.Trouble)
		if o.Kind == rig.Reached {
			return
		}
	}
}
