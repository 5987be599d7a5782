package tracefile

import (
	"bytes"
	"encoding/binary"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/signal"
)

// Numbers read by whole words are those that are read bit by bit, at every width, at the
// end of a page, and at the limit and one either side of it.
func TestWordsAreReadAsBits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		width := uint(rapid.IntRange(1, 64).Draw(t, "width"))
		groups := rapid.IntRange(1, 40).Draw(t, "groups")
		b := rapid.SliceOfN(rapid.Byte(), groups*int(width), groups*int(width)).Draw(t, "packed")
		n := rapid.IntRange(max(1, groups*8-7), groups*8).Draw(t, "count")
		least := rapid.Int64().Draw(t, "least")

		last, want := int64(7), []int64{7}
		for i := range n {
			last += least + int64(bitsAt(b, uint(i)*width, width))
			want = append(want, last)
		}
		require.Equal(t, want, unpackDeltas([]int64{7}, b, n, width, least))

		if width > 32 {
			return
		}
		most, plain := uint64(0), []uint32{}
		for i := range n {
			v := bitsAt(b, uint(i)*width, width)
			most, plain = max(most, v), append(plain, uint32(v))
		}
		for _, limit := range []uint64{most, most + 1, most + 2} {
			left := n
			got, rest, err := unpack[uint32](nil, b, uint64(groups), &left, width, limit)
			if limit == most {
				require.ErrorIs(t, err, errBroken)
				continue
			}
			require.NoError(t, err)
			require.Empty(t, rest)
			require.Zero(t, left)
			require.Equal(t, plain, got)
		}
	})
}

func TestRepeatFills(t *testing.T) {
	for _, n := range []int{1, 2, 3, 7, 8, 9, 1000} {
		for _, v := range []uint32{0, 1, 77} {
			left := n
			got, rest, err := repeat([]uint32{5, 9, 9, 9}[:1], binary.LittleEndian.AppendUint32(nil, v), uint64(n), &left, 32, 78)
			require.NoError(t, err)
			require.Empty(t, rest)
			require.EqualValues(t, 5, got[0])
			require.Len(t, got, n+1)
			for _, x := range got[1:] {
				require.Equal(t, v, x)
			}
		}
	}
}

// Pages of one column need not end where those of another do.
func TestPagesOfAnyLength(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		told := ramp(rapid.IntRange(1, 3000).Draw(t, "samples"))
		w := &Writer{}
		for col := range w.cut {
			w.cut[col] = rapid.SampledFrom([]int{0, 1, 7, 128, 999, 1000, 3000}).Draw(t, columns[col].name)
		}
		var file bytes.Buffer
		require.NoError(t, w.Write(&file, told))
		var r Reader
		var whole, pieces signal.Trace
		require.NoError(t, r.Read(bytes.NewReader(file.Bytes()), int64(file.Len()), &whole))
		require.Equal(t, told.Samples, whole.Samples)
		var got []signal.Sample
		require.NoError(t, r.Each(bytes.NewReader(file.Bytes()), int64(file.Len()), &pieces, func(s []signal.Sample) {
			require.Equal(t, told.End, pieces.End)
			require.Equal(t, told.Edges, pieces.Edges)
			got = append(got, s...)
		}))
		require.Equal(t, told.Samples, got)
		require.Empty(t, pieces.Samples)
		require.Equal(t, whole.Marks, pieces.Marks)
	})
}
