package derive

import (
	"fmt"
	"time"

	"pintle/rig/signal"
)

// A Unit is the unit of a proposal's whole numbers.
type Unit string

// The units.
const (
	Nanoseconds  Unit = "ns"
	Microamperes Unit = "µA"
)

// Text writes n of the unit as a person would.
func (u Unit) Text(n int64) string {
	switch u {
	case Nanoseconds:
		return timeText(time.Duration(n))
	case Microamperes:
		return signal.Current(n).String()
	}
	return fmt.Sprintf("%d of an unknown unit", n)
}

// timeText writes a duration in one unit: 1.5 s, 900 ms, 100 µs.
func timeText(d time.Duration) string {
	scale, unit := time.Microsecond, "µs"
	switch {
	case d >= time.Second || d == 0:
		scale, unit = time.Second, "s"
	case d >= time.Millisecond:
		scale, unit = time.Millisecond, "ms"
	}
	return exact(float64(d)/float64(scale)) + " " + unit
}

// A Step is one line of reasoning.
type Step struct {
	Text    string  `json:"text"`              // what is done and why
	Formula string  `json:"formula,omitempty"` // with the figures put in
	Result  string  `json:"result,omitempty"`  // what it comes to
	Value   float64 `json:"value,omitempty"`   // the result in its SI unit, as rounded for the next line
}

// A Remedy is a change that would let a value satisfy both sides.
type Remedy struct {
	Text   string `json:"text"`
	Advice bool   `json:"advice,omitempty"` // it may help, by an amount that nothing given tells
	apply  func(*Given)
}

// Applied gives what would be known of the gate with the remedy applied. It is
// false of advice that changes nothing among what is given.
func (r Remedy) Applied(g Given) (Given, bool) {
	if r.apply == nil {
		return g, false
	}
	g.Sensors = append([]Sensor(nil), g.Sensors...)
	r.apply(&g)
	return g, true
}

// A Proposal is what one claim can soundly be for a gate. Every number is whole,
// in its Unit.
type Proposal struct {
	Claim    string   `json:"claim"`             // a well-known claim, or Debounce
	Sensor   string   `json:"sensor,omitempty"`  // of Debounce: which sensor's
	Unit     Unit     `json:"unit"`              // of Low, High, Proposed
	Low      *int64   `json:"low,omitempty"`     // least sound value; nil: nothing known bounds it
	High     *int64   `json:"high,omitempty"`    // most sound value; nil: nothing known bounds it
	Proposed int64    `json:"proposed"`          // a figure that a person would choose; 0 in a conflict
	Steps    []Step   `json:"steps"`             // how the bounds come about
	Notes    []string `json:"notes,omitempty"`   // what the bounds do not say
	Missing  []string `json:"missing,omitempty"` // what was not given that would bound it further
	Sources  []string `json:"sources"`
	Conflict string   `json:"conflict,omitempty"` // why no value satisfies both sides
	Remedies []Remedy `json:"remedies,omitempty"` // any one of them ends the conflict, advice apart
}

// Debounce is the name of a proposal for the time that a sensor must stay changed
// before the controller believes it. It is a setting of a controller, not a claim.
const Debounce = "debounce"

// Name is the claim, with the sensor where it is one's own.
func (p Proposal) Name() string {
	if p.Sensor != "" {
		return p.Claim + " of " + p.Sensor
	}
	return p.Claim
}

// Range says the sound values in words.
func (p Proposal) Range() string {
	switch {
	case p.Conflict != "":
		return "no sound value"
	case p.Low != nil && p.High != nil:
		return p.Unit.Text(*p.Low) + " to " + p.Unit.Text(*p.High)
	case p.Low != nil:
		return "at least " + p.Unit.Text(*p.Low)
	case p.High != nil:
		return "at most " + p.Unit.Text(*p.High)
	}
	return "not worked out"
}

// Judge says whether a declared value, in the proposal's Unit, is a sound one, and
// why not. A proposal that says nothing finds no value sound.
func (p Proposal) Judge(declared int64) (ok bool, why string) {
	said := p.Name() + " " + p.Unit.Text(declared)
	switch {
	case p.Conflict != "":
		return false, fmt.Sprintf("%s: no value is sound for this gate: %s", said, p.Conflict)
	case p.Low == nil && p.High == nil:
		return false, fmt.Sprintf("%s: nothing was worked out to hold it against", said)
	case p.Low != nil && declared < *p.Low:
		return false, fmt.Sprintf("%s is below the least sound value for this gate, %s; %s is proposed", said, p.Unit.Text(*p.Low), p.Unit.Text(p.Proposed))
	case p.High != nil && declared > *p.High:
		return false, fmt.Sprintf("%s is above the most sound value for this gate, %s; %s is proposed", said, p.Unit.Text(*p.High), p.Unit.Text(p.Proposed))
	}
	return true, fmt.Sprintf("%s is within %s", said, p.Range())
}
