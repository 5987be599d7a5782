package shift

import (
	"math"
	"slices"
	"sync"
)

// A Test is what MannWhitney found.
type Test struct {
	U     float64 // pairs of which B's value is the larger; a tie counts half
	P     float64 // two-sided probability of a U at least as far from its mean, were both samples of one distribution
	Exact bool    // P was counted, not approximated
	Ties  bool
}

// mostWork is how many additions a count may take before the normal approximation
// is used instead: a tenth of a second or so.
const mostWork = 150_000_000

// MannWhitney compares two samples by their ranks (Mann and Whitney, Annals of
// Mathematical Statistics 18, 1947, 50-60). Up to some 80 values a side P is exact,
// ties included: it counts all ways to deal the values out to the two samples. Beyond
// that it is the normal approximation with the corrections for ties and for
// continuity. Ties so few that they take less than a thousandth off the variance
// are counted as if there were none, which is on the safe side. Two-sided means: at
// least as far from the mean, on either side. An empty sample tells nothing: P is 1.
func MannWhitney(a, b []int64) Test {
	m, n := len(a), len(b)
	if m == 0 || n == 0 {
		return Test{P: 1, Exact: true}
	}
	groups, w := ranked(a, b)
	t := Test{U: float64(w-int64(n)*int64(n+1)) / 2, Ties: len(groups) < m+n}
	mean := int64(n) * int64(m+n+1) // of the doubled rank sum
	away := max(w-mean, mean-w)
	switch {
	case away == 0:
		t.P, t.Exact = 1, true
	case lost(groups, m+n) < 1e-3 && m*n*min(m, n) <= mostWork/50:
		t.P, t.Exact = plain(m, n, away), true
	case work(groups, min(m, n)) <= mostWork:
		t.P, t.Exact = tied(groups, m, n, away), true
	default:
		t.P = approximate(groups, m, n, float64(away)/2)
	}
	return t
}

// lost is the part of the variance that ties take off.
func lost(groups []group, all int) float64 {
	ties := 0.0
	for _, g := range groups {
		t := float64(g.size)
		ties += t*t*t - t
	}
	return ties / (float64(all) * (float64(all)*float64(all) - 1))
}

// A group is values that are equal: how many, and twice the rank that each has.
type group struct {
	size int
	rank int64
}

// ranked gives the groups in the order of their values, and twice the sum of b's
// ranks. Of equal values each has the mean of their ranks, which doubled is whole.
func ranked(a, b []int64) (groups []group, w int64) {
	type value struct {
		x   int64
		inB bool
	}
	all := make([]value, 0, len(a)+len(b))
	for _, x := range a {
		all = append(all, value{x, false})
	}
	for _, x := range b {
		all = append(all, value{x, true})
	}
	slices.SortFunc(all, func(p, q value) int {
		switch {
		case p.x < q.x:
			return -1
		case p.x > q.x:
			return 1
		}
		return 0
	})
	for i := 0; i < len(all); {
		j, inB := i, int64(0)
		for ; j < len(all) && all[j].x == all[i].x; j++ {
			if all[j].inB {
				inB++
			}
		}
		g := group{j - i, int64(i + 1 + j)} // first and last rank of the group
		groups, w = append(groups, g), w+inB*g.rank
		i = j
	}
	return groups, w
}

// plain is the probability without ties. It counts the ways to each U by the usual
// recurrence, once for each pair of sizes.
func plain(m, n int, away int64) float64 {
	counts := ways(m, n)
	total, far := 0.0, 0.0
	for u, c := range counts {
		total += c
		if d := int64(2*u - m*n); d >= away || -d >= away {
			far += c
		}
	}
	return min(1, far/total)
}

var known sync.Map // of [2]int to []float64

// ways counts for each U from 0 to m·n how often it comes among all ways to deal
// m + n different values out. The counts of an m one smaller are shifted by n and
// added to those of an n one smaller.
func ways(m, n int) []float64 {
	m, n = max(m, n), min(m, n)
	key := [2]int{m, n}
	if c, ok := known.Load(key); ok {
		return c.([]float64)
	}
	row := make([][]float64, n+1) // for the present m, by n
	for j := range row {
		row[j] = []float64{1}
	}
	for i := 1; i <= m; i++ {
		next := make([][]float64, n+1)
		next[0] = []float64{1}
		for j := 1; j <= n; j++ {
			c := make([]float64, i*j+1)
			for u, x := range row[j] { // the largest value is a's: it exceeds all j of b
				c[u+j] += x
			}
			for u, x := range next[j-1] { // the largest is b's
				c[u] += x
			}
			next[j] = c
		}
		row = next
	}
	known.Store(key, row[n])
	return row[n]
}

// work is about how many additions tied takes.
func work(groups []group, take int) int {
	top := int64(0)
	for _, g := range groups {
		top = max(top, g.rank)
	}
	total := 0
	for _, g := range groups {
		total += min(g.size, take)
	}
	return total * take * take * int(top) / 2
}

// tied is the probability with ties: of each group any number of values may be b's.
// The smaller sample is the one that is dealt.
func tied(groups []group, m, n int, away int64) float64 {
	take := min(m, n)
	// By how many values have been dealt and by the sum of their ranks, in how many
	// ways. Ranks are doubled and counted from the smallest, which changes every sum of
	// as many values by the same.
	base := groups[0].rank
	top := make([]int, take+1) // largest sum so far
	sums := make([][]float64, take+1)
	span := int(groups[len(groups)-1].rank-base) * take
	all := make([]float64, (take+1)*(span+1))
	for k := range sums {
		sums[k], top[k] = all[k*(span+1):(k+1)*(span+1)], -1
	}
	sums[0][0], top[0] = 1, 0
	for _, g := range groups {
		for k := take; k > 0; k-- {
			for t := 1; t <= min(g.size, k); t++ {
				if top[k-t] < 0 {
					continue
				}
				by, ways := t*int(g.rank-base), choices(g.size, t)
				from, to := sums[k-t][:top[k-t]+1], sums[k][by:]
				for s, x := range from {
					to[s] += float64(ways * x)
				}
				top[k] = max(top[k], top[k-t]+by)
			}
		}
	}
	mean := int64(take)*int64(m+n+1) - int64(take)*base
	total, far := 0.0, 0.0
	for s, c := range sums[take][:top[take]+1] {
		total += c
		if d := int64(s) - mean; d >= away || -d >= away {
			far += c
		}
	}
	return min(1, far/total)
}

func choices(n, k int) float64 {
	c := 1.0
	for i := range min(k, n-k) {
		c = math.Round(c * float64(n-i) / float64(i+1))
	}
	return c
}

// approximate is the normal approximation, with the variance less for ties (Lehmann,
// Nonparametrics, 1975) and half a step taken off for continuity.
func approximate(groups []group, m, n int, away float64) float64 {
	variance := float64(m) * float64(n) / 12 * float64(m+n+1) * (1 - lost(groups, m+n))
	if variance <= 0 {
		return 1
	}
	z := max(0, away-0.5) / math.Sqrt(variance)
	return min(1, math.Erfc(z/math.Sqrt2))
}
