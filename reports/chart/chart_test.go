package chart

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/reports"
	"pintle/reports/reportstest"
	"pintle/rig/motion"
	"pintle/rig/need"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

var update = flag.Bool("update", false, "write the golden files anew")

const ms = signal.Instant(time.Millisecond)

// example is the chart of a scenario of the example run.
func example(t testing.TB, name string) *Chart {
	run := reportstest.Mixed()
	for i := range run.Scenarios {
		s := &run.Scenarios[i]
		if s.Name != name {
			continue
		}
		trace, err := reportstest.Source{}.Trace(run.ID, s.Name, 1)
		require.NoError(t, err)
		o := Options{Title: s.Title, Note: "run " + run.ID + ", trial 1"}
		if tr, f, ok := reports.Tightest(s); ok {
			o.Finding = &s.Trials[tr].Findings[f]
			o.Rule = s.Rules[o.Finding.Rule]
		}
		return New(trace, o)
	}
	require.Fail(t, "no such example", name)
	return nil
}

func svg(t testing.TB, c *Chart) string {
	var b bytes.Buffer
	require.NoError(t, c.SVG(&b))
	return b.String()
}

func text(t testing.TB, c *Chart, columns int, unicode bool) string {
	var b bytes.Buffer
	require.NoError(t, c.Text(&b, columns, unicode))
	return b.String()
}

func TestGolden(t *testing.T) {
	var names []string
	for _, s := range reportstest.Mixed().Scenarios {
		names = append(names, s.Name)
	}
	for _, name := range names {
		c := example(t, name)
		for file, got := range map[string]string{
			name + ".svg": svg(t, c), name + ".txt": text(t, c, 80, true), name + ".ascii": text(t, c, 72, false),
		} {
			path := filepath.Join("testdata", file)
			if *update {
				require.NoError(t, os.MkdirAll("testdata", 0o755))
				require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
			}
			want, err := os.ReadFile(path)
			require.NoError(t, err)
			assert.Equal(t, string(want), got, file)
		}
		assert.Equal(t, svg(t, c), svg(t, example(t, name)), "drawn twice")
	}
	files, err := filepath.Glob("testdata/*.*")
	require.NoError(t, err)
	require.Len(t, files, 3*len(names), "a golden file without an example, or none at all")
}

// long is a trial of 30 s at 1 kHz in which all lines change, one of them often.
func long() *signal.Trace {
	t := &signal.Trace{End: 30_000 * ms}
	seed := uint32(1)
	for at := signal.Instant(0); at < t.End; at += ms {
		seed = seed*1664525 + 1013904223
		c := signal.Current(seed>>12%400_000) - 200_000
		if at > 2000*ms && at < 17_000*ms {
			c += 4 * signal.Ampere
		}
		t.Samples = append(t.Samples, signal.Sample{From: at, To: at + ms, Current: c})
	}
	for at := signal.Instant(0); at < 30; at++ {
		for _, info := range signal.Lines {
			if info.Line == signal.Heartbeat {
				continue
			}
			n, level := signal.Instant(1), signal.Level(at%2).Not()
			if info.Line == signal.HallTravel {
				n = 40
			}
			for k := range n {
				when := at*1000*ms + signal.Instant(info.Line)*20*ms + k*12*ms
				v := level
				if n > 1 {
					v = signal.Level(k % 2).Not()
				}
				t.Edges = append(t.Edges, signal.EdgeSeen{Line: info.Line, Level: v, Span: signal.At(when)})
			}
		}
	}
	t.Marks = []signal.Mark{{At: 1000 * ms, Text: "press: remote"}, {At: 20_000 * ms, Text: "end"}}
	return t
}

func TestALongTrialWithManyLanesIsASmallFile(t *testing.T) {
	c := New(long(), Options{Title: "All lanes"})
	assert.Len(t, c.Lanes(), 17, "all but the heartbeat")
	got := svg(t, c)
	assert.Less(t, len(got), 60_000)
	if dir := os.Getenv("PINTLE_LOOK"); dir != "" {
		require.NoError(t, os.WriteFile(filepath.Join(dir, "long.svg"), []byte(got), 0o644))
	}
}

func TestAPeakOfOneSampleIsNeverLost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		trace := &signal.Trace{End: 30_000 * ms}
		peak := rapid.IntRange(0, 29_999).Draw(t, "peak")
		for i := range 30_000 {
			s := signal.Sample{From: signal.Instant(i) * ms, To: signal.Instant(i+1) * ms}
			if i == peak {
				s.Current = 9 * signal.Ampere
			}
			trace.Samples = append(trace.Samples, s)
		}
		x := func(at signal.Instant) float64 { return float64(at) / 60e6 }
		y := func(c signal.Current) float64 { return 100 - 10*c.Amperes() }
		highest := 100.0
		points := strokes(trace.Samples, 0, trace.End, x, y, 1)
		for _, p := range points[0] {
			if p.Y < highest {
				highest = p.Y
				if want := x(signal.Instant(peak) * ms); math.Abs(p.X-want) > 1 {
					t.Fatalf("peak at %v, want %v", p.X, want)
				}
			}
		}
		if highest != 10 || len(points[0]) > 4*510 {
			t.Fatalf("highest %v of %d points", highest, len(points[0]))
		}
	})
}

