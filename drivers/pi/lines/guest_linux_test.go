package lines

import (
	"os"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"pintle/drivers/pi/vm"
	"pintle/drivers/pi/vm/guest"
)

// All tests named TestGuest run against a real kernel.
func TestInTheVirtualMachine(t *testing.T) {
	vm.Tests(t, "pintle/drivers/pi/lines", "^TestGuest")
}

func open(t *testing.T, names ...string) (*guest.Chip, *Chip) {
	t.Helper()
	sim := guest.NewChip(t, "boatyard", names...)
	c, err := Find("boatyard")
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, c.Close()) })
	require.Equal(t, len(names), c.Lines)
	return sim, c
}

// settle keeps edges further apart than what the simulated chip merges.
func settle() { time.Sleep(2 * time.Millisecond) }

// The kernel's trace of a start holds one level for each line, the initial one, set
// before the line is an output.
func TestGuestStartsWithoutFalseEdge(t *testing.T) {
	guest.Only(t)
	sim, c := open(t, "supply", "limit", "remote", "hall")
	w := guest.Watch(t, sim)
	o, err := c.Outputs("pintle", Output{Offset: 0}, Output{Offset: 1, Initial: true}, Output{Offset: 2, ActiveLow: true},
		Output{Offset: 3, ActiveLow: true, Initial: true})
	require.NoError(t, err)
	want := []bool{false, true, true, false}
	for line, high := range want {
		require.Equal(t, []bool{high}, w.Levels(line), "line %d", line)
		require.Equal(t, high, sim.Level(line), "line %d", line)
	}
	for _, e := range w.Edges() {
		require.NotEqual(t, "in", e.Direction, "line %d", e.Line)
	}
	bits, err := o.Get()
	require.NoError(t, err)
	require.EqualValues(t, 0b1010, bits, "logical levels are read back")

	require.NoError(t, o.Set(0b0101, 0b0001))
	bits, err = o.Get()
	require.NoError(t, err)
	require.EqualValues(t, 0b1011, bits)
	require.Equal(t, []bool{false, true}, w.Levels(0))
	require.Equal(t, []bool{true}, w.Levels(1), "a line outside the mask is left alone")
	require.NoError(t, o.Close())
	require.NoError(t, o.Close())
	require.ErrorIs(t, o.Set(1, 1), ErrClosed)
	_, err = o.Get()
	require.ErrorIs(t, err, ErrClosed)
}

func TestGuestOpenDrainLeavesHighToThePull(t *testing.T) {
	guest.Only(t)
	sim, c := open(t, "a")
	w := guest.Watch(t, sim)
	o, err := c.Outputs("pintle", Output{Offset: 0, OpenDrain: true, Initial: true})
	require.NoError(t, err)
	defer o.Close()
	for _, e := range w.Edges() {
		require.False(t, e.Direction == "" && e.High, "high is never driven: %v", e)
	}
	require.NoError(t, o.Set(1, 0))
	require.False(t, sim.Level(0))
	require.Contains(t, w.Levels(0), false)
	require.NotContains(t, w.Levels(0), true)
}

func TestGuestBias(t *testing.T) {
	guest.Only(t)
	sim, c := open(t, "up", "down")
	i, err := c.Inputs("pintle", 0, Input{Offset: 0, Bias: PullUp}, Input{Offset: 1, Bias: PullDown})
	require.NoError(t, err)
	defer i.Close()
	require.Equal(t, "pull-up", sim.Pulled(0))
	require.Equal(t, "pull-down", sim.Pulled(1))
	levels, err := i.Levels()
	require.NoError(t, err)
	require.EqualValues(t, 0b01, levels)
}

// An edge lies between the instants before and after its cause, on the clock that
// is claimed.
func TestGuestSensedEdges(t *testing.T) {
	guest.Only(t)
	sim, c := open(t, "open", "close")
	i, err := c.Inputs("pintle", 100, Input{Offset: 1}, Input{Offset: 0, ActiveLow: true})
	require.NoError(t, err)
	defer i.Close()
	require.Equal(t, 128, i.Buffer())
	there, err := i.Wait(0)
	require.NoError(t, err)
	require.False(t, there, "nothing has happened")
	for n := range 6 {
		line, high := n%2, n/2%2 == 0
		before := monotonic()
		sim.Pull(line, high)
		var e Edge
		there, err := i.Wait(time.Second)
		require.NoError(t, err)
		require.True(t, there)
		ok, err := i.Take(&e)
		require.NoError(t, err)
		require.True(t, ok)
		require.GreaterOrEqual(t, e.At, before)
		require.LessOrEqual(t, e.At, monotonic())
		e.At = 0
		require.Equal(t, Edge{Line: 1 - line, Level: high == (line == 1), Seq: uint32(n + 1), Own: uint32(n/2 + 1)}, e)
		settle()
	}
	var e Edge
	ok, err := i.Take(&e)
	require.NoError(t, err)
	require.False(t, ok)
}

func monotonic() int64 {
	var ts unix.Timespec
	_ = unix.ClockGettime(unix.CLOCK_MONOTONIC, &ts)
	return ts.Nano()
}

