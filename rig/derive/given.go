package derive

import (
	"errors"
	"fmt"
	"math"
	"time"

	"pintle/rig/signal"
)

// Given is what is known of a gate, of its parts, of its controller. A field that
// is zero is not given; whatever needs it is then left open.
type Given struct {
	Opening Direction `json:"opening"`
	Closing Direction `json:"closing"`

	StallCold  signal.Current `json:"stall_cold,omitempty"`    // most that a blocked motor draws: cold winding, Battery volts
	StallWarm  signal.Current `json:"stall_warm,omitempty"`    // least that a blocked motor draws: warm winding, BatteryLowest volts
	WarmRise   float64        `json:"warm_rise_k,omitempty"`   // how much warmer the warm winding is than the cold one, kelvin
	Battery    float64        `json:"battery_v,omitempty"`     // at the motor, volts
	BatteryLow float64        `json:"battery_low_v,omitempty"` // at the motor, the lowest with which the gate is to work, volts

	Motor  Rating  `json:"motor"`
	Bridge Rating  `json:"bridge"`
	Duty   float64 `json:"duty,omitempty"` // share of the time that the motor runs in the busiest hour, 0 to 1; not given: it may run all the time

	BridgeSwitching time.Duration  `json:"bridge_switching_ns,omitempty"` // time that the bridge needs between one direction and the other
	CurrentDecay    time.Duration  `json:"current_decay_ns,omitempty"`    // electrical time constant of the motor, L/R
	RunDown         time.Duration  `json:"run_down_ns,omitempty"`         // from full speed to standstill with the motor off; not given: the longer coast
	ShortCircuit    signal.Current `json:"short_circuit,omitempty"`       // what the battery and its leads drive through a short circuit at the motor

	Loop      time.Duration `json:"loop_ns,omitempty"`       // the controller looks at its inputs this often
	BeamDelay time.Duration `json:"beam_delay_ns,omitempty"` // from the beam's interruption to its output
	Sensors   []Sensor      `json:"sensors,omitempty"`

	Origin  string   `json:"origin,omitempty"`  // whence times, ways and currents are, in a sentence or two
	Circuit *Circuit `json:"circuit,omitempty"` // what StallCold, StallWarm, CurrentDecay, ShortCircuit were worked out of: see Powered
}

// Direction is how the gate moves one way.
type Direction struct {
	Time          time.Duration  `json:"time_ns,omitempty"`          // stop to stop as it usually is
	Slowest       time.Duration  `json:"slowest_ns,omitempty"`       // stop to stop at the slowest honest condition: cold, on a sagging battery
	CoastTime     time.Duration  `json:"coast_time_ns,omitempty"`    // from full speed to standstill, the motor off
	CoastDistance float64        `json:"coast_distance,omitempty"`   // the way covered by then, as a part of the travel, 0 to 1
	Speed         float64        `json:"speed_per_s,omitempty"`      // at its fastest, in travels per second
	Running       signal.Current `json:"running,omitempty"`          // most that an unhindered gate draws once it moves
	InrushPeak    signal.Current `json:"inrush_peak,omitempty"`      // most that starting draws
	InrushLength  time.Duration  `json:"inrush_length_ns,omitempty"` // until the current is down to Running

	// What happens at the stop at the end of this way. Hop not given: nothing is known of it.
	Pull    *Pull   `json:"pull,omitempty"`        // what Hop and Fall were worked out of: see Thrown
	Rebound float64 `json:"rebound,omitempty"`     // speed after meeting it over the speed before, 0 to 1; 0: it does not throw the gate back
	Hop     float64 `json:"hop_per_s2,omitempty"`  // what slows a hop off it down, in travels per second squared
	Fall    float64 `json:"fall_per_s2,omitempty"` // what brings the gate back to it; 0: nothing, friction holds it
}

// Rating is two points of what a part stands: a current for ever, another from
// cold for a time.
type Rating struct {
	Continuous signal.Current `json:"continuous,omitempty"`
	Short      signal.Current `json:"short,omitempty"` // above Continuous
	Stands     time.Duration  `json:"stands_ns,omitempty"`
}