// A meter whose readings come with a doubt of many intervals is drawn by a pen that does not
// go back, and shows each of its readings.
func TestThePenDoesNotGoBack(t *testing.T) {
	var samples []signal.Sample
	for i := range 60 {
		at := signal.Instant(i) * 20 * ms
		samples = append(samples, signal.Sample{From: at, To: at + 400*ms, Current: signal.Current(i%7) * signal.Ampere})
	}
	x, y := func(at signal.Instant) float64 { return float64(at) / float64(4*ms) }, func(c signal.Current) float64 { return float64(c) / 1e5 }
	pens := strokes(samples, 0, 1600*ms, x, y, 1)
	require.Len(t, pens, 1)
	levels := map[float64]bool{}
	for i, p := range pens[0] {
		levels[p.Y] = true
		if i > 0 {
			require.GreaterOrEqual(t, p.X, pens[0][i-1].X, "point %d", i)
		}
	}
	require.Len(t, levels, 7)
	require.Zero(t, pens[0][0].X)
	require.Equal(t, x(59*20*ms+400*ms), pens[0][len(pens[0])-1].X)
}

func TestThePenIsLiftedWhereSamplesAreMissing(t *testing.T) {
	var samples []signal.Sample
	for i := range signal.Instant(100) {
		at := i * ms
		if i >= 50 {
			at += 5 * ms
		}
		samples = append(samples, signal.Sample{From: at, To: at + ms})
	}
	x := func(at signal.Instant) float64 { return float64(at) / 1e6 }
	y := func(signal.Current) float64 { return 0 }
	assert.Len(t, strokes(samples, 0, 200*ms, x, y, 1), 2, "a gap of five samples")
	samples = samples[:0]
	for i := range signal.Instant(100) {
		samples = append(samples, signal.Sample{From: i * ms, To: i*ms + ms})
	}
	assert.Len(t, strokes(samples, 0, 200*ms, x, y, 1), 1, "no gap")
	assert.Empty(t, strokes(nil, 0, 200*ms, x, y, 1))
}

func TestGoodNumbers(t *testing.T) {
	for want, step := range map[int64]ruling{
		1: {1, 1}, 2: {2, 1}, 3: {5, 1}, 5: {5, 1}, 6: {10, 2}, 10: {10, 2}, 11: {20, 5}, 21: {50, 10}, 51: {100, 20}, 2_000_000_001: {5_000_000_000, 1_000_000_000},
	} {
		assert.Equal(t, step, rule125(want), "at least %d", want)
	}
	var got []int64
	multiples(-7, 10, 5, func(v int64) { got = append(got, v) })
	assert.Equal(t, []int64{-5, 0, 5, 10}, got)
	for step, n := range map[int64]int{2e9: 0, 1e9: 0, 5e8: 1, 2e8: 1, 5e7: 2, 1e6: 3, 5e3: 6, 1: 9} {
		assert.Equal(t, n, decimals(step, 1e9), "step %d", step)
	}
	assert.Equal(t, "−2.50", seconds(-2500*ms, 2))
}

func finding(v rule.Verdict, least, most, limit signal.Instant) *rule.Finding {
	return &rule.Finding{
		Verdict: v, Unit: rule.Nanoseconds, Sense: rule.AtMost, Measured: true, Value: rule.Interval{Least: int64(least), Most: int64(most)},
		Limit: int64(limit), Decided: []signal.Span{signal.At(5000 * ms), {Early: 5000*ms + least, Late: 5000*ms + most}},
	}
}

func TestWindow(t *testing.T) {
	trace := &signal.Trace{End: 10_000 * ms}
	for _, c := range []struct {
		name     string
		o        Options
		from, to signal.Instant
	}{
		{"no finding", Options{}, 0, 10_000 * ms},
		{"asked for", Options{From: 20 * ms, To: 30 * ms}, 20 * ms, 30 * ms},
		{"the wrong way round", Options{From: 30 * ms, To: 20 * ms}, 0, 10_000 * ms},
		{"a tenth of the trial is enough", Options{Finding: finding(rule.Pass, 900*ms, 900*ms, 1000*ms)}, 0, 10_000 * ms},
		{"one tick less is not", Options{Finding: finding(rule.Pass, 900*ms, 900*ms, 1000*ms-1)}, 5000*ms - (1000*ms-1)/2, 5000*ms - (1000*ms-1)/2 + 3*(1000*ms-1)},
		{"a late answer is in view", Options{Finding: finding(rule.Fail, 4000*ms, 4000*ms, 100*ms)}, 0, 10_000 * ms},
		{"a limit after the end", Options{Finding: finding(rule.Pass, 1000*ms, 1000*ms, 6000*ms)}, 0, 11_000 * ms},
	} {
		from, to := New(trace, c.o).Window()
		assert.Equal(t, []signal.Instant{c.from, c.to}, []signal.Instant{from, to}, c.name)
	}
}

