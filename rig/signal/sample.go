package signal

import "strconv"

// Current is in microamperes. Positive drives the gate open, negative drives it
// closed; the bench file says which way round the meter is wired.
type Current int64

// Ampere is one ampere.
const Ampere Current = 1_000_000

// Amperes gives the current as a number of amperes, for printing and plotting
// only: decisions use the integer.
func (c Current) Amperes() float64 { return float64(c) / 1e6 }

// MostCurrent is the largest magnitude that is reckoned with: some 34 kA. The sum of as
// many of it as a trace may have samples, and the load that it is to any part, still have
// room. What is read beyond it is no reading.
const MostCurrent Current = 1 << 35

// Within says that the magnitude is one that is reckoned with.
func (c Current) Within() bool { return c <= MostCurrent && c >= -MostCurrent }

// Abs gives the magnitude.
func (c Current) Abs() Current {
	if c < 0 {
		return -c
	}
	return c
}

// String gives amperes with as many digits as the value has, such as 12.5 A.
func (c Current) String() string {
	return strconv.FormatFloat(c.Amperes(), 'f', -1, 64) + " A"
}

// A Sample is one reading of the current meter: the mean current over a stretch
// of time that began no earlier than From and ended no later than To. Where the
// meter's latency is not known exactly the stretch is widened by the doubt.
type Sample struct {
	From, To Instant
	Current  Current
}
