package thermal

import (
	"errors"
	"fmt"
	"math"
	"time"

	"pintle/rig/signal"
)

// A Curve is how a part heats. The zero Curve is of no part.
type Curve struct {
	Continuous signal.Current // Ith: the current that it stands for ever
	Constant   time.Duration  // the time constant of heating and of cooling
}

// Ratings that a Curve can be fitted to.
const (
	mostCurrent = 100_000 * signal.Ampere
	longest     = 24 * time.Hour
)

// Fit gives the curve through two points of a data sheet: a current that the part
// stands for ever, and a larger one that it stands for a time from cold. "30 A
// continuous, 80 A for 1 s" has a time constant of 1 s / ln(80² / (80² − 30²)).
func Fit(continuous, short signal.Current, stands time.Duration) (Curve, error) {
	var errs []error
	wrong := func(format string, args ...any) { errs = append(errs, fmt.Errorf(format, args...)) }
	if continuous <= 0 || continuous > mostCurrent {
		wrong("the continuous current of %v must be above zero, and at most %v", continuous, mostCurrent)
	}
	if short <= continuous || short > mostCurrent {
		wrong("the short-time current of %v must be above the continuous one of %v, and at most %v", short, continuous, mostCurrent)
	}
	if stands <= 0 || stands > longest {
		wrong("the time of %v must be above zero, and at most %v", stands, longest)
	}
	if len(errs) > 0 {
		return Curve{}, fmt.Errorf("fit a thermal curve: %w", errors.Join(errs...))
	}
	c, s := continuous.Amperes(), short.Amperes()
	constant := math.Round(float64(stands) / -math.Log1p(-float64(c/s)*float64(c/s)))
	if constant < 1 || constant > float64(1<<62) {
		return Curve{}, fmt.Errorf("fit a thermal curve: %v for ever and %v for %v are too far apart for a time constant", continuous, short, stands)
	}
	return Curve{Continuous: continuous, Constant: time.Duration(constant)}, nil
}

// Steady is the load that a current leads to in the end.
func (c Curve) Steady(i signal.Current) float64 {
	part := float64(i) / float64(c.Continuous)
	return float64(part * part)
}

// After is the load after a steady current has flowed for a time, from a load
// before it. Without current the part cools.
func (c Curve) After(from float64, i signal.Current, d time.Duration) float64 {
	end := c.Steady(i)
	return end + float64((from-end)*decay(float64(d)/float64(c.Constant)))
}

// ToLimit is how long a steady current takes to bring the load from a value up to
// 1: IEC 60255-149's cold curve from 0, its hot curve from (Ip/Ith)². It is false
// where the load never comes to 1; from 1 on it takes no time.
func (c Curve) ToLimit(i signal.Current, from float64) (time.Duration, bool) {
	end := c.Steady(i)
	switch {
	case from >= 1:
		return 0, true
	case end <= 1:
		return 0, false
	}
	t := float64(c.Constant) * math.Log((end-from)/(end-1))
	if t >= float64(1<<63-1) {
		return 0, false
	}
	return time.Duration(math.Round(t)), true
}

// decay is e^-x for x from 0 up, made of sums and products that no compiler may
// fuse, so that it is the same to the last bit on every machine.
func decay(x float64) float64 {
	if x > 700 {
		return 0
	}
	halvings := 0
	for ; x > 1.0/64; x /= 2 {
		halvings++
	}
	// x below 1/64: the next term of the series is below 1e-19.
	sum := 1.0
	for n := 8.0; n >= 1; n-- {
		sum = 1 - float64(float64(x/n)*sum)
	}
	for ; halvings > 0; halvings-- {
		sum = float64(sum * sum)
	}
	return sum
}