func TestLanes(t *testing.T) {
	trace := &signal.Trace{End: ms, Edges: []signal.EdgeSeen{{Line: signal.Heartbeat}, {Line: signal.Remote}}}
	assert.Equal(t, []signal.Line{signal.Remote, signal.OpenLimit, signal.ClosedLimit}, New(trace, Options{}).Lanes(), "those that changed, and the limits")
	named := New(trace, Options{Rule: reports.Rule{Name: "motor stopped within 1s of beam interrupted"}}).Lanes()
	assert.Contains(t, named, signal.Beam, "a line that the rule names")
	assert.Equal(t, []signal.Line{signal.Supply}, New(trace, Options{Lanes: []signal.Line{signal.Supply}}).Lanes(), "as asked")
}

func TestWhatIsWrittenBesideTheMeasurement(t *testing.T) {
	for want, f := range map[string]*rule.Finding{
		"to spare":    finding(rule.Pass, 99*ms, 100*ms, 100*ms),
		"may be over": finding(rule.Inconclusive, 99*ms, 100*ms+1, 100*ms),
		"over by up":  finding(rule.Fail, 101*ms, 102*ms, 100*ms),
	} {
		c := New(&signal.Trace{End: 10_000 * ms}, Options{Finding: f})
		assert.Contains(t, svg(t, c), want)
		assert.Equal(t, f.Verdict == rule.Fail, strings.Contains(svg(t, c), `<path class="br"`), "red pencil for a broken limit alone: %s", want)
	}
	low := finding(rule.Fail, 101*ms, 102*ms, 200*ms)
	low.Sense = rule.AtLeast
	assert.Contains(t, svg(t, New(&signal.Trace{End: 10_000 * ms}, Options{Finding: low})), "under by up to 99")
}

// A figure beside the measurement is whole or is not there: cut at the edge it would be
// another figure. The head has all of them at any width.
func TestNoFigureIsCut(t *testing.T) {
	for _, f := range []*rule.Finding{finding(rule.Pass, 99*ms, 101*ms, 150*ms), finding(rule.Fail, 740*ms, 745*ms, 200*ms), finding(rule.Inconclusive, 99*ms, 12_345*ms, 100*ms)} {
		c := New(&signal.Trace{End: 15_000 * ms}, Options{Title: "short", Finding: f})
		for columns := 40; columns <= 120; columns++ {
			drawn := text(t, c, columns, true)
			for _, whole := range []string{c.req.valueText(), c.req.marginText(), "limit " + c.req.limitText()} {
				for row := range strings.Lines(drawn) {
					row = strings.TrimRight(row, " \n")
					for n := 3; n < len(whole); n++ {
						require.False(t, strings.Contains(row, "╎") && strings.HasSuffix(row, whole[:n]), "%d columns: %q is cut in %q", columns, whole, row)
					}
				}
			}
			require.Contains(t, strings.Join(strings.Fields(drawn), " "), c.req.marginText(), columns)
		}
	}
}

func TestTheTextAlternativeTellsTheVerdict(t *testing.T) {
	got := example(t, "missed-closed-limit").Describe()
	for _, want := range []string{"FAIL: motor closing for at most 15s", "closed-limit: broken at first.", "remote: broken at first, made at 1.000 s, broken at 1.300 s.", "20000 samples"} {
		assert.Contains(t, got, want)
	}
	assert.Contains(t, New(&signal.Trace{}, Options{}).Describe(), "no samples")
}

func TestTheMotorsLane(t *testing.T) {
	c := New(&signal.Trace{End: 1000 * ms}, Options{Motor: []motion.Change{
		{Was: motion.Stopped, Is: motion.Closing, Span: signal.At(100 * ms)}, {Was: motion.Closing, Is: motion.Stopped, Span: signal.At(900 * ms)}}})
	got := svg(t, c)
	assert.Contains(t, got, ">motor</text>")
	assert.Contains(t, got, ">closing</text>")
}

