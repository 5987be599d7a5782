package gate

import (
	"fmt"
	"time"
)

// SensorKind says what makes and breaks a line.
type SensorKind uint8

// The kinds of sensor. The numbers may be written into records: add at the end.
const (
	AnyKind SensorKind = 0 // not told
	Lever   SensorKind = 1
	Hall    SensorKind = 2
	Reed    SensorKind = 3
	Beam    SensorKind = 4
)

// A KindInfo is what there is to say of a kind of sensor.
type KindInfo struct {
	Kind    SensorKind
	Name    string
	Meaning string
	OfGate  bool // the gate moves it; otherwise it is a line of its own, such as the beam
	Bounces bool
	// Bounce from the first edge to the last, where it bounces: the mean of many
	// switches, the ordinary most, the worst that was ever measured among them.
	MeanBounce, MostBounce, WorstBounce time.Duration
	Delay                               time.Duration // from what it senses to its output, typical
	// Whence MostBounce and Delay are; empty where there are none.
	BounceFrom, DelayFrom string
}

const (
	fromSwitches = "6.2 ms: most of sixteen ordinary switches, J. Ganssle, A Guide to Debouncing"
	fromReeds    = fromSwitches + "; a reed is taken to bounce as they do"
	fromHall     = "0.4 µs: rise or fall of a unipolar Hall switch, data sheet of the Micronas HAL114"
)

// Kinds is the table of all kinds, in the order of their numbers.
//
// Bounce: J. Ganssle, A Guide to Debouncing (2004, revised 2008): mean 1.557 ms and
// most 6.2 ms over sixteen switches; the outlier of 157 ms is from memory of the
// same work. A reed is taken to bounce as a lever does. Output of a Hall switch:
// data sheet of a unipolar part (Micronas HAL114), rise or fall of at most 400 ns.
var Kinds = [...]KindInfo{
	{Lever, "lever", "a contact that a cam pushes", true, true, 1557 * time.Microsecond, 6200 * time.Microsecond, 157 * time.Millisecond, 0, fromSwitches, ""},
	{Hall, "hall", "a semiconductor that a magnet switches", true, false, 0, 0, 0, 400 * time.Nanosecond, "", fromHall},
	{Reed, "reed", "a contact that a magnet pulls", true, true, 1557 * time.Microsecond, 6200 * time.Microsecond, 157 * time.Millisecond, 0, fromReeds, ""},
	{Beam, "beam", "a light across the way that something interrupts", false, false, 0, 0, 0, 0, "", ""},
}

// String is the kind's name as files write it, such as hall.
func (k SensorKind) String() string {
	if k > 0 && int(k) <= len(Kinds) {
		return Kinds[k-1].Name
	}
	if k == AnyKind {
		return "any kind"
	}
	return fmt.Sprintf("kind %d", uint8(k))
}

// Info gives the table's entry for the kind; of one that is not told, or not
// known, only the name.
func (k SensorKind) Info() KindInfo {
	if k > 0 && int(k) <= len(Kinds) {
		return Kinds[k-1]
	}
	return KindInfo{Kind: k, Name: k.String()}
}

// KindNamed finds a kind by its name.
func KindNamed(name string) (SensorKind, bool) {
	for _, info := range Kinds {
		if info.Name == name {
			return info.Kind, true
		}
	}
	return AnyKind, false
}