func (r Rating) whole() bool { return r.Continuous > 0 && r.Short > r.Continuous && r.Stands > 0 }

// A Kind of sensor says what makes it.
type Kind string

// Lever is a contact that a cam pushes. Any other kind is made by what passes it, such as a
// magnet.
const Lever Kind = "lever"

// An End is where a sensor stands.
type End string

// The ends of the travel. A sensor without one is somewhere on the way.
const (
	AtOpen   End = "open"
	AtClosed End = "closed"
)

// A Sensor tells the controller where the gate is.
type Sensor struct {
	Name        string        `json:"name"`
	Kind        Kind          `json:"kind"`
	Contactless bool          `json:"contactless,omitempty"` // nothing in it bounces
	End         End           `json:"end,omitempty"`
	Bounce      time.Duration `json:"bounce_ns,omitempty"`   // the longest, from the first edge to the last
	Pulse       time.Duration `json:"pulse_ns,omitempty"`    // the shortest, at full speed; not given: Arc over the rim's speed
	Delay       time.Duration `json:"delay_ns,omitempty"`    // from the place reached to the output changed
	BounceFrom  string        `json:"bounce_from,omitempty"` // whence Bounce is, where it is not this gate's own but that of its kind
	DelayFrom   string        `json:"delay_from,omitempty"`  // the same of Delay
	Window      float64       `json:"window,omitempty"`      // how far the gate may go on once the sensor has made, before it breaks again or the stop is met, as a part of the travel
	Release     float64       `json:"release,omitempty"`     // how much further back than where it makes the gate has to go before it breaks, as a part of the travel
	Passed      bool          `json:"passed,omitempty"`      // it breaks again before the gate meets its stop

	Arc         float64 `json:"arc_m,omitempty"`          // over which the magnet holds the sensor, along the rim, metres
	WheelRadius float64 `json:"wheel_radius_m,omitempty"` // of the magnet's path, metres
	RimSpeed    float64 `json:"rim_speed_ms,omitempty"`   // at full speed, metres per second
	PerTravel   float64 `json:"turns,omitempty"`          // that the wheel makes in a whole travel; with Fastest gives RimSpeed where that is not given
	Fastest     float64 `json:"fastest_per_s,omitempty"`  // that the gate moves, in travels per second
	Facing      float64 `json:"facing_deg,omitempty"`     // by how much the wheel has turned from closed when its magnet faces the sensor, degrees
}

// A Mistake is one thing that cannot be in a Given.
type Mistake struct {
	Field string // such as Opening.Slowest or Sensors[2].Arc
	Says  string
}

func (m Mistake) Error() string { return m.Field + ": " + m.Says }

type mistakes []error

func (m *mistakes) unless(ok bool, field, format string, args ...any) {
	if !ok {
		*m = append(*m, Mistake{field, fmt.Sprintf(format, args...)})
	}
}

// Limits that keep every figure worked out far inside the range of an integer.
const (
	longest = 24 * time.Hour
	most    = 10_000 * signal.Ampere
)

func (m *mistakes) time(d time.Duration, field string) {
	m.unless(d >= 0 && d <= longest, field, "%v must not be negative, and at most %v", d, longest)
}

func (m *mistakes) current(c signal.Current, field string) {
	m.unless(c >= 0 && c <= most, field, "%v must not be negative, and at most %v: it is a magnitude, whichever way the motor turns", c, most)
}

// The comparisons are written so that a value which is not a number is a mistake.
func (m *mistakes) number(x, top float64, field string) {
	m.unless(x == 0 || x >= 1e-6 && x <= top && !math.IsInf(x, 0), field, "%v must be zero, which is not given, or between 0.000001 and %v", x, top)
}

