package quantity

import (
	"math/big"
	"slices"
	"strings"
)

// Dimension is what a value measures.
type Dimension uint8

// The dimensions that files speak of.
const (
	Unknown    Dimension = 0
	Number     Dimension = 1  // a bare number, or a percentage
	Time       Dimension = 2  // base unit: the nanosecond
	Current    Dimension = 3  // base unit: the microampere
	Voltage    Dimension = 4  // base unit: the microvolt
	Resistance Dimension = 5  // base unit: the ohm
	Inductance Dimension = 6  // base unit: the henry
	Constant   Dimension = 7  // of a motor; base unit: the volt second per radian
	Inertia    Dimension = 8  // base unit: the kilogram square metre
	Torque     Dimension = 9  // base unit: the newton metre
	Friction   Dimension = 10 // viscous; base unit: the newton metre second per radian
	Length     Dimension = 11 // base unit: the metre
	Angle      Dimension = 12 // base unit: the degree
	Mass       Dimension = 13 // base unit: the kilogram
	Warmth     Dimension = 14 // a temperature; base unit: the degree Celsius
)

// dimensions is the table of their names; an error message calls a value by it.
var dimensions = [...]struct{ name, article string }{
	Unknown: {"anything", "a figure"}, Number: {"number", "a bare number"}, Time: {"time", "a time"},
	Current: {"current", "a current"}, Voltage: {"voltage", "a voltage"}, Resistance: {"resistance", "a resistance"},
	Inductance: {"inductance", "an inductance"}, Constant: {"constant", "a motor constant"}, Inertia: {"inertia", "an inertia"},
	Torque: {"torque", "a torque"}, Friction: {"friction", "a viscous friction"}, Length: {"length", "a length"},
	Angle: {"angle", "an angle"}, Mass: {"mass", "a mass"}, Warmth: {"temperature", "a temperature"},
}

// String names the dimension, such as time.
func (d Dimension) String() string { return dimensions[d].name }

// A unit is worth num/den of the base unit of its dimension.
type unit struct {
	name string
	of   Dimension
	num  int64
	den  int64
}

// units is the table of all units. Of units with the same worth the first is the
// one that messages and printed values use.
var units = []unit{
	{"%", Number, 1, 100},
	{"ns", Time, 1, 1},
	{"us", Time, 1_000, 1}, {"µs", Time, 1_000, 1}, {"μs", Time, 1_000, 1},
	{"ms", Time, 1_000_000, 1},
	{"s", Time, 1_000_000_000, 1},
	{"min", Time, 60_000_000_000, 1},
	{"h", Time, 3_600_000_000_000, 1},
	{"uA", Current, 1, 1}, {"µA", Current, 1, 1}, {"μA", Current, 1, 1},
	{"mA", Current, 1_000, 1},
	{"A", Current, 1_000_000, 1},
	{"uV", Voltage, 1, 1}, {"µV", Voltage, 1, 1}, {"μV", Voltage, 1, 1},
	{"mV", Voltage, 1_000, 1},
	{"V", Voltage, 1_000_000, 1},
	{"mohm", Resistance, 1, 1000}, {"mΩ", Resistance, 1, 1000}, {"mΩ", Resistance, 1, 1000},
	{"ohm", Resistance, 1, 1}, {"Ω", Resistance, 1, 1}, {"Ω", Resistance, 1, 1},
	{"uH", Inductance, 1, 1_000_000}, {"µH", Inductance, 1, 1_000_000}, {"μH", Inductance, 1, 1_000_000},
	{"mH", Inductance, 1, 1000},
	{"H", Inductance, 1, 1},
	{"mVs/rad", Constant, 1, 1000},
	{"Vs/rad", Constant, 1, 1},
	{"gm2", Inertia, 1, 1000},
	{"kgm2", Inertia, 1, 1},
	{"mNm", Torque, 1, 1000},
	{"Nm", Torque, 1, 1},
	{"uNms/rad", Friction, 1, 1_000_000}, {"µNms/rad", Friction, 1, 1_000_000}, {"μNms/rad", Friction, 1, 1_000_000},
	{"mNms/rad", Friction, 1, 1000},
	{"Nms/rad", Friction, 1, 1},
	{"mm", Length, 1, 1000},
	{"cm", Length, 1, 100},
	{"m", Length, 1, 1},
	{"deg", Angle, 1, 1}, {"°", Angle, 1, 1},
	{"kg", Mass, 1, 1},
	{"degC", Warmth, 1, 1}, {"°C", Warmth, 1, 1},
}

// Units gives all units as files may write them, each with what it is for, in a
// sentence.
func Units() (names, means []string) {
	for _, u := range units {
		text := "A unit of " + u.of.String() + ", as in " + examples[u.of] + "."
		if first := unitsOf(u.of); len(first) > 1 {
			text += " The units of " + u.of.String() + " are " + strings.Join(first, ", ") + "."
		}
		names, means = append(names, u.name), append(means, text)
	}
	return names, means
}

// unitNamed finds a unit.
func unitNamed(name string) (unit, bool) {
	for _, u := range units {
		if u.name == name {
			return u, true
		}
	}
	return unit{}, false
}

// unitsOf lists the units of a dimension, one spelling each.
func unitsOf(d Dimension) []string {
	var names []string
	var last unit
	for _, u := range units {
		if u.of == d && (u.num != last.num || u.den != last.den) {
			names = append(names, u.name)
			last = u
		}
	}
	return names
}

// spellings lists all units of a dimension in all spellings.
func spellings(d Dimension) []string {
	var names []string
	for _, u := range units {
		if u.of == d && !slices.Contains(names, u.name) {
			names = append(names, u.name)
		}
	}
	return names
}

// dimensionNamed finds a dimension by its name, as the tag unit:"..." has it.
func dimensionNamed(name string) Dimension {
	for d, info := range dimensions {
		if info.name == name {
			return Dimension(d)
		}
	}
	panic("quantity: no dimension is called " + name)
}

func ratio(num, den int64) *big.Rat { return big.NewRat(num, den) }
