package hands

import (
	"fmt"
	"os"
	"os/exec"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/term"

	"pintle/drivers/meter"
	"pintle/rig/signal"
)

// A wired is hands with a meter on a line that the test speaks on, and the supply on.
type wired struct {
	*Hands
	t      testing.TB
	master *os.File
	stop   chan struct{}
	ended  chan struct{}
	amps   chan string
}

const (
	interval = 10 * time.Millisecond
	patient  = 5 * time.Second // longer than anything here takes
)

// wire lets the meter be silent for so long. The test is the meter and the conductor, and
// may be kept waiting by a busy machine.
func wire(t testing.TB, silence time.Duration) *wired {
	t.Helper()
	master, slave, err := pty.Open()
	require.NoError(t, err)
	_, err = term.MakeRaw(int(slave.Fd()))
	require.NoError(t, err)
	c := none()
	c.Guard = Guard{MostCurrent: 50 * signal.Ampere, Runs: 2 * signal.Ampere, Stops: signal.Ampere, LongestDrive: time.Second, MeterSilence: silence, Conductor: c.Guard.Conductor}
	c.Meter = &meter.Config{Port: slave.Name(), Protocol: "text", Interval: interval, Most: 50 * time.Millisecond, Resolution: 1000, Range: 60 * signal.Ampere, Silence: 5 * time.Second}
	w := &wired{t: t, master: master, stop: make(chan struct{}), ended: make(chan struct{}), amps: make(chan string, 1)}
	go w.speak()
	w.Hands = start(t, c)
	t.Cleanup(func() { close(w.stop); <-w.ended; slave.Close(); master.Close() })
	w.Beat()
	w.Plan(signal.Supply, []signal.Edge{{At: signal.Instant(w.Now() + int64(30*time.Millisecond)), Level: signal.Made}})
	edges(t, w.Hands, 1)
	return w
}

// speak says a current at every interval; an empty one is silence.
func (w *wired) speak() {
	defer close(w.ended)
	say := "1.000A"
	for tick := time.NewTicker(interval); ; {
		select {
		case <-w.stop:
			tick.Stop()
			return
		case say = <-w.amps:
		case <-tick.C:
		}
		if say != "" {
			_, _ = fmt.Fprintf(w.master, "%s\n", say)
		}
	}
}

// trips waits for the guard and for the supply's edge, and gives how long that took.
func (w *wired) trips(want Trip) time.Duration {
	w.t.Helper()
	began := w.Now()
	off := edges(w.t, w.Hands, 1)[0]
	assert.Equal(w.t, []any{signal.Supply, signal.Broken}, []any{off.Line, off.Level})
	trip, _ := w.Tripped()
	assert.Equal(w.t, want, trip)
	return time.Duration(int64(off.Span.Late) - began)
}

func TestTheGuardTrips(t *testing.T) {
	for _, c := range []struct {
		name    string
		do      func(*wired)
		silence time.Duration
		want    Trip
		most    time.Duration
	}{
		{"too much current", func(w *wired) { w.amps <- "55.0A" }, patient, TooMuchCurrent, time.Second},
		{"backwards as well", func(w *wired) { w.amps <- "-55.0A" }, patient, TooMuchCurrent, time.Second},
		{"a drive without end", func(w *wired) { w.amps <- "8.0A" }, patient, TooLongDrive, 3 * time.Second},
		{"a silent meter", func(w *wired) { w.amps <- "" }, time.Second, MeterSilent, 3 * time.Second},
		{"an unplugged meter", func(w *wired) { _ = w.master.Close() }, patient, MeterGone, time.Second},
	} {
		t.Run(c.name, func(t *testing.T) {
			took := time.Duration(0)
			for range 4 { // the meter, which is this test, may itself be late
				w := wire(t, c.silence)
				c.do(w)
				if took = w.trips(c.want); took <= c.most {
					return
				}
			}
			assert.LessOrEqual(t, took, c.most)
		})
	}
}

// BenchmarkGuard is how long it takes from a reading on the wire to the supply's edge,
// in intervals of the meter.
func BenchmarkGuard(b *testing.B) {
	worst := 0.0
	for b.Loop() {
		w := wire(b, patient)
		w.amps <- "55.0A"
		worst = max(worst, float64(w.trips(TooMuchCurrent))/float64(interval))
		require.NoError(b, w.Close())
	}
	b.ReportMetric(worst, "worst-intervals")
}

// Hands that nobody grants anything work, and say what that costs.
func TestWithoutPrivilege(t *testing.T) {
	if os.Getenv("PINTLE_TEST_NOBODY") != "" {
		h := start(t, none())
		assert.NotEmpty(t, h.Ready.Lost)
		for _, lost := range h.Ready.Lost {
			t.Log(lost)
			assert.Contains(t, lost, "allow it by")
		}
		h.Plan(signal.Remote, []signal.Edge{{At: signal.Instant(h.Now() + int64(20*time.Millisecond)), Level: signal.Made}})
		edges(t, h, 1)
		return
	}
	if os.Getuid() != 0 {
		t.Skip("becomes another user, which root alone can")
	}
	cmd := exec.Command("/proc/self/exe", "-test.run=^TestWithoutPrivilege$", "-test.v")
	cmd.Env = append(os.Environ(), "PINTLE_TEST_NOBODY=1")
	cmd.Dir = "/"
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", out)
	t.Logf("%s", out)
}
