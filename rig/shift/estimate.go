package shift

import "slices"

// An Estimate is how far B's values lie above A's.
type Estimate struct {
	Shift   int64 // median of all differences of a value of B and one of A
	Low     int64 // an interval of the shift; both 0 where there is none
	High    int64
	Covered bool    // there are values enough for such an interval
	Reached float64 // the confidence that the interval really has, at least the one asked for
}

// mostSide is how many values of a side are taken; of more, evenly spaced ones by
// their order.
const mostSide = 2000

// HodgesLehmann estimates the shift between two samples (Hodges and Lehmann, Annals of
// Mathematical Statistics 34, 1963, 598-611), with the interval of shifts that the
// Mann-Whitney test would not reject. It is exact without ties and errs to the safe
// side with them. Confidence is a proportion.
func HodgesLehmann(a, b []int64, confidence float64) Estimate {
	a, b = thinned(a), thinned(b)
	m, n := len(a), len(b)
	if m == 0 || n == 0 {
		return Estimate{}
	}
	d := make([]int64, 0, m*n)
	for _, x := range a {
		for _, y := range b {
			d = append(d, y-x)
		}
	}
	slices.Sort(d)
	e := Estimate{Shift: middle(d)}
	if k, reached, ok := cut(m, n, confidence); ok {
		e.Low, e.High, e.Covered, e.Reached = d[k], d[len(d)-1-k], true, reached
	}
	return e
}

// middle is the median, between two the mean rounded towards the lower.
func middle(sorted []int64) int64 {
	n := len(sorted)
	low, high := sorted[(n-1)/2], sorted[n/2]
	return low + (high-low)/2
}

func thinned(sample []int64) []int64 {
	if len(sample) <= mostSide {
		return sample
	}
	sorted := slices.Sorted(slices.Values(sample))
	kept := make([]int64, mostSide)
	for i := range kept {
		kept[i] = sorted[int64(2*i+1)*int64(len(sorted))/(2*mostSide)]
	}
	return kept
}

// cut is how many differences may be left out at each end, and what confidence is
// then reached. It is not ok where even the whole range does not reach it.
func cut(m, n int, confidence float64) (k int, reached float64, ok bool) {
	if m*n*min(m, n) > mostWork/50 {
		return normalCut(m, n, confidence)
	}
	counts := ways(m, n)
	total := 0.0
	for _, c := range counts {
		total += c
	}
	// With k differences left out at an end, the true shift lies beyond with the
	// probability of a U under k.
	tail := 0.0
	for ; 2*k < m*n && 2*(tail+counts[k]/total) <= 1-confidence; k++ {
		tail += counts[k] / total
	}
	if k == 0 {
		return 0, 0, false
	}
	return k - 1, 1 - 2*tail, true
}
