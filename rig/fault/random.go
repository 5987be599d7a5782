package fault

import "math/bits"

// random is the splitmix64 generator (Steele, Lea and Flood, "Fast splittable
// pseudorandom number generators", OOPSLA 2014): integers alone, so the same
// everywhere.
type random uint64

// golden is 2^64 divided by the golden ratio, odd.
const golden = 0x9e3779b97f4a7c15

func (r *random) next() uint64 {
	*r += golden
	return mix(uint64(*r))
}

func mix(z uint64) uint64 {
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// below draws a number below n.
func (r *random) below(n uint64) uint64 { return share(n, r.next()) }

// share gives n·part/2^64, rounded down.
func share(n, part uint64) uint64 {
	high, _ := bits.Mul64(n, part)
	return high
}

// randomOf gives the generator that belongs to a seed and some numbers.
func randomOf(seed uint64, numbers ...uint64) random {
	for _, n := range numbers {
		seed = mix(seed + golden*(n+1))
	}
	return random(seed)
}
