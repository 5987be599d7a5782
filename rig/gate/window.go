package gate

import (
	"cmp"
	"errors"
	"math"
	"slices"
	"time"
)

// A Window is a stretch of the travel over which a sensor makes its line.
type Window struct {
	From, To   float64 // 0 closed to 1 open
	Hysteresis float64 // how much further the gate must go before the line breaks
}

// Over gives the sensor once for each window.
func (s Sensor) Over(windows ...Window) []Sensor {
	var all []Sensor
	for _, w := range windows {
		s.From, s.To, s.Hysteresis = w.From, w.To, w.Hysteresis
		all = append(all, s)
	}
	return all
}

// LeverWindow is the window of a lever at an end of the travel: operated from the
// place Operate up to the end, and released where the gate has gone back to the
// place Release. The open end is meant where Release is below Operate, the closed
// one where it is above.
func LeverWindow(operate, release float64) (Window, error) {
	var m mistakes
	m.unless(operate > 0 && operate < 1, "Operate", "%v must be above 0 and below 1", operate)
	m.unless(release >= 0 && release <= 1, "Release", "%v must be from 0 (closed) to 1 (open)", release)
	m.unless(release != operate, "Release", "%v must not be the place where the lever operates: which end it is at would be unknown", release)
	if err := errors.Join(m...); err != nil {
		return Window{}, err
	}
	if release < operate {
		return Window{operate, 1, operate - release}, nil
	}
	return Window{0, operate, release - operate}, nil
}

// A Wheel carries magnets past a Hall or reed switch. Switches at different radii
// have a Wheel each: a magnet then passes only its own.
type Wheel struct {
	Radius  float64   // of the magnets' path, in metres; above 0
	Turns   float64   // that the wheel makes over the travel; above 0
	Arc     float64   // along the path, in metres, over which a magnet operates the switch; where that is not known, the magnet's width
	Release float64   // angle in radians by which a magnet must go further, on either side, before the switch releases; not negative
	Magnets []float64 // for each the angle in radians by which the wheel has turned from closed when it faces the switch; any turn of it counts
}

// Check reports every mistake in the wheel.
func (w Wheel) Check() error {
	var m mistakes
	m.positive(w.Radius, "Radius")
	m.unless(w.Turns >= 1e-6 && w.Turns <= 1e4, "Turns", "%v must be above zero, from 0.000001 to 10000", w.Turns)
	m.positive(w.Arc, "Arc")
	m.notNegative(w.Release, "Release")
	round := 2 * math.Pi * w.Radius
	m.unless(w.Arc+float64(2*w.Release*w.Radius) < round, "Arc", "%v m, with the release on both sides, must be less than the wheel's whole path of %.4g m: the switch would never release", w.Arc, round)
	m.unless(len(w.Magnets) > 0, "Magnets", "there is none")
	for _, a := range w.Magnets {
		m.unless(math.Abs(a) <= 1e6, "Magnets", "%v must be an angle in radians", a)
	}
	return errors.Join(m...)
}

// HallWindows are the stretches of the travel over which the magnets of a wheel
// operate the switch, in the order of their places. Each magnet makes one at every
// turn of the wheel: the wrong magnet in mid-travel is a window like any other.
func HallWindows(w Wheel) ([]Window, error) {
	if err := w.Check(); err != nil {
		return nil, err
	}
	turn := 1 / w.Turns // in travels
	half := w.Arc / (2 * w.Radius) / (2 * math.Pi) * turn
	release := w.Release / (2 * math.Pi) * turn
	var all []Window
	for _, angle := range w.Magnets {
		part := angle/(2*math.Pi) - math.Floor(angle/(2*math.Pi))
		for k := -1.0; ; k++ {
			middle := (part + k) * turn
			if middle-half >= 1 {
				break
			}
			from, to := max(middle-half, 0), min(middle+half, 1)
			if to > from {
				all = append(all, Window{from, to, min(release, 1)})
			}
		}
	}
	slices.SortFunc(all, func(a, b Window) int { return cmp.Compare(a.From, b.From) })
	return all, nil
}

// Rim is the speed of the magnets, in metres per second, at a speed of the gate in
// travels per second.
func (w Wheel) Rim(speed float64) float64 {
	return speed * w.Turns * 2 * math.Pi * w.Radius
}

// Pulse is how long a passing magnet operates the switch: arc over rim speed. The
// speed is the gate's, in travels per second, and above 0. The release on the far
// side, which lengthens it, is left out, so it is the shortest.
func (w Wheel) Pulse(speed float64) time.Duration {
	return time.Duration(min(w.Arc/w.Rim(speed)*1e9, float64(longestTime)))
}
