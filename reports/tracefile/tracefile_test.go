package tracefile

import (
	"bytes"
	"errors"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/signal"
)

// ramp makes a trace of n samples at 1 kHz with a little jitter, as a meter of
// 12 bits might give them, and a few edges and marks.
func ramp(n int) *signal.Trace {
	t := &signal.Trace{End: signal.Instant(n) * 1_000_000}
	t.Initial[signal.ClosedLimit] = signal.Made
	t.Edges = []signal.EdgeSeen{
		{Line: signal.Remote, Level: signal.Made, Span: signal.At(100_000_000)},
		{Line: signal.ClosedLimit, Level: signal.Broken, Span: signal.Span{Early: 400_000_000, Late: 400_000_900}},
		{Line: signal.Remote, Level: signal.Broken, Span: signal.At(600_000_000)},
	}
	t.Marks = []signal.Mark{{At: 100_000_000, Text: "press the remote"}, {At: 100_000_000, Text: "await ≥ 1 A: öffnend"}}
	rng := uint64(1)
	next := func(n uint64) int64 {
		rng ^= rng << 13
		rng ^= rng >> 7
		rng ^= rng << 17
		return int64(rng % n)
	}
	for i := range n {
		at := signal.Instant(i)*1_000_000 + signal.Instant(next(41))
		c := signal.Current(7_500_000/5000+next(60)+next(60)) * 5000
		t.Samples = append(t.Samples, signal.Sample{From: at, To: at + 1_200_000, Current: c})
	}
	return t
}

// encode gives the file of a trace.
func encode(t require.TestingT, tr *signal.Trace) []byte {
	var b bytes.Buffer
	require.NoError(t, Write(&b, tr))
	return b.Bytes()
}

// same says that two traces are equal; an empty list may be nil.
func same(t require.TestingT, want, got *signal.Trace) {
	require.Equal(t, want.Initial, got.Initial)
	require.Equal(t, want.End, got.End)
	require.Equal(t, len(want.Edges), len(got.Edges))
	require.Equal(t, len(want.Marks), len(got.Marks))
	require.Equal(t, len(want.Samples), len(got.Samples))
	for i := range want.Edges {
		require.Equal(t, want.Edges[i], got.Edges[i])
	}
	for i := range want.Marks {
		require.Equal(t, want.Marks[i], got.Marks[i])
	}
	for i, s := range want.Samples {
		if s != got.Samples[i] {
			require.Equal(t, s, got.Samples[i], "sample %d", i)
		}
	}
}

func roundTrip(t require.TestingT, tr *signal.Trace) {
	b := encode(t, tr)
	got, err := Read(bytes.NewReader(b), int64(len(b)))
	require.NoError(t, err)
	same(t, tr, got)
	require.Equal(t, b, encode(t, got), "reading and writing again gives the same bytes")
}

// instants are any that are reckoned with, with the extremes often among them.
var instants = rapid.OneOf(
	rapid.Int64Range(-int64(signal.Farthest), int64(signal.Farthest)), rapid.Int64Range(-1000, 1000),
	rapid.SampledFrom([]int64{-int64(signal.Farthest), -1, 0, 1, int64(signal.Farthest)}))

func instant(t *rapid.T, label string) signal.Instant { return signal.Instant(instants.Draw(t, label)) }

func span(t *rapid.T) signal.Span {
	a, b := instant(t, "one"), instant(t, "other")
	return signal.Span{Early: min(a, b), Late: max(a, b)}
}

func TestAnyTraceComesBackExactly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tr := &signal.Trace{End: instant(t, "end")}
		for l := signal.Line(1); l < signal.LineCount; l++ {
			tr.Initial[l] = signal.Level(rapid.IntRange(0, 1).Draw(t, "level"))
		}
		for range rapid.IntRange(0, 40).Draw(t, "edges") {
			tr.Edges = append(tr.Edges, signal.EdgeSeen{
				Line:  signal.Line(rapid.IntRange(1, signal.LineCount-1).Draw(t, "line")),
				Level: signal.Level(rapid.IntRange(0, 1).Draw(t, "level")),
				Span:  span(t)})
		}
		for range rapid.IntRange(0, 10).Draw(t, "marks") {
			tr.Marks = append(tr.Marks, signal.Mark{At: instant(t, "at"), Text: strings.ToValidUTF8(rapid.String().Draw(t, "text"), "?")})
		}
		for range rapid.IntRange(0, 300).Draw(t, "samples") {
			at, most := span(t), int64(signal.MostCurrent)
			tr.Samples = append(tr.Samples, signal.Sample{From: at.Early, To: at.Late, Current: signal.Current(rapid.Int64Range(-most, most).Draw(t, "current"))})
		}
		roundTrip(t, tr)
	})
}

