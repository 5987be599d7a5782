package merkle_test

import (
	"encoding/hex"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/reports/merkle"
)

// published are the leaves and the roots of the first 0 to 8 of them that the tests
// of Certificate Transparency use (github.com/transparency-dev/merkle, package
// testonly: LeafInputs and RootHashes). RFC 9162 keeps the hashes of RFC 6962.
var published = struct{ leaves, roots []string }{
	leaves: []string{"", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f"},
	roots: []string{
		"e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
		"6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
		"fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
		"aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
		"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
		"4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
		"76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
		"ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
		"5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
	},
}

func leaves(t require.TestingT) []merkle.Hash {
	var all []merkle.Hash
	for _, text := range published.leaves {
		b, err := hex.DecodeString(text)
		require.NoError(t, err)
		all = append(all, merkle.Leaf(b))
	}
	return all
}

func TestPublishedRoots(t *testing.T) {
	all := leaves(t)
	var tree merkle.Tree
	for n, want := range published.roots {
		require.Equal(t, want, merkle.Root(all[:n]).String(), "%d leaves", n)
		require.Equal(t, want, tree.Root().String(), "%d leaves, one by one", n)
		require.Equal(t, n, tree.Len())
		if n < len(all) {
			tree.Add(all[n])
		}
	}
}

// The inclusion proofs that the same tests publish (package testonly and the proof
// tests that came before it): leaf 0 and leaf 5 of 8, leaf 2 of 3, leaf 1 of 5.
func TestPublishedPaths(t *testing.T) {
	all := leaves(t)
	for _, c := range []struct {
		leaf, size int
		path       []string
	}{
		{0, 8, []string{
			"96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
			"5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
			"6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4"}},
		{5, 8, []string{
			"bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
			"ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
			"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7"}},
		{2, 3, []string{"fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125"}},
		{1, 5, []string{
			"6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
			"5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
			"bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b"}},
	} {
		path, err := merkle.Path(all[:c.size], c.leaf)
		require.NoError(t, err)
		var got []string
		for _, h := range path {
			got = append(got, h.String())
		}
		require.Equal(t, c.path, got, "leaf %d of %d", c.leaf, c.size)
	}
}

// Every leaf of every small tree is included where it is, and nowhere else.
func TestEachLeafIsAtOnePlace(t *testing.T) {
	var all []merkle.Hash
	for n := 1; n <= 33; n++ {
		all = append(all, merkle.Leaf(fmt.Append(nil, n)))
		root := merkle.Root(all)
		for i := range all {
			path, err := merkle.Path(all, i)
			require.NoError(t, err)
			for j := -1; j <= n; j++ {
				require.Equal(t, i == j, merkle.Included(all[i], j, n, path, root), "leaf %d as %d of %d", i, j, n)
			}
			require.False(t, merkle.Included(all[i], i, n, append(path, root), root), "a longer path")
			if len(path) > 0 {
				require.False(t, merkle.Included(all[i], i, n, path[1:], root), "a shorter path")
			}
		}
	}
	_, err := merkle.Path(all, 33)
	require.Error(t, err)
	_, err = merkle.Path(nil, 0)
	require.Error(t, err)
	require.False(t, merkle.Included(merkle.Hash{}, 0, 0, nil, merkle.Root(nil)))
}

func TestNoOtherPathIncludes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 300).Draw(t, "leaves")
		i := rapid.IntRange(0, n-1).Draw(t, "leaf")
		all := make([]merkle.Hash, n)
		for k := range all {
			all[k] = merkle.Leaf(fmt.Append(nil, k))
		}
		root := merkle.Root(all)
		path, err := merkle.Path(all, i)
		require.NoError(t, err)
		require.True(t, merkle.Included(all[i], i, n, path, root))
		leaf := all[i]
		bit := rapid.IntRange(0, 256*(len(path)+2)-1).Draw(t, "bit")
		at, mask := bit/8%32, byte(1)<<(bit%8)
		switch which := bit / 256; which {
		case len(path):
			leaf[at] ^= mask
		case len(path) + 1:
			root[at] ^= mask
		default:
			path[which][at] ^= mask
		}
		require.False(t, merkle.Included(leaf, i, n, path, root))
	})
}

func TestParse(t *testing.T) {
	h := merkle.Leaf(nil)
	got, err := merkle.Parse(h.String())
	require.NoError(t, err)
	require.Equal(t, h, got)
	for _, bad := range []string{"", "6e34", h.String() + "0", "6E340B9CFFB37A989CA544E6BB780A2C78901D3FB33738768511A30617AFA01D", "zz" + h.String()[2:]} {
		_, err := merkle.Parse(bad)
		require.Error(t, err, bad)
	}
}

func BenchmarkTree(b *testing.B) {
	leaf := merkle.Leaf(nil)
	b.ReportAllocs()
	var t merkle.Tree
	for b.Loop() {
		t.Add(leaf)
	}
	_ = t.Root()
}
