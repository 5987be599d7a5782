package fitness

import (
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat"

	"pintle/rig/uncertainty"
)

// A stream is what the arrivals of a meter's samples tell.
type stream struct {
	count     int
	lost      int           // samples that should have been there
	extra     int           // samples too many
	interval  float64       // between one sample and the next, in nanoseconds
	standard  float64       // standard uncertainty of that
	expanded  float64       // 95 %
	deviation time.Duration // of the arrivals about even ones
	swing     time.Duration // from the earliest to the latest of them
	certain   time.Duration // the same about whatever even ones they swing least about
	gap       time.Duration // longest between two samples
	gaps      int           // fewest samples that must be missing from gaps too long for one interval
}

// follow works a stream out of its readings. A sample's latency has a floor, so the
// earliest of a block of arrivals lies on a straight line; a lost sample lifts all that
// follow by an interval, a late one only itself. spread is by how much the latency may
// vary, clock by how many millionths the bench's clock may be off.
func follow(readings []reading, spread time.Duration, stated time.Duration, clock int64) (stream, error) {
	n := len(readings)
	f := stream{count: n}
	block := blockOf(spread, stated)
	if n < 4*block {
		return f, nil
	}
	at := make([]float64, n)
	for i, r := range readings {
		at[i] = float64(r.at.Sub(readings[0].at))
		if i > 0 {
			gap := r.at.Sub(readings[i-1].at)
			f.gap = max(f.gap, gap)
			if gap > stated+stated/2+spread {
				f.gaps += max(1, int((gap-spread)/stated)-1)
			}
		}
	}
	number := f.number(at, roughly(at, float64(stated), block), block)
	_, roughSlope := stat.LinearRegression(number, at, nil, false)
	number = f.number(at, roughSlope, block) // once more, now that the interval is known well
	intercept, slope := stat.LinearRegression(number, at, nil, false)
	left := make([]float64, n)
	for i := range at {
		left[i] = at[i] - (intercept + float64(slope*number[i]))
	}
	f.interval = slope
	f.deviation = time.Duration(stat.StdDev(left, nil))
	f.swing = time.Duration(slices.Max(left) - slices.Min(left))
	f.certain = leastSwing(left, number, float64(f.swing)/number[n-1])
	return f, f.doubt(number[n-1], clock)
}

// blockOf is how many samples it takes to see the floor of the latency: more than come
// in one packet.
func blockOf(spread, interval time.Duration) int { return max(32, 2*int(spread/interval)+2) }

// leastSwing tilts the line until what is left swings least, by no more than most for
// each sample: a fit by least squares is not that line. The swing is convex in the tilt,
// so thirds close in on its least.
func leastSwing(left, number []float64, most float64) time.Duration {
	swing := func(tilt float64) float64 {
		low, high := math.Inf(1), math.Inf(-1)
		for i, x := range left {
			x -= float64(tilt * number[i])
			low, high = min(low, x), max(high, x)
		}
		return high - low
	}
	a, b := -most, most
	for range 40 {
		third := (b - a) / 3
		if swing(a+third) <= swing(b-third) {
			b -= third
		} else {
			a += third
		}
	}
	return time.Duration(swing((a + b) / 2))
}

// roughly is the interval by the slope of the floor from one block to the next. Lost
// samples make it steeper, so one of the flattest counts: a meter that loses a sample
// regularly must not pass for a slower one that loses none.
func roughly(at []float64, stated float64, block int) float64 {
	over := above(at, stated)
	steps := make([]float64, 0, len(at))
	for i := 2 * block; i <= len(at); i++ {
		steps = append(steps, (slices.Min(over[i-block:i])-slices.Min(over[i-2*block:i-block]))/float64(block))
	}
	slices.Sort(steps)
	return stated + stat.Quantile(0.1, stat.Empirical, steps, nil)
}

// above is by how much each arrival is later than even ones would be.
func above(at []float64, interval float64) []float64 {
	over := make([]float64, len(at))
	for i := range at {
		over[i] = at[i] - float64(interval*float64(i))
	}
	return over
}

// number gives each sample its place in an unbroken row, and counts what is missing.
// Where samples come in packets a row of lost ones may be counted in two parts, a block
// apart, so of what is lost in the last two blocks some may go uncounted. What is lost
// in the first block or the last is not seen at all: the caller reads for longer.
func (f *stream) number(at []float64, interval float64, block int) []float64 {
	over := above(at, interval)
	number, shift := make([]float64, len(at)), 0
	f.lost, f.extra = 0, 0
	settled := block // before this, a lift has been counted
	for i := range at {
		if i >= settled && i+block <= len(at) {
			lift := (slices.Min(over[i:i+block]) - slices.Min(over[i-block:i])) / interval
			if n := int(math.Round(lift)); n != 0 {
				shift += n
				settled = i + block
				f.lost += max(0, n)
				f.extra += max(0, -n)
			}
		}
		number[i] = float64(i + shift)
	}
	return number
}

// doubt puts the interval's budget together: neither end of the stretch is known better
// than the arrivals swing, and the bench's clock has a rate of its own.
func (f *stream) doubt(intervals float64, clock int64) error {
	b := &uncertainty.Budget{Quantity: "interval of the meter", Unit: "ns", Inputs: []uncertainty.Input{
		{Name: "interval", Value: f.interval, Distribution: uncertainty.Triangular, HalfWidth: float64(f.swing+1) / intervals,
			Sensitivity: 1, Source: "both ends of the stretch lie within the swing of the arrivals"},
		{Name: "clock of the bench", Distribution: uncertainty.Rectangular, HalfWidth: f.interval * float64(clock) / 1e6,
			Sensitivity: 1, Source: "stated rate of the clock"},
	}}
	line, err := b.Linear()
	f.standard, f.expanded = line.Standard, line.Expanded
	return err
}
