package proof

import (
	"math/bits"
	"slices"
	"time"
)

// A Cover is a part of the scenarios that catches all that the whole set catches.
type Cover struct {
	Scenarios []int         // in their order
	Took      time.Duration // of bench time, one trial each
	Smallest  bool          // it is certain that no fewer would do, nor as many in less time
}

// mostNodes bounds the search for the smallest cover. A set of some sixty
// scenarios takes some thousand.
const mostNodes = 2_000_000

// Shortest finds the fewest scenarios that catch every row that can be caught; of
// those with as few, the ones that take the least time. It is a minimum set cover,
// searched by branch and bound: first what only one scenario catches, then always
// the row with the fewest choices.
func (p *Proof) Shortest() Cover {
	s := search{proof: p, catches: make([]set, len(p.Scenarios))}
	var left set
	for row := range p.Rows {
		by := p.Rows[row].By()
		s.by = append(s.by, by)
		if len(by) > 0 {
			left = left.with(row)
		}
		for _, scenario := range by {
			s.catches[scenario] = s.catches[scenario].with(row)
		}
	}
	for _, c := range s.catches {
		s.largest = max(s.largest, c.size())
	}
	s.branch(left, nil, 0)
	slices.Sort(s.best)
	return Cover{Scenarios: s.best, Took: s.took, Smallest: s.nodes < mostNodes}
}

// search is the state of the branch and bound.
type search struct {
	proof   *Proof
	by      [][]int // of each row
	catches []set   // of each scenario
	largest int     // the most rows that any one scenario catches
	best    []int
	took    time.Duration
	found   bool
	nodes   int
}

// branch covers what is left, beyond the scenarios chosen.
func (s *search) branch(left set, chosen []int, took time.Duration) {
	s.nodes++
	if left.empty() {
		if !s.found || len(chosen) < len(s.best) || len(chosen) == len(s.best) && took < s.took {
			s.best, s.took, s.found = slices.Clone(chosen), took, true
		}
		return
	}
	if s.nodes >= mostNodes && s.found {
		return
	}
	least := len(chosen) + (left.size()+s.largest-1)/s.largest
	if s.found && (least > len(s.best) || least == len(s.best) && took >= s.took) {
		return
	}
	row := s.hardest(left)
	choices := slices.Clone(s.by[row])
	slices.SortStableFunc(choices, func(a, b int) int {
		return s.catches[b].and(left).size() - s.catches[a].and(left).size()
	})
	for _, c := range choices {
		s.branch(left.without(s.catches[c]), append(chosen, c), took+s.proof.Scenarios[c].Took)
	}
}

// hardest is the row left that the fewest scenarios catch.
func (s *search) hardest(left set) int {
	hardest := -1
	for row := range s.by {
		if left.has(row) && (hardest < 0 || len(s.by[row]) < len(s.by[hardest])) {
			hardest = row
		}
	}
	return hardest
}

// A set is one of rows. Sets never share what they are made of.
type set struct{ words []uint64 }

func (s set) with(i int) set {
	out := set{slices.Clone(s.words)}
	for len(out.words) <= i/64 {
		out.words = append(out.words, 0)
	}
	out.words[i/64] |= 1 << (i % 64)
	return out
}

func (s set) has(i int) bool { return i/64 < len(s.words) && s.words[i/64]&(1<<(i%64)) != 0 }

func (s set) and(o set) set {
	out := set{slices.Clone(s.words[:min(len(s.words), len(o.words))])}
	for i := range out.words {
		out.words[i] &= o.words[i]
	}
	return out
}

func (s set) without(o set) set {
	out := set{slices.Clone(s.words)}
	for i := range min(len(out.words), len(o.words)) {
		out.words[i] &^= o.words[i]
	}
	return out
}

func (s set) size() (n int) {
	for _, w := range s.words {
		n += bits.OnesCount64(w)
	}
	return n
}

func (s set) empty() bool { return s.size() == 0 }
