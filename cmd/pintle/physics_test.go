package main

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/gate"
	"pintle/rig/signal"
	"pintle/scenarios"
)

// These tests look at the gate as its user does: through the keys of gate.yaml, the
// edges of the virtual bench's lines, the readings of its meter.

// figuresOf are those that the gate of a job has by its equations, on the day of its
// file.
func figuresOf(t *testing.T, job *scenarios.Job) gate.Figures {
	t.Helper()
	m := job.Gate.Spec.Machine
	f, err := m.Figures(m.Celsius, 1)
	require.NoError(t, err)
	return f
}

// The motor's start shows as an inrush of more than twice what it draws in motion, and
// the heavier way draws more. Both are what the equations of the gate give.
func TestInrushAndTheHeavierWay(t *testing.T) {
	job := demoWith(t)
	f, s := figuresOf(t, job), watchTrial(t, job, "normal-cycle", 1)
	running := map[signal.Line]float64{}
	for drive, c := range map[signal.Line]gate.Course{signal.DriveOpen: f.Opening, signal.DriveClose: f.Closing} {
		on, off := s.driven(drive)
		steady := on.Add(c.RunUp)
		running[drive] = math.Abs(s.mean(steady, off))
		assert.InEpsilon(t, c.Inrush.Amperes(), s.most(on, steady), 0.01, "%v: inrush", drive)
		assert.InEpsilon(t, c.Running.Amperes(), running[drive], 0.02, "%v: running", drive)
		assert.Greater(t, s.most(on, steady), 2*s.most(steady, off), drive)
		assert.Less(t, s.most(on, steady), f.Stall.Amperes(), drive)
	}
	assert.Greater(t, running[signal.DriveOpen], 1.2*running[signal.DriveClose], "the boom is heavier than its counterweight")
	on, off := s.driven(signal.DriveClose)
	assert.Negative(t, s.mean(on, off), "the other way round")
}

// opened is how long the demo's boom takes from the bridge's closing to the open limit.
func opened(t *testing.T, changes ...change) time.Duration {
	t.Helper()
	s := watchTrial(t, demoWith(t, changes...), "normal-cycle", 1)
	on, _ := s.driven(signal.DriveOpen)
	return s.first(signal.OpenLimit, signal.Made, on).Sub(on)
}

// A cold battery that sags opens the gate more slowly, and so does each of the two for
// itself, by as much as the equations say.
func TestAColdSaggingBatteryOpensMoreSlowly(t *testing.T) {
	cold := change{"gate.yaml", "temperature: 25degC", "temperature: -10degC"}
	falls := change{"gate.yaml", "resistance per degree: -0.5mohm", "resistance per degree: -2mohm\n    voltage per degree: 20mV"}
	sags := change{"gate.yaml", "voltage: 25.6V", "voltage: 23V"}
	usual := opened(t)
	for name, changes := range map[string][]change{"cold": {cold, falls}, "sagging": {sags}, "both": {cold, falls, sags}} {
		before, after := figuresOf(t, demoWith(t)), figuresOf(t, demoWith(t, changes...))
		got := opened(t, changes...)
		assert.Greater(t, got, usual+50*time.Millisecond, name)
		assert.InEpsilon(t, float64(after.Opening.Time)/float64(before.Opening.Time), float64(got)/float64(usual), 0.01, name)
	}
	assert.Greater(t, opened(t, cold, falls, sags), opened(t, sags))
	assert.Greater(t, opened(t, cold, falls, sags), opened(t, cold, falls))
}

// What the cold does to the resistances shows in the current of a start too.
func TestTheTemperatureShowsInTheCurrent(t *testing.T) {
	for _, celsius := range []float64{-30, 25, 60} {
		job := demoWith(t, change{"gate.yaml", "temperature: 25degC", fmt.Sprintf("temperature: %gdegC", celsius)})
		f, err := job.Gate.Spec.Machine.Figures(celsius, 1)
		require.NoError(t, err)
		s := watchTrial(t, job, "normal-cycle", 1)
		on, _ := s.driven(signal.DriveOpen)
		assert.InEpsilon(t, f.Opening.Inrush.Amperes(), s.most(on, on.Add(f.Opening.RunUp)), 0.01, "at %v °C", celsius)
	}
}

// halfway is a sensor that passes a narrow magnet in the middle of the way.
var halfway = []change{
	{"bench.yaml", "  supply: {pin", "  hall-travel: {pin: GPIO10, voltage: 5V, connector: J4.5}\n  supply: {pin"},
	{"gate.yaml", "  open-limit:\n", "  hall-travel:\n    kind: hall\n    wheel: {radius: 90mm, turns: 0.236, arc: 6mm, release: 0deg, magnets: [42.5deg]}\n  open-limit:\n"},
}

// A boom that gets lighter on its way up is slow first; one on a spring that is
// stretched the further it goes is slow last. The way as a whole takes about as long.
func TestTheImbalanceCountsWhereItIs(t *testing.T) {
	halves := func(closed, open string) (first, second time.Duration) {
		s := watchTrial(t, demoWith(t, append(halfway[:2:2],
			change{"gate.yaml", "torque: 190Nm", "torque: " + closed}, change{"gate.yaml", "torque: 120Nm", "torque: " + open},
			change{"gate.yaml", "    - at: 60 %\n      torque: 170Nm\n", ""})...), "normal-cycle", 1)
		on, _ := s.driven(signal.DriveOpen)
		middle := s.first(signal.HallTravel, signal.Made, on)
		return middle.Sub(on), s.first(signal.OpenLimit, signal.Made, on).Sub(middle)
	}
	even1, even2 := halves("100Nm", "100Nm")
	falling1, falling2 := halves("300Nm", "-100Nm")
	rising1, rising2 := halves("-100Nm", "300Nm")
	assert.Greater(t, falling1, even1+100*time.Millisecond)
	assert.Less(t, falling2, even2-100*time.Millisecond)
	assert.Less(t, rising1, even1-100*time.Millisecond)
	assert.Greater(t, rising2, even2+100*time.Millisecond)
	assert.InEpsilon(t, float64(falling1+falling2), float64(rising1+rising2), 0.02)
}

// A gate that slides on a pinion is the same as one that turns, where its way is the
// angle times the radius, and its mass the inertia over the radius squared.
func TestAWayByLengthIsTheOneByAngle(t *testing.T) {
	turns := watchTrial(t, demoWith(t), "normal-cycle", 1)
	const radius = 0.05
	slides := watchTrial(t, demoWith(t,
		change{"gate.yaml", "  swing: 85deg            # from lying on its rest to standing up\n", "  length: 0.0741764932m\n  wheel: 50mm\n"}, // 85·π/180·0.05
		change{"gate.yaml", "  inertia: 170kgm2        # boom and counterweight, about the shaft\n", "  mass: 68000kg\n"},                      // 170/0.05²
	), "normal-cycle", 1)
	require.Len(t, slides.trace.Edges, len(turns.trace.Edges))
	for i, want := range turns.trace.Edges {
		got := slides.trace.Edges[i]
		require.Equal(t, want.Line, got.Line)
		require.Equal(t, want.Level, got.Level)
		require.InDelta(t, float64(want.Span.Mid()), float64(got.Span.Mid()), 1000, "%v", want)
	}
	require.InDelta(t, 85*math.Pi/180*radius, 0.0741764932, 1e-10)
}