// Check reports every mistake in what is given, each as a Mistake. Derive works on
// what has passed it.
func (g Given) Check() error {
	var m mistakes
	g.Opening.check(&m, "Opening")
	g.Closing.check(&m, "Closing")
	m.current(g.StallCold, "StallCold")
	m.current(g.StallWarm, "StallWarm")
	m.unless(g.StallWarm == 0 || g.StallCold == 0 || g.StallWarm <= g.StallCold, "StallWarm",
		"%v must not be above StallCold, %v: a warm winding on a low battery draws less", g.StallWarm, g.StallCold)
	m.number(g.WarmRise, 300, "WarmRise")
	m.number(g.Battery, 1000, "Battery")
	m.number(g.BatteryLow, 1000, "BatteryLow")
	m.unless(g.Battery == 0 || g.BatteryLow <= g.Battery, "BatteryLow", "%v V must not be above Battery, %v V", g.BatteryLow, g.Battery)
	m.number(g.Duty, 1, "Duty")
	g.Motor.check(&m, "Motor")
	g.Bridge.check(&m, "Bridge")
	m.time(g.BridgeSwitching, "BridgeSwitching")
	m.time(g.CurrentDecay, "CurrentDecay")
	m.time(g.RunDown, "RunDown")
	m.current(g.ShortCircuit, "ShortCircuit")
	m.time(g.Loop, "Loop")
	m.time(g.BeamDelay, "BeamDelay")
	if g.Circuit != nil {
		g.Circuit.check(&m)
	}
	names := map[string]bool{}
	for i, s := range g.Sensors {
		s.check(&m, fmt.Sprintf("Sensors[%d]", i))
		m.unless(!names[s.Name], fmt.Sprintf("Sensors[%d].Name", i), "%q is the name of another sensor already", s.Name)
		names[s.Name] = true
	}
	return errors.Join(m...)
}

func (d Direction) check(m *mistakes, field string) {
	m.time(d.Time, field+".Time")
	m.time(d.Slowest, field+".Slowest")
	m.unless(d.Slowest == 0 || d.Slowest >= d.Time, field+".Slowest", "%v must not be below the usual Time, %v", d.Slowest, d.Time)
	m.time(d.CoastTime, field+".CoastTime")
	m.number(d.CoastDistance, 1, field+".CoastDistance")
	m.number(d.Speed, 1000, field+".Speed")
	m.current(d.Running, field+".Running")
	m.current(d.InrushPeak, field+".InrushPeak")
	m.time(d.InrushLength, field+".InrushLength")
	if d.Pull != nil {
		d.Pull.check(m, field+".Pull")
	}
	m.number(d.Rebound, 1, field+".Rebound")
	m.number(d.Hop, 1e6, field+".Hop")
	m.number(d.Fall, 1e6, field+".Fall")
}

func (r Rating) check(m *mistakes, field string) {
	m.current(r.Continuous, field+".Continuous")
	m.current(r.Short, field+".Short")
	m.time(r.Stands, field+".Stands")
	given := r != Rating{}
	m.unless(!given || r.whole(), field,
		"needs a continuous current, a larger short one, and how long that is stood; it has %v, %v, %v", r.Continuous, r.Short, r.Stands)
}

func (s Sensor) check(m *mistakes, field string) {
	m.unless(s.Name != "", field+".Name", "must not be empty")
	m.unless(s.Kind != "", field+".Kind", "must not be empty")
	m.unless(s.End == "" || s.End == AtOpen || s.End == AtClosed, field+".End", "%q must be %s, %s or nothing", s.End, AtOpen, AtClosed)
	m.time(s.Bounce, field+".Bounce")
	m.time(s.Pulse, field+".Pulse")
	m.time(s.Delay, field+".Delay")
	m.number(s.Window, 1, field+".Window")
	m.number(s.Release, 1, field+".Release")
	m.number(s.Arc, 100, field+".Arc")
	m.number(s.WheelRadius, 100, field+".WheelRadius")
	m.number(s.RimSpeed, 100, field+".RimSpeed")
	m.number(s.PerTravel, 10_000, field+".PerTravel")
	m.number(s.Fastest, 1000, field+".Fastest")
	m.number(s.Facing, 1e8, field+".Facing")
}
