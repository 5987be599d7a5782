package share_test

import (
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/share"
)

func TestPercent(t *testing.T) {
	for _, c := range []struct {
		millionths int64
		full, down string
	}{
		{0, "0 %", "0 %"},
		{1, "0.0001 %", "0 %"},
		{99, "0.0099 %", "0 %"},
		{100, "0.01 %", "0.01 %"},
		{101, "0.0101 %", "0.01 %"},
		{5_000, "0.5 %", "0.5 %"},
		{10_000, "1 %", "1 %"},
		{818_999, "81.8999 %", "81.89 %"},
		{819_000, "81.9 %", "81.9 %"},
		{950_000, "95 %", "95 %"},
		{999_999, "99.9999 %", "99.99 %"},
		{share.Whole, "100 %", "100 %"},
		{2_500_000, "250 %", "250 %"},
		{-1, "-0.0001 %", "-0.01 %"},
		{-12_300, "-1.23 %", "-1.23 %"},
	} {
		require.Equal(t, c.full, share.Percent(c.millionths))
		require.Equal(t, c.down, share.PercentDown(c.millionths))
	}
}

func TestOf(t *testing.T) {
	for x, want := range map[float64]int64{0: 0, 1: share.Whole, 0.95: 950_000, 0.07: 70_000, 4.9e-7: 0, 5e-7: 1, -0.25: -250_000} {
		require.Equal(t, want, share.Of(x), "%v", x)
	}
}

// What is written reads back as the same count.
func TestFigureReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Int64Range(-10*share.Whole, 10*share.Whole).Draw(t, "millionths")
		x, err := strconv.ParseFloat(share.Figure(n), 64)
		require.NoError(t, err)
		require.Equal(t, n, share.Of(x/100))
		y, err := strconv.ParseFloat(strings.TrimSuffix(share.PercentDown(n), " %"), 64)
		require.NoError(t, err)
		down := share.Of(y / 100)
		require.True(t, down <= n && n < down+100, "%d is %d down", n, down)
	})
}
