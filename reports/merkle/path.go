package merkle

import (
	"fmt"
	"math/bits"
)

// Path is the inclusion path of leaf i, counted from 0: the hashes that lead from it
// to the root, the nearest first (RFC 9162 section 2.1.3.1).
func Path(leaves []Hash, i int) ([]Hash, error) {
	if i < 0 || i >= len(leaves) {
		return nil, fmt.Errorf("path of leaf %d: there are %d", i, len(leaves))
	}
	return path(leaves, i), nil
}

func path(leaves []Hash, i int) []Hash {
	n := len(leaves)
	if n == 1 {
		return nil
	}
	k := 1 << (bits.Len(uint(n-1)) - 1) // the largest power of two below n
	if i < k {
		return append(path(leaves[:k], i), Root(leaves[k:]))
	}
	return append(path(leaves[k:], i-k), Root(leaves[:k]))
}

// Included says whether a path leads from leaf i of n to a root (RFC 9162 section
// 2.1.3.2).
func Included(leaf Hash, i, n int, path []Hash, root Hash) bool {
	if i < 0 || i >= n {
		return false
	}
	at, last, h := uint(i), uint(n-1), leaf
	for _, p := range path {
		if last == 0 {
			return false // longer than the tree is high
		}
		if at&1 == 0 && at != last {
			h = node(h, p)
		} else {
			h = node(p, h)
			for at&1 == 0 && at != 0 { // levels at which there was nothing to its right
				at, last = at>>1, last>>1
			}
		}
		at, last = at>>1, last>>1
	}
	return last == 0 && h == root
}