// random is any trace at all, well-formed or not.
func random(t *rapid.T) (*signal.Trace, Options) {
	instant := rapid.Int64Range(-2e9, 40e9)
	span := func(name string) signal.Span {
		at := signal.Instant(instant.Draw(t, name))
		return signal.Span{Early: at, Late: at + signal.Instant(rapid.Int64Range(0, 1e9).Draw(t, "width"))}
	}
	trace := &signal.Trace{End: signal.Instant(instant.Draw(t, "end"))}
	for range rapid.IntRange(0, 30).Draw(t, "edges") {
		line := signal.Line(rapid.IntRange(1, 14).Draw(t, "line"))
		trace.Edges = append(trace.Edges, signal.EdgeSeen{Line: line, Level: signal.Level(rapid.IntRange(0, 1).Draw(t, "level")), Span: span("edge")})
	}
	for at, i := signal.Instant(0), 0; i < rapid.IntRange(0, 50).Draw(t, "samples"); i++ {
		to := at + signal.Instant(rapid.Int64Range(0, 1e9).Draw(t, "sample"))
		trace.Samples = append(trace.Samples, signal.Sample{From: at, To: to, Current: signal.Current(rapid.Int64Range(-4e7, 4e7).Draw(t, "current"))})
		at = to
	}
	for range rapid.IntRange(0, 9).Draw(t, "marks") {
		trace.Marks = append(trace.Marks, signal.Mark{At: signal.Instant(instant.Draw(t, "mark")), Text: rapid.String().Draw(t, "text")})
	}
	o := Options{Title: rapid.String().Draw(t, "title"), Note: rapid.String().Draw(t, "note")}
	if rapid.Bool().Draw(t, "with finding") {
		f := rule.Finding{
			Verdict: rule.Verdict(rapid.IntRange(0, 5).Draw(t, "verdict")), Unit: rule.Unit(rapid.IntRange(0, 3).Draw(t, "unit")),
			Sense: rule.Sense(rapid.IntRange(0, 2).Draw(t, "sense")), Measured: rapid.Bool().Draw(t, "measured"), Reason: rapid.String().Draw(t, "reason"),
			Limit: rapid.Int64Range(-1e9, 60e9).Draw(t, "limit"),
		}
		f.Value.Least = rapid.Int64Range(-1e9, 60e9).Draw(t, "least")
		f.Value.Most = f.Value.Least + rapid.Int64Range(0, 1e9).Draw(t, "more")
		for range rapid.IntRange(0, 3).Draw(t, "decided") {
			f.Decided = append(f.Decided, span("decided"))
		}
		o.Finding = &f
	}
	return trace, o
}

func TestAnythingCanBeDrawn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		trace, o := random(t)
		c := New(trace, o)
		var b bytes.Buffer
		if err := c.SVG(&b); err != nil {
			t.Fatal(err)
		}
		wellFormed(t, b.Bytes())
		if bad := noNumber.Find(b.Bytes()); bad != nil {
			t.Fatalf("no number: %s", bad)
		}
		columns := rapid.IntRange(40, 200).Draw(t, "columns")
		for _, unicode := range []bool{true, false} {
			b.Reset()
			if err := c.Text(&b, columns, unicode); err != nil {
				t.Fatal(err)
			}
			for line := range strings.Lines(b.String()) {
				if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > columns {
					t.Fatalf("%d columns of %d: %q", n, columns, line)
				}
				for _, r := range line {
					if !unicode && r > 0x7e || r < ' ' && r != '\n' {
						t.Fatalf("%q in %q", r, line)
					}
				}
			}
		}
	})
}

var noNumber = regexp.MustCompile(` (d|x|y|width|height)="[^"]*(NaN|Inf)[^"]*"`)

func wellFormed(t rapid.TB, page []byte) {
	d := xml.NewDecoder(bytes.NewReader(page))
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			return
		} else if err != nil {
			t.Fatalf("not well-formed: %v\n%s", err, page)
		}
	}
}

// librsvg is a reader of SVG that shares nothing with this project.
func TestAnOrdinaryProgramDrawsThePage(t *testing.T) {
	tool := need.Tool(t, "rsvg-convert", "apt-get install librsvg2-bin")
	lint := need.Tool(t, "xmllint", "apt-get install libxml2-utils")
	dir := t.TempDir()
	path := filepath.Join(dir, "x.svg")
	require.NoError(t, os.WriteFile(path, []byte(svg(t, example(t, "missed-closed-limit"))), 0o644))
	run(t, lint, "--noout", path)
	run(t, tool, path, "-o", filepath.Join(dir, "x.png"))
	picture, err := os.ReadFile(filepath.Join(dir, "x.png"))
	require.NoError(t, err)
	assert.Equal(t, "\x89PNG", string(picture[:4]))
}

func BenchmarkSVG(b *testing.B) {
	c := New(long(), Options{Title: "All lanes"})
	b.ReportAllocs()
	for b.Loop() {
		if err := c.SVG(io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}
