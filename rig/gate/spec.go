package gate

import (
	"time"

	"pintle/rig/signal"
)

// A Spec is what there is to know of a gate.
type Spec struct {
	Title   string
	Opening Travel
	Closing Travel
	Closed  Stop // the stop at position 0
	Open    Stop // the stop at position 1
	Sensors []Sensor
	// Currents of the motor that moves it, for the bench's load and for checks.
	OpeningCurrent signal.Current
	ClosingCurrent signal.Current
	StallCurrent   signal.Current
	// Machine, where there is one, moves the gate in place of Opening and Closing;
	// of the stops it takes the Restitution alone, for what brings the gate back to
	// them is its load.
	Machine *Machine
	drive   *Drive // of the Machine, once it is worked out
}

// Travel is how the gate moves in one direction.
type Travel struct {
	Time  time.Duration // stop to stop, from the motor's start
	RunUp time.Duration // from standstill to full speed, at constant acceleration
	Coast time.Duration // from full speed to standstill once the motor stops, at constant deceleration
}

// A Stop is one end of the travel. A gate that meets it faster than it can absorb
// hops off it in a train of shrinking hops, each slower than the one before by
// the factor Restitution, under the constant acceleration Return.
type Stop struct {
	Restitution float64 // 0: no rebound; below 1
	Return      float64 // towards the stop, in travels per second squared; positive
}

// A Sensor closes a line over a stretch of the travel. Where a line is made over
// several stretches, as by two magnets that pass one switch, each is a Sensor.
type Sensor struct {
	Line signal.Line
	Kind SensorKind
	From float64 // the line is made from here ...
	To   float64 // ... to here, From below To
	// Hysteresis is by how much further the gate must go back before the line
	// breaks than it had to come for it to make.
	Hysteresis float64
	// Delay is from the gate's coming to a place until the line shows it.
	Delay time.Duration
	// Bounce is the longest burst with which the contact makes or breaks, from the
	// first edge to the last; 0: it does not bounce. The model gives the first edge
	// of each burst, and whoever plays the line adds the rest.
	Bounce time.Duration
}

// A Start is the state of the gate at the origin of a trial.
type Start struct {
	Position float64
	Obstacle float64 // something at this place stops the gate on its way; negative: nothing
}
