package shift

// A ranking is what is left of two samples when only their order counts.
type ranking struct {
	m, n  int   // sizes of A and B
	sizes []int // of the groups of equal values, from the lowest value
	u2    int64 // twice U: 2 for each pair in which A's value is above B's, 1 for each equal pair
}

func rank[T Quantity](a, b []T) ranking { // both sorted
	r := ranking{m: len(a), n: len(b)}
	for i, j := 0, 0; i < len(a) || j < len(b); {
		v, below := first(a[i:], b[j:]), j
		k := i
		for i < len(a) && a[i] == v {
			i++
		}
		for j < len(b) && b[j] == v {
			j++
		}
		r.sizes = append(r.sizes, i-k+j-below)
		r.u2 += int64(i-k) * (2*int64(below) + int64(j-below))
	}
	return r
}

// first is the least value of two sorted samples of which one may be empty.
func first[T Quantity](a, b []T) T {
	if len(b) == 0 || len(a) > 0 && a[0] <= b[0] {
		return a[0]
	}
	return b[0]
}

// untied is the ranking of samples without equal values.
func untied(m, n int) ranking {
	r := ranking{m: m, n: n, sizes: make([]int, m+n)}
	for i := range r.sizes {
		r.sizes[i] = 1
	}
	return r
}

func (r ranking) tied() bool { return len(r.sizes) < r.m+r.n }

// mean is the mean of twice U if chance alone deals the values out.
func (r ranking) mean() int64 { return int64(r.m) * int64(r.n) }

// swapped is the ranking with the samples changed over.
func (r ranking) swapped() ranking {
	return ranking{m: r.n, n: r.m, sizes: r.sizes, u2: 2*r.mean() - r.u2}
}

// furthest is how far twice U can be from its mean at most, with these groups.
func (r ranking) furthest() int64 {
	fill := func(from, step int) int64 { // A gets the groups from one end on
		left, passed, beyond := r.m, int64(0), int64(0)
		for g := from; g >= 0 && g < len(r.sizes); g += step {
			k := min(left, r.sizes[g])
			left -= k
			rest := int64(r.sizes[g] - k)
			beyond += int64(k) * (2*passed + rest)
			passed += rest
		}
		return beyond
	}
	// From the lowest up, passed are the values of B below; from the highest down,
	// those above, and U counts what is left.
	low, high := fill(0, 1), 2*r.mean()-fill(len(r.sizes)-1, -1)
	return max(r.mean()-low, high-r.mean())
}
