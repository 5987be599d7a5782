package lines

import (
	"math"
	"math/bits"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func outputs(n int) []Output {
	o := make([]Output, n)
	for i := range o {
		o[i].Offset = uint32(i)
	}
	return o
}

func TestWhatTheKernelWouldRefuseIsSaid(t *testing.T) {
	for name, c := range map[string]struct {
		consumer string
		lines    []Output
		want     string
	}{
		"one":          {"pintle", outputs(1), ""},
		"most":         {"pintle", outputs(64), ""},
		"one too many": {"pintle", outputs(65), "65 lines"},
		"none":         {"pintle", nil, "0 lines"},
		"long name":    {strings.Repeat("x", 31), outputs(1), ""},
		"longer name":  {strings.Repeat("x", 32), outputs(1), "32 bytes"},
		"no name":      {"", outputs(1), "0 bytes"},
		"twice":        {"pintle", []Output{{Offset: 3}, {Offset: 3}}, "line 3 is asked for twice"},
		"bias":         {"pintle", []Output{{Offset: 3, Bias: 4}}, "there is no bias 4"},
	} {
		_, err := wantOutputs(c.consumer, c.lines)
		if c.want == "" {
			require.NoError(t, err, name)
		} else {
			require.ErrorContains(t, err, c.want, name)
		}
	}
}

func TestAllMistakesAreSaid(t *testing.T) {
	_, err := wantOutputs("", []Output{{Offset: 3}, {Offset: 3}, {Bias: 9}})
	require.ErrorContains(t, err, "twice")
	require.ErrorContains(t, err, "bias 9")
	require.ErrorContains(t, err, "0 bytes")
}

func TestBufferLimits(t *testing.T) {
	for size, want := range map[int]int{0: 1024, 1: 1, 2: 2, 3: 4, 1023: 1024, 1024: 1024} {
		w, err := wantInputs("pintle", []Input{{}}, size)
		require.NoError(t, err)
		require.Equal(t, want, buffered(w.buffer), "of %d", size)
	}
	for _, size := range []int{-1, 1025} {
		_, err := wantInputs("pintle", []Input{{}}, size)
		require.ErrorContains(t, err, "the buffer is", "of %d", size)
	}
}

// Every line is in one group, with its own flags, and the levels are its own.
func TestGroupsCoverEveryLineOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 64).Draw(t, "lines")
		lines := outputs(n)
		for i := range lines {
			lines[i].Initial = rapid.Bool().Draw(t, "initial")
			lines[i].ActiveLow = rapid.Bool().Draw(t, "low")
			lines[i].OpenDrain = rapid.Bool().Draw(t, "drain")
			lines[i].Bias = Bias(rapid.IntRange(0, 1).Draw(t, "bias"))
		}
		w, err := wantOutputs("pintle", lines)
		if err != nil {
			t.Fatal(err)
		}
		var seen uint64
		for _, g := range w.groups() {
			if g.mask == 0 || seen&g.mask != 0 {
				t.Fatalf("mask %#x beside %#x", g.mask, seen)
			}
			seen |= g.mask
			for m := g.mask; m != 0; m &= m - 1 {
				if i := bits.TrailingZeros64(m); lines[i].flags() != g.flags {
					t.Fatalf("line %d has other flags", i)
				}
			}
		}
		if bits.Len64(seen) != n || bits.OnesCount64(seen) != n {
			t.Fatalf("of %d lines, mask %#x", n, seen)
		}
		for i, l := range lines {
			if (w.initial>>i&1 == 1) != l.Initial {
				t.Fatalf("line %d begins at another level", i)
			}
		}
	})
}

func TestTooManySettings(t *testing.T) {
	lines := outputs(11)
	for i := range lines {
		lines[i].ActiveLow, lines[i].OpenDrain, lines[i].Bias = i&1 != 0, i&2 != 0, Bias(i>>2)
	}
	_, err := wantOutputs("pintle", lines[:9])
	require.NoError(t, err)
	_, err = wantOutputs("pintle", lines[:10])
	require.NoError(t, err, "nine beside the first, and the levels")
	_, err = wantOutputs("pintle", lines)
	require.ErrorContains(t, err, "11 different settings")
}

func TestGapsAreCounted(t *testing.T) {
	c := counter{}
	require.Zero(t, c.lost(1))
	require.Zero(t, c.lost(2))
	require.EqualValues(t, 1, c.lost(4))
	require.EqualValues(t, 995, c.lost(1000))
	c = counter{last: math.MaxUint32}
	require.Zero(t, c.lost(0), "numbers run over")
	c = counter{}
	require.EqualValues(t, 4, c.lost(5), "the first edges may be lost too")
}

func TestHeldNamesTheHolder(t *testing.T) {
	require.ErrorContains(t, &Held{"gpiochip0 (pinctrl-rp1)", 4, "GPIO4", "w1"}, `line 4 (GPIO4) of gpiochip0 (pinctrl-rp1) is held by "w1"`)
	require.ErrorContains(t, &Held{Chip: "c", Offset: 4}, "somebody whom the kernel does not name")
}
