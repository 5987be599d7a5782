package rig

import (
	"fmt"
	"math"
	"strings"
	"time"
)

// A Day is what nature gives a trial besides its script: when the press falls in the
// controller's loop, what the battery has left, how cold it is, how heavy the gate
// goes. The zero value is the ordinary day that the job's files describe.
type Day struct {
	Varied  bool
	Loop    float64       // phase of the controller's loop as it wakes, 0 to 1; where the bench simulates the controller
	Meter   float64       // phase of the meter's first reading, 0 to 1; likewise
	Wait    time.Duration // the supply is on so much longer before the script begins
	Battery float64       // share of the battery's usual voltage
	Load    float64       // what it takes to move the gate, as a multiple of the usual
	Kelvin  float64       // warmer than usual by so much; less than zero: colder
}

// DayDimensions is how many numbers make a Day.
const DayDimensions = 6

// A Varies is how far nature goes. The zero value varies nothing but phases.
type Varies struct {
	Wait    time.Duration // longest Wait
	Battery float64       // the battery may have lost this share of its voltage
	Load    float64       // the gate may go heavier by this share
	Kelvin  float64       // and it may be colder by so much
}

// levels is in how many steps load and temperature go: each is a machine of its own
// that has to be worked out.
const levels = 4

// Day makes a day of numbers from 0 up to, without, 1.
func (v Varies) Day(u [DayDimensions]float64) Day {
	level := func(u float64) float64 { return math.Floor(u*levels) / (levels - 1) }
	return Day{Varied: true, Loop: u[0], Meter: u[1], Wait: time.Duration(u[2] * float64(v.Wait)),
		Battery: 1 - float64(v.Battery*u[3]), Load: 1 + float64(v.Load*level(u[4])), Kelvin: -float64(v.Kelvin * level(u[5]))}
}

// String tells what is unusual about the day; nothing for an ordinary one.
func (d Day) String() string {
	if !d.Varied {
		return ""
	}
	var told []string
	if d.Battery != 1 {
		told = append(told, fmt.Sprintf("battery at %.1f %%", 100*d.Battery))
	}
	if d.Load != 1 {
		told = append(told, fmt.Sprintf("load %.0f %%", 100*d.Load))
	}
	if d.Kelvin != 0 {
		told = append(told, fmt.Sprintf("%.0f K colder", -d.Kelvin))
	}
	return strings.Join(told, ", ")
}

// A Varier is a bench whose controller, motor or meter are simulated, and that can
// have a day other than the ordinary one. It is told right after Reset.
type Varier interface{ Vary(Day) }

// Steady is the day with nothing unusual but its phases.
func (d Day) Steady() Day {
	if d.Varied {
		d.Battery, d.Load, d.Kelvin = 1, 1, 0
	}
	return d
}

// machine is which of the machines of a job a day needs.
type machine struct{ load, kelvin float64 }

func (d Day) machine() machine {
	if !d.Varied {
		return machine{1, 0}
	}
	return machine{d.Load, d.Kelvin}
}