// A buffer that ran over gives its newest edges, and says how many are gone.
func TestGuestLostEdges(t *testing.T) {
	guest.Only(t)
	sim, c := open(t, "a")
	i, err := c.Inputs("pintle", 4, Input{Offset: 0})
	require.NoError(t, err)
	defer i.Close()
	require.Equal(t, 4, i.Buffer())
	for n := range 7 {
		sim.Pull(0, n%2 == 0)
		settle()
	}
	var got []Edge
	for {
		var e Edge
		ok, err := i.Take(&e)
		require.NoError(t, err)
		if !ok {
			break
		}
		got = append(got, e)
	}
	require.Len(t, got, 4)
	require.EqualValues(t, 3, got[0].Lost)
	require.EqualValues(t, 4, got[0].Seq)
	for _, e := range got[1:] {
		require.Zero(t, e.Lost)
	}
}

func TestGuestErrorsNameWhatIsWrong(t *testing.T) {
	guest.Only(t)
	_, c := open(t, "a", "gate-open")
	o, err := c.Outputs("boat-crane", Output{Offset: 1})
	require.NoError(t, err)
	_, err = c.Outputs("pintle", Output{Offset: 0}, Output{Offset: 1})
	var held *Held
	require.ErrorAs(t, err, &held)
	require.ErrorIs(t, err, unix.EBUSY)
	require.Equal(t, Held{c.String(), 1, "gate-open", "boat-crane"}, *held)
	require.NoError(t, o.Close())
	o, err = c.Outputs("pintle", Output{Offset: 0}, Output{Offset: 1})
	require.NoError(t, err, "what was given back can be had")
	require.NoError(t, o.Close())

	_, err = c.Outputs("pintle", Output{Offset: 2})
	require.ErrorContains(t, err, "has lines 0 to 1, and no line 2")
	_, err = Find("pinctrl-rp1")
	require.ErrorContains(t, err, "labelled pinctrl-rp1")
	require.ErrorContains(t, err, "boatyard")
	_, err = Open("/dev/gpiochip77")
	require.ErrorIs(t, err, ErrNoGPIO)
	require.ErrorContains(t, err, "there are: /dev/gpiochip")
	_, err = Open("/dev/null")
	require.ErrorContains(t, err, "what chip it is")
}

func TestGuestNoPermission(t *testing.T) {
	guest.Only(t)
	sim := guest.NewChip(t, "boatyard", "a")
	require.NoError(t, os.Chmod(sim.Path, 0o600))
	// For all threads of the process; root is kept as the saved user, to come back.
	require.NoError(t, syscall.Setresuid(-1, 1000, 0))
	_, err := Open(sim.Path)
	require.NoError(t, syscall.Setresuid(-1, 0, 0))
	require.ErrorIs(t, err, os.ErrPermission)
	require.ErrorContains(t, err, "adduser")
}

// A chip that is taken away is an error, at once and with no hang.
func TestGuestUnplugged(t *testing.T) {
	guest.Only(t)
	sim, c := open(t, "a", "b")
	o, err := c.Outputs("pintle", Output{Offset: 0})
	require.NoError(t, err)
	i, err := c.Inputs("pintle", 0, Input{Offset: 1})
	require.NoError(t, err)
	sim.Unplug()
	require.Error(t, o.Set(1, 1))
	_, err = i.Levels()
	require.Error(t, err)
	_, err = i.Wait(time.Second)
	require.Error(t, err)
	require.NoError(t, i.Close())
	require.NoError(t, o.Close())
}

func TestGuestCloseEndsAWait(t *testing.T) {
	guest.Only(t)
	_, c := open(t, "a")
	i, err := c.Inputs("pintle", 0, Input{Offset: 0})
	require.NoError(t, err)
	ended := make(chan error)
	go func() {
		_, err := i.Wait(-1)
		ended <- err
	}()
	require.NoError(t, i.Close())
	require.ErrorIs(t, <-ended, ErrClosed)
	require.NoError(t, i.Close())
	_, err = i.Take(new(Edge))
	require.ErrorIs(t, err, ErrClosed)
}

func TestGuestNothingIsAllocated(t *testing.T) {
	guest.Only(t)
	sim, c := open(t, "a", "b")
	o, err := c.Outputs("pintle", Output{Offset: 0})
	require.NoError(t, err)
	defer o.Close()
	level := uint64(0)
	require.Zero(t, testing.AllocsPerRun(200, func() {
		level ^= 1
		if o.Set(1, level) != nil {
			panic("set")
		}
		if got, err := o.Get(); err != nil || got != level {
			panic("read back")
		}
	}))
	i, err := c.Inputs("pintle", 0, Input{Offset: 1})
	require.NoError(t, err)
	defer i.Close()
	for n := range 101 {
		sim.Pull(1, n%2 == 0)
		settle()
	}
	var e Edge
	require.Zero(t, testing.AllocsPerRun(100, func() {
		there, err := i.Wait(0)
		if err != nil || !there {
			panic("wait")
		}
		if ok, err := i.Take(&e); err != nil || !ok || e.Lost != 0 {
			panic("take")
		}
	}))
}
