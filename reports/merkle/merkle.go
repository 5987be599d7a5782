package merkle

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
)

// A Hash is the digest of a leaf, of a node or of the whole.
type Hash [sha256.Size]byte

// String is the hash in lower-case hexadecimal digits.
func (h Hash) String() string { return hex.EncodeToString(h[:]) }

// Parse reads 64 lower-case hexadecimal digits.
func Parse(s string) (Hash, error) {
	var h Hash
	if len(s) != 2*len(h) {
		return h, fmt.Errorf("a hash of %d digits, where there are %d", len(s), 2*len(h))
	}
	if _, err := hex.Decode(h[:], []byte(s)); err != nil {
		return h, fmt.Errorf("read a hash: %w", err)
	}
	if h.String() != s {
		return h, fmt.Errorf("a hash is written in lower case, not as %s", s)
	}
	return h, nil
}

// Leaf is the hash of a text: the byte 0 goes before it, so that no leaf can be
// taken for a node.
func Leaf(text []byte) Hash {
	d := sha256.New()
	d.Write([]byte{0})
	d.Write(text)
	var h Hash
	d.Sum(h[:0])
	return h
}

// node is the hash of what two parts of a tree come to.
func node(left, right Hash) Hash {
	var b [1 + 2*sha256.Size]byte
	b[0] = 1
	copy(b[1:], left[:])
	copy(b[1+sha256.Size:], right[:])
	return sha256.Sum256(b[:])
}

// A Tree takes leaves one after the other. It keeps one hash for each binary digit
// of their number. The zero value is a tree without leaves.
type Tree struct {
	n     int
	parts []Hash // whole trees, the largest first, one for each binary one in n
}

// Add puts a leaf at the end.
func (t *Tree) Add(leaf Hash) {
	t.parts = append(t.parts, leaf)
	for n := t.n; n&1 == 1; n >>= 1 {
		last := len(t.parts) - 1
		t.parts[last-1] = node(t.parts[last-1], t.parts[last])
		t.parts = t.parts[:last]
	}
	t.n++
}

// Len is the number of leaves.
func (t *Tree) Len() int { return t.n }

// Root is the tree hash of the leaves so far.
func (t *Tree) Root() Hash {
	if t.n == 0 {
		return sha256.Sum256(nil)
	}
	root := t.parts[len(t.parts)-1]
	for i := len(t.parts) - 2; i >= 0; i-- {
		root = node(t.parts[i], root)
	}
	return root
}

// Root is the tree hash of all leaves.
func Root(leaves []Hash) Hash {
	var t Tree
	for _, l := range leaves {
		t.Add(l)
	}
	return t.Root()
}
