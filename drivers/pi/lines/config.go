package lines

import (
	"errors"
	"fmt"
)

const (
	// MostLines is how many lines one request can hold: GPIO_V2_LINES_MAX.
	MostLines = 64
	// MostBuffered is the most edges that the kernel keeps for one request:
	// 16 for each of MostLines.
	MostBuffered = 16 * MostLines
	// usualBuffer holds over a second of a bouncing contact on every line.
	usualBuffer = MostBuffered
	// longestName is what the kernel keeps of the name of who holds a line.
	longestName = 31
)

// Bias is the pull that the chip itself puts on a line.
type Bias uint8

const (
	AsWired  Bias = 0 // leave it as it is
	PullUp   Bias = 1
	PullDown Bias = 2
	NoPull   Bias = 3
)

// An Output is a line to be driven.
type Output struct {
	Offset    uint32 // on the chip; the number behind "GPIO" on a Raspberry Pi
	Initial   bool   // the logical level from the first moment on
	ActiveLow bool   // logically true is the low voltage
	OpenDrain bool   // the high voltage is left to a pull-up
	Bias      Bias
}

// An Input is a line to be sensed, both edges of it.
type Input struct {
	Offset    uint32
	ActiveLow bool
	Bias      Bias
}

// The flags and attributes of the interface, from include/uapi/linux/gpio.h.
const (
	flagUsed        = 1 << 0
	flagActiveLow   = 1 << 1
	flagInput       = 1 << 2
	flagOutput      = 1 << 3
	flagEdgeRising  = 1 << 4
	flagEdgeFalling = 1 << 5
	flagOpenDrain   = 1 << 6
	flagPullUp      = 1 << 8
	flagPullDown    = 1 << 9
	flagNoPull      = 1 << 10
)

// mostGroups is how many different sets of flags one request can hold beside the
// first and the initial levels: GPIO_V2_LINE_NUM_ATTRS_MAX is 10.
const mostGroups = 10

func (b Bias) flags() uint64 {
	return [...]uint64{AsWired: 0, PullUp: flagPullUp, PullDown: flagPullDown, NoPull: flagNoPull}[b]
}

func when(is bool, flag uint64) uint64 {
	if is {
		return flag
	}
	return 0
}

func (o Output) flags() uint64 {
	return flagOutput | when(o.ActiveLow, flagActiveLow) | when(o.OpenDrain, flagOpenDrain) | o.Bias.flags()
}

func (i Input) flags() uint64 {
	return flagInput | flagEdgeRising | flagEdgeFalling | when(i.ActiveLow, flagActiveLow) | i.Bias.flags()
}

// A want is a request before it is laid out for the kernel. Bit n of a mask stands
// for the n-th line.
type want struct {
	consumer string
	offsets  []uint32
	flags    []uint64
	initial  uint64
	outputs  bool
	buffer   uint32
}

func wantOutputs(consumer string, outputs []Output) (want, error) {
	w := want{consumer: consumer, outputs: true}
	var errs []error
	for n, o := range outputs {
		if o.Bias > NoPull {
			errs = append(errs, fmt.Errorf("line %d: there is no bias %d", o.Offset, o.Bias))
			continue
		}
		w.offsets = append(w.offsets, o.Offset)
		w.flags = append(w.flags, o.flags())
		if o.Initial && n < MostLines {
			w.initial |= 1 << n
		}
	}
	return w, errors.Join(append(errs, w.check())...)
}

func wantInputs(consumer string, inputs []Input, buffer int) (want, error) {
	w := want{consumer: consumer, buffer: usualBuffer}
	var errs []error
	if buffer != 0 {
		w.buffer = uint32(buffer)
	}
	if buffer < 0 || buffer > MostBuffered {
		errs = append(errs, fmt.Errorf("the buffer is %d edges, and must be from 1 to %d, or 0 for the most", buffer, MostBuffered))
	}
	for _, i := range inputs {
		if i.Bias > NoPull {
			errs = append(errs, fmt.Errorf("line %d: there is no bias %d", i.Offset, i.Bias))
			continue
		}
		w.offsets = append(w.offsets, i.Offset)
		w.flags = append(w.flags, i.flags())
	}
	return w, errors.Join(append(errs, w.check())...)
}

// check finds what the kernel would refuse with nothing but EINVAL.
func (w want) check() error {
	var errs []error
	if len(w.offsets) == 0 || len(w.offsets) > MostLines {
		errs = append(errs, fmt.Errorf("%d lines are asked for, and must be from 1 to %d", len(w.offsets), MostLines))
	}
	if w.consumer == "" || len(w.consumer) > longestName {
		errs = append(errs, fmt.Errorf("the holder's name %q has %d bytes, and must have from 1 to %d", w.consumer, len(w.consumer), longestName))
	}
	seen := map[uint32]bool{}
	for _, o := range w.offsets {
		if seen[o] {
			errs = append(errs, fmt.Errorf("line %d is asked for twice", o))
		}
		seen[o] = true
	}
	if n := len(w.groups()); n > mostGroups {
		errs = append(errs, fmt.Errorf("the lines have %d different settings, and one request can hold %d", n, mostGroups))
	}
	return errors.Join(errs...)
}

// A group is the lines of a request that have the same flags.
type group struct {
	flags, mask uint64
}

// groups gives the lines by their flags, in the order in which these first appear.
func (w want) groups() (groups []group) {
next:
	for n, f := range w.flags {
		for g := range groups {
			if groups[g].flags == f {
				groups[g].mask |= 1 << n
				continue next
			}
		}
		groups = append(groups, group{f, 1 << n})
	}
	return groups
}

// buffered is how many edges the kernel really keeps where it is asked for n: the
// next power of two (its kfifo_alloc rounds up).
func buffered(n uint32) int {
	size := 1
	for size < int(n) {
		size *= 2
	}
	return size
}
