package main

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/gate"
	"pintle/rig/signal"
)

// closedByMagnet puts a narrow magnet before a Hall switch in the place of the demo's
// lever.
var closedByMagnet = change{"gate.yaml", `    kind: lever
    from: 0 %
    to: 4 %
    hysteresis: 0.5 %
    bounce: 4ms
`, `    kind: hall
    wheel: {radius: 90mm, turns: 0.236, arc: 3mm, release: 0.2deg, magnets: [6deg]}
`}

// thereAndBack closes the gate and opens it again.
var thereAndBack = change{"scenarios/there-and-back.yaml", "", `title: Closes and opens again
why: To see the sensors on the way back.
group: convenience
hazard: None.
start: open
script:
  - press: remote
  - await: motor closing
    within: 2s
  - await: motor stopped
    within: 20s
  - wait: 5s
  - press: remote
  - await: motor opening
    within: 2s
  - wait: 4s
rules:
  - bounded existence: motor starts
    at most: 2
`}

// Switched off at a Hall switch, the gate coasts on past the magnet: the switch makes
// and breaks, and once more of each as the gate comes back.
func TestCoastingPastAHallMagnet(t *testing.T) {
	s := watchTrial(t, demoWith(t, closedByMagnet, thereAndBack), "there-and-back", 1)
	_, off := s.driven(signal.DriveClose)
	back := s.first(signal.DriveOpen, signal.Made, off)
	e := s.edges(signal.ClosedLimit)
	require.Len(t, e, 4, "%v", e)
	for i, l := range []signal.Level{signal.Made, signal.Broken, signal.Made, signal.Broken} {
		assert.Equal(t, l, e[i].Level)
	}
	assert.Less(t, e[0].At, off, "it is switched off because the line has made")
	assert.Less(t, off, e[1].At, "the gate was still in front of the magnet by then")
	assert.Less(t, e[1].At, off.Add(500*time.Millisecond), "and has coasted past it")
	assert.Less(t, back, e[2].At)
}

// A magnet holds a Hall switch for its arc over the speed of the rim.
func TestThePulseOfAPassingMagnet(t *testing.T) {
	for arc, metres := range map[string]float64{"6mm": 0.006, "12mm": 0.012} {
		sensor := halfway[1]
		sensor.to = "  hall-travel:\n    kind: hall\n    wheel: {radius: 90mm, turns: 0.236, arc: " + arc + ", magnets: [42.5deg]}\n  open-limit:\n"
		job := demoWith(t, halfway[0], sensor)
		f, s := figuresOf(t, job), watchTrial(t, job, "normal-cycle", 1)
		e := s.edges(signal.HallTravel)
		require.Len(t, e, 4, "once on the way up, once on the way down")
		for i, c := range map[int]gate.Course{0: f.Opening, 2: f.Closing} {
			rim := c.Rim * 0.09 // of the magnets: the wheel sits on the shaft
			assert.InEpsilon(t, metres/rim, e[i+1].At.Sub(e[i].At).Seconds(), 0.05, "%s, edge %d", arc, i)
		}
	}
}

// A second magnet on the wheel passes the switch in mid-travel, and the controller
// takes it for the end of the way.
func TestTheWrongMagnetInMidTravelStopsTheGate(t *testing.T) {
	second := change{"gate.yaml", "magnets: [85deg]", "magnets: [85deg, 40deg]"}
	alone := watchTrial(t, demoWith(t), "normal-cycle", 1)
	both := watchTrial(t, demoWith(t, second), "normal-cycle", 1)
	on, off := alone.driven(signal.DriveOpen)
	early, stopped := both.driven(signal.DriveOpen)
	assert.InEpsilon(t, float64(off.Sub(on))*40/85, float64(stopped.Sub(early)), 0.06)
	made := both.first(signal.OpenLimit, signal.Made, early)
	assert.Less(t, made, stopped)
	assert.Less(t, stopped, made.Add(150*time.Millisecond), "the claim stop after limit")
}

// hopping is a gate by the stopwatch that is switched off three hundredths before its
// stop and coasts onto it. A second sensor watches the last half hundredth.
const hopping = `title: Gate that hops off its stop
opening: {time: 9s, run up: 500ms, coast: 140ms, current: 11A}
closing: {time: 7s, run up: 400ms, coast: 500ms, current: 7.5A}
stall current: 30A
closed stop: {rebound: 80 %, return: 0.4}
sensors:
  open-limit: {from: 97 %, to: 100 %}
  closed-limit: {from: 0 %, to: 3 %, bounce: 0s}
  hall-travel: {kind: hall, from: 0 %, to: 0.1 %}
`

// The train of hops off the closed stop as the line shows it. A mass that leaves the stop
// at a speed u, and is brought back by an acceleration g, is above a place x for
// d = 2·√(u²−2gx)/g, and its hops are (u+v)/g apart from top to top if it leaves the
// next time at v = e·u: closed form of the bouncing mass, any textbook of mechanics.
func TestTheReboundTrainOnTheLine(t *testing.T) {
	const e, g, x = 0.8, 0.4, 0.001
	s := watchTrial(t, demoWith(t, halfway[0], change{"gate.yaml", "", hopping}, thereAndBack), "there-and-back", 1)
	_, off := s.driven(signal.DriveClose)
	edges := s.edges(signal.HallTravel)
	first := s.first(signal.HallTravel, signal.Made, off)
	var speeds, tops []float64
	for i := range edges {
		if edges[i].At <= first || edges[i].Level != signal.Broken || i+1 == len(edges) {
			continue
		}
		above := edges[i+1].At.Sub(edges[i].At).Seconds()
		speeds = append(speeds, math.Sqrt(g*above/2*g*above/2+2*g*x))
		tops = append(tops, edges[i].At.Sub(first).Seconds()+above/2)
	}
	require.GreaterOrEqual(t, len(speeds), 4, "%v", edges)
	for i := 1; i < len(speeds); i++ {
		assert.InDelta(t, e, speeds[i]/speeds[i-1], 1e-8, "hop %d: an edge is at a whole nanosecond", i)
		assert.InDelta(t, (speeds[i]+speeds[i-1])/g, tops[i]-tops[i-1], 3e-9, "hop %d", i)
	}
	assert.Equal(t, signal.Made, s.trace.Line(signal.HallTravel).Level(off.Add(4*time.Second)), "it has come to rest on its stop")
}
