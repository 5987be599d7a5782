package reliability

import (
	"fmt"
	"math/bits"
	"strings"
)

// A Dimension is one thing that nature varies from trial to trial.
type Dimension uint8

// The numbers are written into records and set what is drawn: add at the end,
// never renumber. The lower a number, the more evenly its pairs are spread.
const (
	PressPhase    Dimension = 0 // of the press, against the controller's loop
	BouncePattern Dimension = 1
	Battery       Dimension = 2 // voltage
	Temperature   Dimension = 3
	Load          Dimension = 4 // on the gate: friction, wind, counterweight
	PressInstant  Dimension = 5 // where in the travel the press falls
	MeterPhase    Dimension = 6 // of the meter's samples
	Latency       Dimension = 7 // of the transport
)

// Dimensions is how many there are, named or not.
const Dimensions = 16

var dimensions = [...]string{"press-phase", "bounce-pattern", "battery", "temperature", "load", "press-instant", "meter-phase", "latency"}

// String gives the name, as it stands in JSON; those without one are numbered.
func (d Dimension) String() string {
	if int(d) < len(dimensions) {
		return dimensions[d]
	}
	return fmt.Sprintf("dimension-%d", uint8(d))
}

// MarshalText writes the name.
func (d Dimension) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads a name; an unknown one is an error.
func (d *Dimension) UnmarshalText(b []byte) error {
	for i := range Dimension(Dimensions) {
		if i.String() == string(b) {
			*d = i
			return nil
		}
	}
	return fmt.Errorf("read a dimension: there is none named %q, only %s and up to dimension-%d",
		b, strings.Join(dimensions[:], ", "), Dimensions-1)
}

// A Sequence spreads trials over what nature varies, in any number of them more
// evenly than chance would. It is Sobol's sequence with the direction numbers of
// Joe and Kuo (SIAM Journal on Scientific Computing 30, 2008, 2635-2654), scrambled
// by its value, the seed, after Owen (1995): a bit is inverted or not as a hash of
// the seed, the dimension and all bits before it says. Each trial alone is then
// spread evenly, in all dimensions, over the seeds, and sets of 2^k trials are as
// even as Sobol's. What a trial is given hangs on the seed, the trial and the
// dimension alone, in whole numbers, on every machine.
//
// Trials of one sequence are not independent of each other: they avoid each other.
// The figures of a Plan are for independent trials. For a plan without allowed
// failures this is on the safe side where the trials fall into strata of their own,
// since the product of unequal chances to pass is at most that of equal ones.
type Sequence uint64

// MaxIndex is the largest trial number of a sequence, counted from 0.
const MaxIndex = 1<<32 - 1

// Bits is what trial i, 0 to MaxIndex, is given in a dimension, as a proportion
// of 2³². Numbers outside the ranges panic.
func (s Sequence) Bits(i int, d Dimension) uint32 {
	if i < 0 || uint64(i) > MaxIndex || d >= Dimensions {
		panic(fmt.Sprintf("trial %d, %v of a sequence: it has trials 0 to %d and %d dimensions", i, d, MaxIndex, Dimensions))
	}
	return scramble(sobol(uint32(i), d), mix(uint64(s)^mix(uint64(d)+1)))
}

// Value is what trial i is given in a dimension, from 0 to below 1.
func (s Sequence) Value(i int, d Dimension) float64 { return float64(s.Bits(i, d)) / (1 << 32) }

// Between is what trial i is given in a dimension, from low to high, both among
// what may come. It panics when high is below low.
func (s Sequence) Between(i int, d Dimension, low, high int64) int64 {
	if high < low {
		panic(fmt.Sprintf("a value between %d and %d", low, high))
	}
	// 2³² parts of up to 2⁶⁴ values: the product takes 96 bits.
	span := uint64(high) - uint64(low)
	x := uint64(s.Bits(i, d))
	whole, part := bits.Mul64(span, x)
	part, carry := bits.Add64(part, x, 0) // (span+1)·x
	whole += carry
	return int64(uint64(low) + (whole<<32 | part>>32))
}

// Seed is for what is drawn within trial i in a dimension by a generator of its
// own, such as a bounce pattern.
func (s Sequence) Seed(i int, d Dimension) uint64 {
	return mix(mix(uint64(s)^mix(uint64(d)+1)) + uint64(s.Bits(i, d)) + uint64(i)<<32)
}

// scramble inverts each bit as those before it say.
func scramble(x uint32, key uint64) uint32 {
	out := x
	for bit := range 32 {
		before := uint64(x) >> (32 - bit) // none of them for the first
		if mix(key+before<<5+uint64(bit))>>63 == 1 {
			out ^= 1 << (31 - bit)
		}
	}
	return out
}

// mix is the finaliser of splitmix64 (Steele, Lea and Flood, OOPSLA 2014).
func mix(z uint64) uint64 {
	z += 0x9e3779b97f4a7c15
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// sobol is Sobol's sequence without the Gray code: which trials come in a set of
// 2^k is the same, and trial i can be had without those before.
func sobol(i uint32, d Dimension) uint32 {
	var x uint32
	for ; i != 0; i &= i - 1 {
		x ^= directions[d][bits.TrailingZeros32(i)]
	}
	return x
}

// The primitive polynomials (all coefficients but the first and last, as bits) and
// the first direction numbers of Joe and Kuo's table new-joe-kuo-6.21201, for the
// second dimension on; written from memory, and held against another library's
// copy of the table in the tests.
var joeKuo = [Dimensions]struct {
	poly  uint32
	first []uint32
}{
	{}, // van der Corput's sequence
	{0, []uint32{1}},
	{1, []uint32{1, 3}},
	{1, []uint32{1, 3, 1}},
	{2, []uint32{1, 1, 1}},
	{1, []uint32{1, 1, 3, 3}},
	{4, []uint32{1, 3, 5, 13}},
	{2, []uint32{1, 1, 5, 5, 17}},
	{4, []uint32{1, 1, 5, 5, 5}},
	{7, []uint32{1, 1, 7, 11, 19}},
	{11, []uint32{1, 1, 5, 1, 1}},
	{13, []uint32{1, 1, 1, 3, 11}},
	{14, []uint32{1, 3, 5, 5, 31}},
	{1, []uint32{1, 3, 3, 9, 7, 49}},
	{13, []uint32{1, 1, 1, 15, 21, 21}},
	{16, []uint32{1, 3, 1, 13, 27, 49}},
}

var directions = func() (all [Dimensions][32]uint32) {
	for d := range all {
		v, degree := &all[d], len(joeKuo[d].first)
		for j := range v {
			switch {
			case d == 0:
				v[j] = 1 << (31 - j)
			case j < degree:
				v[j] = joeKuo[d].first[j] << (31 - j)
			default:
				v[j] = v[j-degree] ^ v[j-degree]>>degree
				for k := 1; k < degree; k++ {
					if joeKuo[d].poly>>(degree-1-k)&1 == 1 {
						v[j] ^= v[j-k]
					}
				}
			}
		}
	}
	return all
}()
