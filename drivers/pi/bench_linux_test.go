package pi

import (
	"os"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/drivers/benchtest"
	"pintle/drivers/meter"
	"pintle/drivers/meter/speak"
	"pintle/drivers/pi/hands"
	"pintle/drivers/pi/vm"
	"pintle/drivers/pi/vm/guest"
	"pintle/rig"
	"pintle/rig/signal"
)

// The test program is its own hands, as pintle is.
func TestMain(m *testing.M) {
	hands.Main()
	if os.Getenv(conductorEnv) != "" {
		os.Exit(conduct())
	}
	os.Exit(m.Run())
}

// kills is how often each process is killed at random; more where everything is asked
// for.
var kills = "5"

// All tests named TestGuest run against a real kernel, with two serial ports that are
// wired to each other.
func TestInTheVirtualMachine(t *testing.T) {
	if os.Getenv("PINTLE_QUIET") != "1" {
		t.Skip("keeps real time in an emulated machine, and needs one that does nothing else: PINTLE_QUIET=1 go test ./drivers/pi")
	}
	if os.Getenv("PINTLE_REQUIRE") == "1" {
		kills = "100"
	}
	r := vm.Options{Env: []string{"KILLS=" + kills}, CPUs: 2, UARTs: true, Timeout: 20 * time.Minute}.Tests(t, "pintle/drivers/pi", guestTests())
	t.Log(r.Output)
}

// A station is everything around a bench in the guest: the chip, the kernel's witness,
// and a meter that speaks on the other serial port.
type station struct {
	t       testing.TB
	chip    *guest.Chip
	witness *guest.Witness
	port    string        // of the meter
	silence time.Duration // of the meter, longest
	mu      sync.Mutex
	current signal.Current
	hushed  bool
	put     func() // takes it all away
	stop    chan struct{}
	done    sync.WaitGroup
}

const (
	every  = 20 * time.Millisecond
	window = 20 * time.Millisecond
)

// The lines of the station, by their offsets on the chip.
var wires = []hands.Wire{
	{Line: signal.Remote, Offset: 0}, {Line: signal.OpenLimit, Offset: 1}, {Line: signal.ClosedLimit, Offset: 2, Rest: true},
	{Line: signal.Supply, Offset: 3}, {Line: signal.StallLoad, Offset: 4, ActiveLow: true}, {Line: signal.Heartbeat, Offset: 5},
}

var senses = []hands.Wire{{Line: signal.DriveOpen, Offset: 6}, {Line: signal.DriveClose, Offset: 7}}

const supplyOffset, beatOffset = 3, 5

func meterConfig() meter.Config {
	return meter.Config{Port: "/dev/ttyS1", Protocol: "text", Baud: 115200, Interval: every, Window: window, Most: 60 * time.Millisecond,
		Resolution: 1000, Range: 60 * signal.Ampere, Silence: time.Second}
}

func newStation(t testing.TB) *station {
	t.Helper()
	return newStationOn(t, meterConfig().Port, "/dev/ttyS2")
}

// newStationOn has its meter on a port, speaking from the other end of it.
func newStationOn(t testing.TB, port, otherEnd string) *station {
	t.Helper()
	s := &station{t: t, port: port, silence: 300 * time.Millisecond, stop: make(chan struct{})}
	s.chip = guest.NewChip(t, "boatyard", "remote", "open-limit", "closed-limit", "supply", "stall-load", "heartbeat", "drive-open", "drive-close")
	s.witness = guest.Watch(t, s.chip)
	say, hush, err := speak.Open(otherEnd, meterConfig())
	require.NoError(t, err)
	s.done.Go(func() {
		tick := time.NewTicker(every)
		defer tick.Stop()
		for {
			select {
			case <-s.stop:
				return
			case <-tick.C:
			}
			s.mu.Lock()
			a, quiet := s.current, s.hushed
			s.mu.Unlock()
			if !quiet {
				_ = say(signal.Sample{Current: a})
			}
		}
	})
	s.put = sync.OnceFunc(func() { close(s.stop); s.done.Wait(); _ = hush(); s.chip.Remove() })
	t.Cleanup(s.put)
	return s
}

func (s *station) reads(a signal.Current) { s.mu.Lock(); s.current = a; s.mu.Unlock() }
func (s *station) hush()                  { s.mu.Lock(); s.hushed = true; s.mu.Unlock() }

func (s *station) config() Config {
	m := meterConfig()
	m.Port = s.port
	// An emulated machine stands still at times: hence the patience with hands that hang.
	return Config{Name: "bench in a virtual machine", Meter: m.Facts(), Late: 30 * time.Millisecond,
		Hands: hands.Config{Chip: s.chip.Path, Hang: time.Second, Outputs: wires, Inputs: senses, Meter: &m,
			Guard: hands.Guard{MostCurrent: 50 * signal.Ampere, Runs: 1_500_000, Stops: signal.Ampere, LongestDrive: 20 * time.Second,
				MeterSilence: s.silence}}}
}

func (s *station) open() (*Bench, rig.Facts) {
	s.t.Helper()
	b, facts, ready, err := New(s.config())
	require.NoError(s.t, err)
	for _, lost := range ready.Lost {
		s.t.Log(lost)
	}
	return b, facts
}

func TestGuestContract(t *testing.T) {
	guest.Only(t)
	s := newStation(t)
	benchtest.Patiently(t, func(t *testing.T) (rig.Bench, rig.Facts) {
		return s.open()
	})
}

// From power-on to a bench that is closed again, no line has moved but to where it
// rests, and only the heartbeat has beaten.
func TestGuestStartsAndEndsWithoutAFalseEdge(t *testing.T) {
	guest.Only(t)
	s := newStation(t)
	b, _ := s.open()
	for end := b.Now().Add(10 * time.Second); len(s.witness.Levels(beatOffset)) <= 8 && b.Now() < end; {
		_, err := b.Next(b.Now().Add(100 * time.Millisecond))
		require.NoError(t, err)
	}
	require.NoError(t, b.Close())
	rest := []bool{false, false, true, false, true} // closed at rest, and an active-low one
	for line, high := range rest {
		for _, level := range s.witness.Levels(line) {
			require.Equal(t, high, level, "line %d", line)
		}
	}
	require.Greater(t, len(s.witness.Levels(beatOffset)), 8, "the heartbeat has beaten")
}

// guestTests is which of them: all, or those that PINTLE_GUEST_TESTS names.
func guestTests() string {
	if p := os.Getenv("PINTLE_GUEST_TESTS"); p != "" {
		return p
	}
	return "^TestGuest"
}

// A sensed line that is made when a trial begins is told as such, though it gives no edge.
func TestGuestSensedBeforeTheTrial(t *testing.T) {
	guest.Only(t)
	s := newStation(t)
	s.chip.Pull(6, true)
	b, _ := s.open()
	defer func() { require.NoError(t, b.Close()) }()
	for _, high := range []bool{true, false} {
		s.chip.Pull(6, high)
		time.Sleep(100 * time.Millisecond)
		b.Forget()
		var seen []rig.Observation
		for until := b.Now().Add(50 * time.Millisecond); ; {
			o, err := b.Next(until)
			require.NoError(t, err)
			if o.Kind == rig.Reached {
				break
			}
			if o.Kind == rig.Sensed {
				seen = append(seen, o)
			}
		}
		if !high {
			require.Empty(t, seen)
			continue
		}
		require.Len(t, seen, 1)
		require.Equal(t, []any{signal.DriveOpen, signal.Made}, []any{seen[0].Line, seen[0].Level})
	}
}
