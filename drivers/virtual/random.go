package virtual

import (
	"math/bits"
	"time"
)

// random is the splitmix64 generator (Steele, Lea and Flood, OOPSLA 2014):
// integers only, so alike everywhere.
type random uint64

func (r *random) next() uint64 {
	*r += 0x9e3779b97f4a7c15
	return mix(uint64(*r))
}

// mix is splitmix64's finisher. It also makes independent seeds out of one.
func mix(z uint64) uint64 {
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// below scales 64 random bits to a duration in [0, n); zero if n is not positive.
func below(bits64 uint64, n time.Duration) time.Duration {
	if n <= 0 {
		return 0
	}
	high, _ := bits.Mul64(bits64, uint64(n))
	return time.Duration(high)
}

// byteSum adds the eight bytes of x. For random x it is near to normal, with
// mean byteSumMean and deviation byteSumSigma, and reaches 4.9 deviations.
func byteSum(x uint64) int64 {
	const even = 0x00ff00ff00ff00ff
	pairs := x&even + x>>8&even
	return int64(pairs * 0x0001000100010001 >> 48)
}

const (
	byteSumMean  = 8 * 255 / 2.0
	byteSumSigma = 209.02152999152983 // sqrt(8 (256²-1)/12)
)
