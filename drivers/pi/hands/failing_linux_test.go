package hands

import (
	"encoding/json"
	"errors"
	"io"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/drivers/meter"
	"pintle/drivers/pi/lines"
	"pintle/rig/signal"
)

// A witness writes down how lines were driven, and fails from some time on.
type witness struct {
	noLines
	sets [][2]uint64
	fail error
}

func (w *witness) Set(mask, bits uint64) error {
	w.sets = append(w.sets, [2]uint64{mask, bits})
	return errors.Join(w.fail, w.noLines.Set(mask, bits))
}

// failing is a sensor in which the hands fail.
type failing struct{ scripted }

func (*failing) Take(*lines.Edge) (bool, error) { panic("a fault of the program") }

// powered is hands in this process with the supply and the remote on, and what they say.
func powered(t *testing.T, s sensor, w driver) *hand {
	t.Helper()
	h, _ := both(s)
	h.c = none().filled()
	h.say = json.NewEncoder(io.Discard)
	h.notices = make(chan Notice, 4)
	h.outputs, h.supply, h.inputs = w, signal.Supply, s
	for n, wire := range h.c.Outputs {
		h.bits[wire.Line], h.wires[wire.Line], h.laid[wire.Line] = 1<<n, wire, newLaid()
		h.wired = append(h.wired, wire.Line)
	}
	h.desk.beat.Store(h.clock.now())
	require.NoError(t, h.set(0b111, 0b011), "supply and remote made, the limit as well")
	return h
}

// passing takes what the hands say as it comes, as the conductor does.
func passing(h *hand) <-chan []Notice {
	said := make(chan []Notice)
	go func() {
		var all []Notice
		for n := range h.notices {
			all = append(all, n)
		}
		said <- all
	}()
	return said
}

// Hands in which the program fails take the supply off first, then release all else, say
// why and end; so do hands whose lines cannot be driven any more, as far as that goes.
func TestHandsThatFailLeaveTheSupplyOff(t *testing.T) {
	for name, c := range map[string]struct {
		sensor sensor
		fail   error
		status int
		code   string
		trip   Trip
	}{
		"panic":    {&failing{}, nil, 2, "hands-failed", NoTrip},
		"no lines": {nil, errors.New("the chip is gone"), 1, "lines-failed", LinesFailed},
	} {
		t.Run(name, func(t *testing.T) {
			w := &witness{}
			h := powered(t, c.sensor, w)
			if c.sensor == nil {
				h.inputs = nil
			}
			w.sets, w.fail = nil, c.fail
			if c.fail != nil {
				h.desk.safeAsked.Add(1) // so that they drive something
			}
			said := passing(h)
			require.Equal(t, c.status, h.work())
			close(h.notices)
			all := <-said
			require.Len(t, all, 1)
			require.Equal(t, c.code, all[0].Code)
			require.Equal(t, c.trip, Trip(h.desk.tripped.Load()))
			require.Equal(t, [2]uint64{0b001, 0}, w.sets[0], "the supply falls first, alone")
			require.EqualValues(t, 0b100, w.bits, "and all is at rest")
		})
	}
}

// Neither a turn of the hands nor a reading leaves garbage: nobody collects it.
func TestATurnLeavesNoGarbage(t *testing.T) {
	h := powered(t, &scripted{}, &noLines{})
	h.c.Spin = 0
	for range 10 {
		require.NoError(t, h.turn())
	}
	require.Zero(t, testing.AllocsPerRun(50, func() {
		h.desk.beat.Store(h.clock.now())
		if err := h.turn(); err != nil {
			panic(err)
		}
	}))
	l := &listener{hand: h, watch: watchman{guard: Guard{MostCurrent: signal.Ampere}, since: signal.Never}}
	var n signal.Instant
	require.Zero(t, testing.AllocsPerRun(500, func() {
		n++
		l.take(meter.Reading{At: n, Sample: signal.Sample{From: n - 1, To: n, Current: 1000}})
	}))
}

// A slow chip takes its time to be driven.
type slow struct{ noLines }

const takes = 2 * time.Millisecond

func (s *slow) Set(mask, bits uint64) error { pause(takes); return s.noLines.Set(mask, bits) }

// An edge is told with the instants before and after the call that made it, and when it
// was meant to be.
func TestAnEdgeIsToldBeforeAndAfter(t *testing.T) {
	h := powered(t, nil, &slow{})
	var n note
	for h.desk.lines.take(&n) {
	}
	before := h.clock.now()
	require.NoError(t, h.setPlanned(0b010, 0, before-7))
	after := h.clock.now()
	require.True(t, h.desk.lines.take(&n))
	require.Equal(t, before-7, n.planned)
	require.GreaterOrEqual(t, n.early, before)
	require.GreaterOrEqual(t, n.late-n.early, int64(takes))
	require.LessOrEqual(t, n.late, after)
}

// The heart beats at its pace while all is well; with a guard that has tripped or a
// conductor that is silent it stops, at its low level.
func TestTheHeartStopsWithWhatItStandsFor(t *testing.T) {
	for name, c := range map[string]struct {
		ail   func(*hand, int64)
		stops bool
	}{
		"all is well": {func(*hand, int64) {}, false},
		"tripped":     {func(h *hand, _ int64) { h.trip(TooMuchCurrent) }, true},
		"silent":      {func(h *hand, now int64) { h.desk.beat.Store(now - int64(h.c.Guard.Conductor) - 1) }, true},
		"just heard":  {func(h *hand, now int64) { h.desk.beat.Store(now - int64(h.c.Guard.Conductor)) }, false},
	} {
		t.Run(name, func(t *testing.T) {
			w := &witness{}
			h := powered(t, nil, w)
			h.heart = 1 << 3
			now := h.clock.now()
			h.desk.beat.Store(now)
			require.NoError(t, h.beat(now))
			require.Equal(t, [2]uint64{1 << 3, 1 << 3}, w.sets[len(w.sets)-1])
			w.sets = nil
			require.NoError(t, h.beat(now+int64(h.c.Beat)-1), "not yet")
			require.Empty(t, w.sets)
			for n := int64(1); n <= 10; n++ {
				at := now + n*int64(h.c.Beat)
				h.desk.beat.Store(at)
				c.ail(h, at)
				require.NoError(t, h.beat(at))
			}
			if !c.stops {
				require.Len(t, w.sets, 10)
				return
			}
			require.Equal(t, [][2]uint64{{1 << 3, 0}}, w.sets)
		})
	}
}
