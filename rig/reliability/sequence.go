package reliability

import (
	"fmt"
	"math/bits"
	"strings"
)

// A Dimension is one thing that nature varies from trial to trial.
type Dimension uint8

// The numbers are written into records and set what is drawn: add at the end,
// never renumber. Three that follow each other from a multiple of three on are also
// spread evenly together.
const (
	PressPhase    Dimension = 0 // of the press, against the controller's loop
	PressInstant  Dimension = 1 // where in the travel the press falls
	BouncePattern Dimension = 2
	Battery       Dimension = 3 // voltage
	Temperature   Dimension = 4
	Load          Dimension = 5 // on the gate: friction, wind, counterweight
	MeterPhase    Dimension = 6 // of the meter's samples
	Latency       Dimension = 7 // of the transport
)

// Dimensions is how many there are, named or not.
const Dimensions = 16

var dimensions = [...]string{"press-phase", "press-instant", "bounce-pattern", "battery", "temperature", "load", "meter-phase", "latency"}

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
// evenly than chance would. It is the first three dimensions of Sobol's sequence
// (USSR Computational Mathematics and Mathematical Physics 7, 1967, 86-112; direction
// numbers of Joe and Kuo, SIAM Journal on Scientific Computing 30, 2008, 2635-2654),
// once for every three dimensions here. Within each three the values are scrambled
// after Owen (1995): a bit is inverted or not as a hash of the seed, the dimension
// and all bits before it says. The trials are put in an order of the three's own by
// the same means. Its value is the seed.
//
// Further dimensions of Sobol's are not used, because some pairs of them are far
// worse than chance for some 60 trials, as many as are made here. Of all trials from a
// multiple of 2^k on, 2^k lie in as many strata of each dimension; two dimensions of
// different threes go together as in a Latin hypercube.
//
// What a trial is given hangs on the seed, the trial and the dimension alone, in
// whole numbers, on every machine; over the seeds it is spread evenly.
//
// Trials of one sequence are not independent of each other: they avoid each other.
// The figures of a Plan and of a Sequential test are for independent trials, which
// Chance gives. With a Sequence, a controller that fails wherever one thing, or
// things of one three, lie in some range is found out far more often than they say.
// One whose failures hang on the sum of two things of different threes may be
// accepted more often: the tests found 6.2 % in place of 4.85 % for 95/95. Where a
// confidence is to be stated whatever the failure hangs on, draw with Chance; to find
// a weak spot soon, with a Sequence.
type Sequence uint64

// MaxIndex is the largest trial number of a sequence, counted from 0.
const MaxIndex = 1<<32 - 1

// Bits is what trial i, 0 to MaxIndex, is given in a dimension, as a proportion
// of 2³². Numbers outside the ranges panic.
func (s Sequence) Bits(i int, d Dimension) uint32 {
	checkDraw(i, d)
	trial := scramble(uint32(i), key(s, Dimensions+uint64(d)/sobolDimensions))
	return scramble(sobol(trial, d%sobolDimensions), key(s, uint64(d)))
}

// Value is what trial i is given in a dimension, from 0 to below 1.
func (s Sequence) Value(i int, d Dimension) float64 { return float64(s.Bits(i, d)) / (1 << 32) }

// Between is what trial i is given in a dimension, from low to high, both among
// what may come. It panics when high is below low.
func (s Sequence) Between(i int, d Dimension, low, high int64) int64 {
	return between(s.Bits(i, d), low, high)
}

// Seed is for what is drawn within trial i in a dimension by a generator of its
// own, such as a bounce pattern.
func (s Sequence) Seed(i int, d Dimension) uint64 {
	return mix(key(s, uint64(d)) + uint64(i)<<32 + uint64(s.Bits(i, d)))
}

func key[S ~uint64](s S, use uint64) uint64 { return mix(uint64(s) ^ mix(use+1)) }

func checkDraw(i int, d Dimension) {
	if i < 0 || uint64(i) > MaxIndex || d >= Dimensions {
		panic(fmt.Sprintf("trial %d, %v: there are trials 0 to %d and %d dimensions", i, d, uint64(MaxIndex), Dimensions))
	}
}

// between spreads 2³² parts over up to 2⁶⁴ values: the product takes 96 bits.
func between(x uint32, low, high int64) int64 {
	if high < low {
		panic(fmt.Sprintf("a value between %d and %d", low, high))
	}
	whole, part := bits.Mul64(uint64(high)-uint64(low), uint64(x))
	part, carry := bits.Add64(part, uint64(x), 0) // one more value than high-low
	return int64(uint64(low) + (whole+carry)<<32 + part>>32)
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

// sobolDimensions is how many of Sobol's are used.
const sobolDimensions = 3

// sobol is Sobol's sequence without the Gray code: which trials come in a set of
// 2^k is the same, and trial i can be had without those before.
func sobol(i uint32, d Dimension) uint32 {
	var x uint32
	for ; i != 0; i &= i - 1 {
		x ^= directions[d][bits.TrailingZeros32(i)]
	}
	return x
}

// The first is van der Corput's sequence; the others have the primitive polynomials
// x+1 and x²+x+1, with first numbers 1 and 1, 3 (written from memory; the tests hold
// them against another library's copy of the table).
var directions = func() (all [sobolDimensions][32]uint32) {
	for j := range 32 {
		all[0][j] = 1 << (31 - j)
		switch j {
		case 0:
			all[1][j], all[2][j] = 1<<31, 1<<31
		case 1:
			all[1][j], all[2][j] = all[1][0]^all[1][0]>>1, 3<<30
		default:
			all[1][j] = all[1][j-1] ^ all[1][j-1]>>1
			all[2][j] = all[2][j-1] ^ all[2][j-2] ^ all[2][j-2]>>2
		}
	}
	return all
}()
