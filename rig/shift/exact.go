package shift

import "math"

// A law is how twice U is distributed if chance alone deals the values of both
// samples out, the groups of equal values being what they are.
type law interface {
	lower(u2 int64) float64   // probability of at most this
	upper(u2 int64) float64   // of at least this
	outside(by int64) float64 // of being at least this far from the mean
}

const (
	mostWork = 1 << 27 // additions spent on one exact distribution, two tenths of a second or so
	mostWays = 1e300   // ways to deal the values out, still a float64
)

// An exact law counts the ways to deal the values out. Counts up to 2^53 are exact;
// above it, each of the additions of positive numbers costs half a unit in the last
// place at most, and twelve digits or more of every probability are right.
type exact struct {
	ways  []float64 // ways[i] have twice U = i·unit
	unit  int64     // 2 if twice U is always even
	mean  int64     // of twice U
	total float64
}

// affordable says whether the exact law of a ranking is worked out. It always is
// where m·n is at most 10 000.
func (r ranking) affordable() bool {
	return r.work() <= mostWork && choose(r.m+r.n, r.m) <= mostWays
}

// count works the law out, by a table that grows by one group of equal values at a
// time: of the first i values j belong to A, and twice U is so far s, in
// table[j][s] ways. If k of the next t equal values belong to A, each of them is
// above the i-j values of B so far, and equal to t-k. (The shift algorithm of
// Streitberg and Röhmel, Statistical Software Newsletter 12, 1986, 10-17, here in U
// rather than in sums of ranks.)
func (r ranking) count() *exact {
	unit := r.unit()
	table, next := rows{}, rows{}
	table.reset(r, 0, unit)
	table.row(0)[0] = 1
	i := 0
	for _, t := range r.sizes {
		next.reset(r, i+t, unit)
		for j := table.least; j <= table.most; j++ {
			from := table.row(j)
			for k := max(0, next.least-j); k <= min(t, next.most-j); k++ {
				by := (2*k*(i-j) + k*(t-k)) / unit
				add(next.row(j + k)[by:], from, choose(t, k))
			}
		}
		table, next = next, table
		i += t
	}
	e := &exact{ways: table.row(r.m), unit: int64(unit), mean: r.mean()}
	for _, w := range e.ways {
		e.total += w
	}
	return e
}

// add adds times·from to the head of to.
func add(to, from []float64, times float64) {
	to = to[:len(from)]
	for s, w := range from {
		to[s] += float64(times * w)
	}
}

// unit is what all values of twice U are multiples of: k of t equal values cost
// k·(t-k), which is even for every k if t is odd.
func (r ranking) unit() int {
	for _, t := range r.sizes {
		if t%2 == 0 {
			return 1
		}
	}
	return 2
}

// bounds gives the least and the greatest number of A's among the first i values.
func (r ranking) bounds(i int) (least, most int) { return max(0, i-r.n), min(i, r.m) }

// work is the number of additions that count does, or some number above mostWork.
func (r ranking) work() int64 {
	unit, sum, i := int64(r.unit()), int64(0), 0
	for _, t := range r.sizes {
		least, most := r.bounds(i)
		nextLeast, nextMost := r.bounds(i + t)
		for j := least; j <= most && sum <= mostWork; j++ {
			ways := min(t, nextMost-j) - max(0, nextLeast-j) + 1
			sum += int64(ways) * (2*int64(j)*int64(i-j)/unit + 1)
		}
		i += t
	}
	return sum
}

// rows are the table for the first i values: a row for each number j of A's among
// them, of the length that twice U can then reach.
type rows struct {
	least, most int
	starts      []int
	cells       []float64
}

func (w *rows) reset(r ranking, i, unit int) {
	w.least, w.most = r.bounds(i)
	w.starts = append(w.starts[:0], 0)
	end := 0
	for j := w.least; j <= w.most; j++ {
		end += 2*j*(i-j)/unit + 1
		w.starts = append(w.starts, end)
	}
	if cap(w.cells) < end {
		w.cells = make([]float64, end, 2*end)
	}
	w.cells = w.cells[:end]
	clear(w.cells)
}

func (w *rows) row(j int) []float64 {
	return w.cells[w.starts[j-w.least]:w.starts[j-w.least+1]]
}

func (e *exact) lower(u2 int64) float64 {
	sum := 0.0
	for i := int64(0); i < int64(len(e.ways)) && i*e.unit <= u2; i++ {
		sum += e.ways[i]
	}
	return min(1, sum/e.total)
}

func (e *exact) upper(u2 int64) float64 {
	sum := 0.0
	for i := int64(len(e.ways)) - 1; i >= 0 && i*e.unit >= u2; i-- {
		sum += e.ways[i]
	}
	return min(1, sum/e.total)
}

func (e *exact) outside(by int64) float64 {
	if by <= 0 {
		return 1
	}
	return min(1, e.lower(e.mean-by)+e.upper(e.mean+by))
}

// choose is the number of ways to take k of n things, +Inf where a float64 cannot
// hold it. Below 2^53 it is exact: what is divided is always divisible.
func choose(n, k int) float64 {
	k = min(k, n-k)
	c := 1.0
	for i := 1; i <= k && !math.IsInf(c, 1); i++ {
		c = float64(c*float64(n-k+i)) / float64(i)
	}
	return c
}
