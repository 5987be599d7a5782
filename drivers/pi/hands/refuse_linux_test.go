package hands

import (
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/need"
	"pintle/rig/signal"
)

// on plans the supply on, after a while.
func on(h *Hands, after time.Duration) {
	h.Plan(signal.Supply, []signal.Edge{{At: signal.Instant(h.Now() + int64(after)), Level: signal.Made}})
}

// never wants no edge of the supply to come for a while, nor the supply to be on then.
func never(t *testing.T, h *Hands, d time.Duration, beats bool) {
	t.Helper()
	var n Note
	for end := h.Now() + int64(d); h.Now() < end; pause(time.Millisecond) {
		if beats {
			h.Beat()
		}
		for h.Line(&n) {
			require.False(t, n.Line == signal.Supply && n.Level == signal.Made, "the supply came on")
		}
	}
	require.Zero(t, h.desk.supply.Load())
}

// What a conductor planned before it fell silent does not put the supply on, not even
// for a moment.
func TestASilentConductorsPlanDoesNotPutTheSupplyOn(t *testing.T) {
	c := none()
	c.Guard.Conductor = 50 * time.Millisecond
	h := start(t, c)
	h.Beat()
	on(h, 200*time.Millisecond)
	never(t, h, 400*time.Millisecond, false)
	trip, _ := h.Tripped()
	assert.Equal(t, ConductorSilent, trip)
}

// A bench that was halted stays safe, whatever its conductor has not heard of yet.
func TestNothingIsPlannedAfterAHalt(t *testing.T) {
	h := start(t, none())
	require.NoError(t, h.Halt())
	on(h, 0)
	never(t, h, 100*time.Millisecond, true)
}

// A meter whose port went while the supply was off keeps it off.
func TestTheSupplyStaysOffWithoutAMeter(t *testing.T) {
	w := wire(t, patient)
	require.NoError(t, w.Safe())
	edges(t, w.Hands, 1)
	require.NoError(t, w.master.Close())
	for said := (Notice{}); !said.Gone; {
		select {
		case said = <-w.Notices():
		case <-time.After(10 * time.Second):
			t.Fatal("nobody says that the meter is gone")
		}
	}
	on(w.Hands, 10*time.Millisecond)
	never(t, w.Hands, 100*time.Millisecond, true)
	trip, _ := w.Tripped()
	assert.Equal(t, MeterGone, trip)
}

// A window is read whole or not at all, while it is written at the same time. The race
// detector sees whether processors may reorder what is read and written.
func TestAWindowIsReadWhole(t *testing.T) {
	var w window
	var writing sync.WaitGroup
	const plans = 2000
	writing.Go(func() {
		edges := make([]deskEdge, 40)
		for plan := uint64(1); plan <= plans; plan++ {
			for i := range edges {
				edges[i] = deskEdge{at: int64(plan), number: uint32(i), made: uint32(plan % 2)}
			}
			w.lay(plan, edges[:1+plan%40])
		}
	})
	for l := newLaid(); l.plan < plans; {
		if !w.read(&l) {
			continue
		}
		require.Equal(t, int(1+l.plan%40), l.count)
		for i, e := range l.edges[:l.count] {
			require.Equal(t, deskEdge{at: int64(l.plan), number: uint32(i), made: uint32(l.plan % 2)}, e)
		}
	}
	writing.Wait()
}

// Hands that are told to leave take the supply off at once, though those of their threads
// that hear it are not urgent and may oversleep.
func TestLeavingIsAtOnce(t *testing.T) {
	for name, tell := range map[string]func(*Hands) error{
		"the conductor's end of the pipe closes": func(h *Hands) error { return h.stdin.Close() },
		"they are told to end":                   func(h *Hands) error { return syscall.Kill(h.PID(), syscall.SIGTERM) },
		"the desk says so":                       func(h *Hands) error { h.desk.quit.Store(1); return nil },
	} {
		t.Run(name, func(t *testing.T) {
			worst := time.Duration(0)
			for range 5 {
				h, err := Start(none())
				require.NoError(t, err)
				h.Beat()
				on(h, 20*time.Millisecond)
				edges(t, h, 1)
				at := h.Now()
				require.NoError(t, tell(h))
				off := edges(t, h, 1)[0]
				assert.Equal(t, []any{signal.Supply, signal.Broken}, []any{off.Line, off.Level})
				worst = max(worst, time.Duration(int64(off.Span.Late)-at))
				_ = h.Close() // it cannot take lines over that there are none of, and says so
			}
			t.Logf("the supply was off %v after, at worst", worst)
			if worst > 10*time.Millisecond {
				need.Quiet(t, worst.String())
			}
		})
	}
}