// Instants and currents with which a reckoning would run over are refused, by the writer
// and, in a file that another wrote, by the reader: turned round they might keep a rule.
func TestWhatReckoningWouldRunOverIsRefused(t *testing.T) {
	far, most := signal.Farthest, signal.MostCurrent
	rapid.Check(t, func(t *rapid.T) {
		tr := ramp(3)
		one := rapid.OneOf(rapid.Int64(), rapid.SampledFrom([]int64{math.MinInt64, math.MinInt64 + 1, -int64(far) - 1, -int64(far), int64(far), int64(far) + 1,
			-int64(most) - 1, -int64(most), int64(most), int64(most) + 1, math.MaxInt64 - 1, math.MaxInt64}))
		x, y := signal.Instant(one.Draw(t, "x")), signal.Instant(one.Draw(t, "y"))
		c := signal.Current(one.Draw(t, "current"))
		good := x >= -far && x <= far
		whole := good && y >= x && y <= far
		switch rapid.IntRange(0, 4).Draw(t, "of") {
		case 0:
			tr.Samples[1].From, tr.Samples[1].To = x, y
			good = whole
		case 1:
			tr.Samples[1].Current, good = c, c >= -most && c <= most
		case 2:
			tr.Edges[1].Span = signal.Span{Early: x, Late: y}
			good = whole
		case 3:
			tr.Marks[1].At = x
		case 4:
			tr.End = x
		}
		var b bytes.Buffer
		require.NoError(t, new(Writer).write(&b, tr))
		_, err := Read(bytes.NewReader(b.Bytes()), int64(b.Len()))
		told := Write(&bytes.Buffer{}, tr)
		if good {
			require.NoError(t, err)
			require.NoError(t, told)
			return
		}
		require.ErrorIs(t, err, ErrNotTrace)
		require.Error(t, told)
	})
}

func TestSizesAtThePageAndGroupLimits(t *testing.T) {
	for _, n := range []int{0, 1, 7, 8, 9, 127, 128, 129, 130, pageRows - 1, pageRows, pageRows + 1, groupRows, groupRows + 1} {
		tr := ramp(n)
		b := encode(t, tr)
		got, err := Read(bytes.NewReader(b), int64(len(b)))
		require.NoError(t, err, "%d samples", n)
		same(t, tr, got)
	}
}

func TestManyEdgesTakeSeveralGroups(t *testing.T) {
	tr := &signal.Trace{}
	for i := range groupRows + 5 {
		tr.Edges = append(tr.Edges, signal.EdgeSeen{
			Line: signal.HallTravel, Level: signal.Level(i & 1), Span: signal.At(signal.Instant(i))})
	}
	tr.Marks = append(tr.Marks, signal.Mark{At: 1, Text: "in the second group"})
	b := encode(t, tr)
	got, err := Read(bytes.NewReader(b), int64(len(b)))
	require.NoError(t, err)
	require.Equal(t, tr, got)
}

func TestManyDifferentCurrents(t *testing.T) {
	for _, n := range []int{maxDict, maxDict + 1} {
		tr := ramp(n)
		for i := range tr.Samples {
			tr.Samples[i].Current = signal.Current(i * 3)
		}
		b := encode(t, tr)
		got, err := Read(bytes.NewReader(b), int64(len(b)))
		require.NoError(t, err)
		same(t, tr, got)
	}
}

func TestWriterAndReaderLeaveNothingBehind(t *testing.T) {
	var w Writer
	var r Reader
	var got signal.Trace
	for _, n := range []int{5000, 10, 0, 70000, 3} {
		tr := ramp(n)
		if n == 0 {
			tr.Marks = nil
		}
		var b bytes.Buffer
		require.NoError(t, w.Write(&b, tr))
		require.Equal(t, encode(t, tr), b.Bytes(), "a used writer writes as a new one does")
		require.NoError(t, r.Read(bytes.NewReader(b.Bytes()), int64(b.Len()), &got))
		same(t, tr, &got)
	}
}

func TestWriterRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		trace signal.Trace
		want  string
	}{
		"no line":   {signal.Trace{Edges: []signal.EdgeSeen{{Level: 1}}}, "edge 0"},
		"odd line":  {signal.Trace{Edges: []signal.EdgeSeen{{Line: signal.LineCount}}}, "edge 0"},
		"odd level": {signal.Trace{Edges: []signal.EdgeSeen{{Line: 1, Level: 2}}}, "to level 2"},
		"initial":   {signal.Trace{Initial: [signal.LineCount]signal.Level{1: 2}}, "remote begins at level 2"},
		"no-line 0": {signal.Trace{Initial: [signal.LineCount]signal.Level{0: 1}}, "line 0 begins"},
		"not UTF-8": {signal.Trace{Marks: []signal.Mark{{Text: "a\xff"}}}, "mark 0 is not UTF-8"},
		"long":      {signal.Trace{Marks: []signal.Mark{{Text: strings.Repeat("x", maxTextLen+1)}}}, "bytes of text"},
	} {
		t.Run(name, func(t *testing.T) {
			var b bytes.Buffer
			require.ErrorContains(t, Write(&b, &c.trace), c.want)
			require.Zero(t, b.Len(), "nothing may be written")
		})
	}
}

// A stubborn writer takes only so many bytes.
type stubborn struct{ left int }

func (s *stubborn) Write(b []byte) (int, error) {
	if len(b) > s.left {
		n := s.left
		s.left = 0
		return n, io.ErrShortWrite
	}
	s.left -= len(b)
	return len(b), nil
}

func TestWriterTellsOfEveryFailure(t *testing.T) {
	tr := ramp(500)
	whole := len(encode(t, tr))
	for n := range whole {
		require.ErrorIs(t, Write(&stubborn{n}, tr), io.ErrShortWrite, "after %d bytes", n)
	}
	require.NoError(t, Write(&stubborn{whole}, tr))
}

func TestReaderRefusesEveryTruncation(t *testing.T) {
	b := encode(t, ramp(500))
	for n := range b {
		_, err := Read(bytes.NewReader(b[:n]), int64(n))
		require.ErrorIs(t, err, ErrNotTrace, "cut to %d bytes", n)
	}
	// A file that is shorter than it was said to be.
	_, err := Read(bytes.NewReader(b[:100]), int64(len(b)))
	require.ErrorIs(t, err, ErrNotTrace)
}

// A changed byte is caught by a check, or does not matter to what is read.
func TestReaderAndChangedBytes(t *testing.T) {
	tr := ramp(300)
	b := encode(t, tr)
	caught := 0
	for i := range b {
		for _, flip := range []byte{1, 0x80, 0xFF} {
			c := bytes.Clone(b)
			c[i] ^= flip
			got, err := Read(bytes.NewReader(c), int64(len(c)))
			if err != nil {
				require.ErrorIs(t, err, ErrNotTrace)
				caught++
				continue
			}
			same(t, tr, got)
		}
	}
	require.Greater(t, caught, len(b), "most changes must be caught")
}

func TestReaderKeepsItsLimit(t *testing.T) {
	tr := ramp(1000)
	b := encode(t, tr)
	var got signal.Trace
	rows := eventRows(tr) + len(tr.Samples)
	require.NoError(t, (&Reader{Limit: rows}).Read(bytes.NewReader(b), int64(len(b)), &got))
	err := (&Reader{Limit: rows - 1}).Read(bytes.NewReader(b), int64(len(b)), &got)
	require.ErrorIs(t, err, ErrNotTrace)
	require.Empty(t, got.Samples)
}

func TestReaderPassesOnErrorsOfTheFile(t *testing.T) {
	broken := errors.New("the disk is gone")
	_, err := Read(failing{broken}, 1000)
	require.ErrorIs(t, err, broken)
	require.NotErrorIs(t, err, ErrNotTrace)
}

type failing struct{ err error }

func (f failing) ReadAt([]byte, int64) (int, error) { return 0, f.err }
