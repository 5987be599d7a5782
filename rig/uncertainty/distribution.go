package uncertainty

import (
	"fmt"
	"math"
	"strings"
)

// A Distribution is the shape of what is known of an input. The zero value is no
// shape and is refused.
type Distribution uint8

// The numbers are written into records: add at the end, never renumber.
const (
	NoDistribution Distribution = 0
	Normal         Distribution = 1 // given by its standard uncertainty; Student's t where the degrees of freedom are stated
	Rectangular    Distribution = 2 // anywhere within ± the half-width alike
	Triangular     Distribution = 3 // the sum of two equal rectangular ones
	Arcsine        Distribution = 4 // a swing between two ends, at an unknown phase
	Trapezoid      Distribution = 5 // the sum of two unequal rectangular ones
)

var distributions = [...]struct{ name, short string }{
	NoDistribution: {"none", "none"},
	Normal:         {"normal", "normal"},
	Rectangular:    {"rectangular", "rect"},
	Triangular:     {"triangular", "triang"},
	Arcsine:        {"arcsine", "arcsin"},
	Trapezoid:      {"trapezoid", "trapez"},
}

func (d Distribution) known() bool { return d > NoDistribution && int(d) < len(distributions) }

// bounded says that nothing lies outside ± the half-width.
func (d Distribution) bounded() bool { return d >= Rectangular && d.known() }

// String gives the name, as it stands in JSON.
func (d Distribution) String() string { return nameOf(d, distributions[:]) }

// MarshalText writes the name.
func (d Distribution) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads a name; an unknown one is an error.
func (d *Distribution) UnmarshalText(b []byte) error {
	return readName(d, "distribution", string(b), distributions[:])
}

// Divisor is what a half-width is divided by to give the standard uncertainty:
// √3 rectangular, √6 triangular, √2 arcsine, √(6/(1+β²)) trapezoid, where β is the
// width of the top over that of the foot (JCGM 100:2008, 4.3.7 to 4.3.9). It is 1
// for a normal distribution, whose standard uncertainty is given.
func (d Distribution) Divisor(beta float64) float64 {
	switch d {
	case Rectangular:
		return math.Sqrt(3)
	case Triangular:
		return math.Sqrt(6)
	case Arcsine:
		return math.Sqrt2
	case Trapezoid:
		return math.Sqrt(6 / (1 + float64(beta*beta)))
	}
	return 1
}

type named interface{ ~uint8 }

func nameOf[E named](e E, names []struct{ name, short string }) string {
	if int(e) < len(names) {
		return names[e].name
	}
	return fmt.Sprintf("%d?", uint8(e))
}

func readName[E named](to *E, what, name string, names []struct{ name, short string }) error {
	known := make([]string, 0, len(names))
	for i, n := range names {
		if n.name == name {
			*to = E(i)
			return nil
		}
		known = append(known, n.name)
	}
	return fmt.Errorf("read a %s: there is none named %q, only %s", what, name, strings.Join(known, ", "))
}
