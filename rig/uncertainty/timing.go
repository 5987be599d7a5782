package uncertainty

import (
	"math"
	"time"

	"pintle/rig/signal"
)

// The inputs of a timing budget, in nanoseconds. The half-widths and the
// distributions are those of JCGM 100:2008, 4.3.7 and 4.3.9; which of them a bench
// has is for the caller to say. A budget of a duration adds the end with
// sensitivity +1, the start with -1, and what the end is seen too late by with -1.

const nanoseconds = "ns"

// Bracket is an event that is known to have happened between two instants and no
// more, as an instant after the origin: rectangular.
func Bracket(name string, s signal.Span, origin signal.Instant, sensitivity float64, source string) Input {
	half := float64(s.Width()) / 2
	return Input{
		Name: name, Unit: nanoseconds, Value: float64(s.Early.Sub(origin)) + half, Distribution: Rectangular,
		HalfWidth: half, Sensitivity: sensitivity, Source: source,
	}
}

// Between is the duration from one bracketed event to another as one input. Two
// independent rectangular inputs make a trapezoid, whose foot is as wide as both
// together and whose top as their difference (JCGM 101:2008, 6.4.3.1); two equal
// ones make a triangle.
func Between(name string, from, to signal.Span, source string) Input {
	a, b := float64(from.Width())/2, float64(to.Width())/2
	in := Input{
		Name: name, Unit: nanoseconds, Value: float64(to.Early.Sub(from.Early)) + (b - a), Distribution: Trapezoid,
		HalfWidth: a + b, Sensitivity: 1, Source: source,
	}
	if a+b > 0 {
		in.Beta = math.Abs(a-b) / (a + b)
	}
	return in
}

// Delay is how much later than it happened an event is stamped, anything from the
// least to the most: the mean is taken off and the rest is rectangular. The two
// may be in either order.
func Delay(name string, least, most time.Duration, source string) Input {
	least, most = min(least, most), max(least, most)
	half := float64(most-least) / 2
	return Input{
		Name: name, Unit: nanoseconds, Value: float64(least) + half, Distribution: Rectangular,
		HalfWidth: half, Sensitivity: -1, Source: source,
	}
}

// SampleInterval is what is lost by looking only so often: an event is seen at the
// first look after it, anything up to an interval late. It assumes that the looks
// know nothing of the event.
func SampleInterval(name string, interval time.Duration, source string) Input {
	return Delay(name, 0, interval, source)
}

// Resolution is what is lost by showing a time in steps, each standing for half a
// step to either side: q/√12.
func Resolution(name string, step time.Duration, source string) Input {
	return Input{
		Name: name, Unit: nanoseconds, Distribution: Rectangular,
		HalfWidth: math.Abs(float64(step)) / 2, Sensitivity: 1, Source: source,
	}
}

// ClockRate is what a clock that runs at most so many millionths fast or slow puts
// into a duration: rectangular about nothing.
func ClockRate(name string, ppm float64, d time.Duration, source string) Input {
	return Input{
		Name: name, Unit: nanoseconds, Distribution: Rectangular,
		HalfWidth: math.Abs(float64(ppm*float64(d))) / 1e6, Sensitivity: 1, Source: source,
	}
}

// Crossing is when a noisy signal crosses a threshold: the standard deviation of
// the noise over the slope, both in the same unit of signal, the slope per second.
// A signal that does not rise or fall crosses at no time that can be told, and
// gives an input that no budget takes.
func Crossing(name string, noise, perSecond float64, source string) Input {
	return Input{
		Name: name, Unit: nanoseconds, Distribution: Normal,
		Standard: math.Abs(noise/perSecond) * 1e9, Sensitivity: 1, Source: source,
	}
}

// Jitter is a time whose scatter is known as a standard deviation.
func Jitter(name string, standard time.Duration, source string) Input {
	return Input{Name: name, Unit: nanoseconds, Distribution: Normal, Standard: float64(standard), Sensitivity: 1, Source: source}
}

// NewDuration begins the budget of the duration from one bracketed event to
// another, in nanoseconds. What else it hangs on is then added.
func NewDuration(quantity string, from, to signal.Span, source string) *Budget {
	return &Budget{Quantity: quantity, Unit: nanoseconds, Inputs: []Input{
		Bracket("start", from, from.Early, -1, source),
		Bracket("end", to, from.Early, +1, source),
	}}
}
