package waveform_test

import (
	"bytes"
	"encoding/csv"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/reports/waveform"
	"pintle/rig/motion"
	"pintle/rig/need"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

var update = flag.Bool("update", false, "write the golden files anew")

// trace is a short trial of a barrier.
func trace() *signal.Trace {
	t := &signal.Trace{End: 9000}
	t.Initial[signal.ClosedLimit] = signal.Made
	t.Edges = []signal.EdgeSeen{
		{Line: signal.Supply, Level: signal.Made, Span: signal.At(0)},
		{Line: signal.Remote, Level: signal.Made, Span: signal.Span{Early: 1400, Late: 1600}},
		{Line: signal.ClosedLimit, Level: signal.Broken, Span: signal.At(5000)},
		{Line: signal.Remote, Level: signal.Broken, Span: signal.At(8500)},
	}
	for i, c := range []signal.Current{-10_000, 0, 1_250_000, 1_250_000, -30 * signal.Ampere} {
		from := signal.Instant(1000*i - 1000)
		t.Samples = append(t.Samples, signal.Sample{From: from, To: from + 1200, Current: c})
	}
	t.Marks = []signal.Mark{{At: 1400, Text: `press "remote", twice`}, {At: 8600, Text: "the\nscript $end ends: ≥ 1 A"}}
	return t
}

func dump(t require.TestingT, tr *signal.Trace, scope string) *dumped {
	var b bytes.Buffer
	require.NoError(t, waveform.VCD(&b, tr, scope))
	d, err := parse(b.String())
	require.NoError(t, err)
	return d
}

func TestVCD(t *testing.T) {
	d := dump(t, trace(), "missed-closed-limit/1")
	require.Equal(t, "1ns", d.scale)
	require.Equal(t, []string{"missed_closed_limit_1"}, d.scopes)
	require.Equal(t, map[string][]string{
		"supply":       {"0=0", "0=1"},
		"remote":       {"0=0", "1500=1", "8500=0"},
		"closed_limit": {"0=1", "5000=0"},
		// The first reading's middle lies before the origin: it is so at zero.
		"motor_current_A": {"0=0", "0=-0.01", "600=0", "1600=1.25", "3600=-30"},
	}, d.values)
	require.Equal(t, []string{`1400=press "remote", twice`, "8600=the script _end ends: ≥ 1 A"}, d.comments)
	require.Equal(t, int64(9000), d.end, "the end of the trial is there")
	for id := range d.names {
		require.Len(t, id, 1)
		require.True(t, id[0] > ' ' && id[0] < 0x7F, "identifier %q", id)
	}
}

func TestVCDOfNothing(t *testing.T) {
	d := dump(t, &signal.Trace{}, "")
	require.Equal(t, []string{"t"}, d.scopes)
	require.Equal(t, []string{"motor_current_A"}, d.sortedNames())
	require.Equal(t, int64(0), d.end)
}

// Every line there can be has an identifier of its own.
func TestVCDOfEveryLine(t *testing.T) {
	tr := &signal.Trace{}
	for l := signal.Line(1); l < signal.LineCount; l++ {
		tr.Initial[l] = signal.Made
	}
	require.Len(t, dump(t, tr, "all").names, signal.LineCount)
}

// The current is written exactly, whatever it is.
func TestCurrentsInAmperes(t *testing.T) {
	for _, c := range []signal.Current{1, -1, 10, 999_999, 1_000_000, -1_000_001, 1_250_000, 15 * signal.Ampere, math.MaxInt64, math.MinInt64} {
		d := dump(t, &signal.Trace{Samples: []signal.Sample{{From: 5, To: 5, Current: c}}}, "a")
		got := d.values["motor_current_A"][1]
		whole, part, _ := strings.Cut(strings.TrimPrefix(got, "5="), ".")
		micro, err := strconv.ParseInt(whole+part+strings.Repeat("0", 6-len(part)), 10, 64)
		require.NoError(t, err)
		require.Equal(t, int64(c), micro, got)
	}
}

// Whatever a trace holds, the dump is a dump, and each wire ends at the level of
// its last edge in the order of time.
func TestAnyTraceIsADump(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tr := &signal.Trace{End: signal.Instant(rapid.Int64Range(-5, 50).Draw(t, "end"))}
		at := rapid.Int64Range(-10, 60)
		span := func() signal.Span {
			a := at.Draw(t, "at")
			return signal.Span{Early: signal.Instant(a), Late: signal.Instant(a + rapid.Int64Range(0, 9).Draw(t, "width"))}
		}
		for range rapid.IntRange(0, 12).Draw(t, "edges") {
			tr.Edges = append(tr.Edges, signal.EdgeSeen{
				Line: signal.Line(rapid.IntRange(1, 3).Draw(t, "line")), Level: signal.Level(rapid.IntRange(0, 1).Draw(t, "level")), Span: span()})
		}
		for range rapid.IntRange(0, 12).Draw(t, "samples") {
			s := span()
			tr.Samples = append(tr.Samples, signal.Sample{From: s.Early, To: s.Late, Current: signal.Current(rapid.IntRange(-2, 2).Draw(t, "current"))})
		}
		for range rapid.IntRange(0, 3).Draw(t, "marks") {
			tr.Marks = append(tr.Marks, signal.Mark{At: signal.Instant(at.Draw(t, "at")), Text: rapid.String().Draw(t, "text")})
		}
		d := dump(t, tr, rapid.String().Draw(t, "scope"))
		require.Len(t, d.comments, len(tr.Marks))
		for l := signal.Line(1); l <= 3; l++ {
			level, latest, changed := tr.Initial[l], signal.Instant(-1<<62), false
			for _, e := range tr.Edges {
				if e.Line == l && e.Span.Mid() >= latest {
					level, latest, changed = e.Level, e.Span.Mid(), true
				}
			}
			if v := d.values[strings.ReplaceAll(l.String(), "-", "_")]; changed {
				require.True(t, strings.HasSuffix(v[len(v)-1], fmt.Sprintf("=%d", level)), "%v: %v", l, v)
			}
		}
		var b bytes.Buffer
		require.NoError(t, waveform.CSV(&b, tr))
		rows, err := csv.NewReader(&b).ReadAll()
		require.NoError(t, err)
		require.Len(t, rows, 1+signal.LineCount-1+len(tr.Edges)+len(tr.Samples)+len(tr.Marks)+1)
	})
}

// Another program reads the dump and writes what it understood: GTKWave's
// converters.
func TestVCDIsReadByAnotherProgram(t *testing.T) {
	tool := need.Tool(t, "vcd2fst", "apt-get install gtkwave")
	back := need.Tool(t, "fst2vcd", "apt-get install gtkwave")
	dir := t.TempDir()
	in, out := filepath.Join(dir, "a.vcd"), filepath.Join(dir, "a.fst")
	var b bytes.Buffer
	require.NoError(t, waveform.VCD(&b, trace(), "a"))
	require.NoError(t, os.WriteFile(in, b.Bytes(), 0o600))
	text, err := exec.Command(tool, in, out).CombinedOutput()
	require.NoError(t, err, "%s", text)
	again, err := exec.Command(back, out).Output()
	require.NoError(t, err)
	got, err := parse(string(again))
	require.NoError(t, err)
	require.Equal(t, "1ns", got.scale)
	want := dump(t, trace(), "a")
	require.Equal(t, want.sortedNames(), got.sortedNames())
	for name, values := range want.values {
		// What changes twice at zero may be told once.
		if strings.HasPrefix(values[1], "0=") {
			values = values[1:]
		}
		require.Equal(t, values, tidy(t, got.values[name]), name)
	}
}

// tidy puts values in the shortest form of reals, and leaves out what changes twice
// at one time.
func tidy(t *testing.T, values []string) []string {
	var out []string
	for _, v := range values {
		at, value, _ := strings.Cut(v, "=")
		f, err := strconv.ParseFloat(value, 64)
		require.NoError(t, err)
		v = at + "=" + strconv.FormatFloat(f, 'f', -1, 64)
		if n := len(out); n > 0 && strings.HasPrefix(out[n-1], at+"=") {
			out = out[:n-1]
		}
		out = append(out, v)
	}
	return out
}

func TestCSV(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, waveform.CSV(&b, trace()))
	rows, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	require.Equal(t, strings.Split(waveform.Heading, ","), rows[0])
	require.Equal(t, []string{"level", "0", "0", "closed-limit", "1", "", ""}, rows[signal.ClosedLimit])
	require.Equal(t, [][]string{
		{"sample", "-1000", "200", "", "", "-10000", ""},
		{"edge", "0", "0", "supply", "1", "", ""},
		{"sample", "0", "1200", "", "", "0", ""},
		{"sample", "1000", "2200", "", "", "1250000", ""},
		{"mark", "1400", "1400", "", "", "", `press "remote", twice`},
		{"edge", "1400", "1600", "remote", "1", "", ""},
		{"sample", "2000", "3200", "", "", "1250000", ""},
		{"sample", "3000", "4200", "", "", "-30000000", ""},
		{"edge", "5000", "5000", "closed-limit", "0", "", ""},
		{"edge", "8500", "8500", "remote", "0", "", ""},
		{"mark", "8600", "8600", "", "", "", "the\nscript $end ends: ≥ 1 A"},
		{"end", "9000", "9000", "", "", "", ""},
	}, rows[signal.LineCount:])
}

// Golden files of both forms.
func TestGolden(t *testing.T) {
	forms := map[string]func(io.Writer) error{
		"trial.vcd":       func(w io.Writer) error { return waveform.VCD(w, trace(), "button-held/1") },
		"trial.lanes.vcd": func(w io.Writer) error { return waveform.VCD(w, trace(), "trial/1", lanes()...) },
		"trial.csv":       func(w io.Writer) error { return waveform.CSV(w, trace()) },
	}
	if *update {
		for name, write := range forms {
			var b bytes.Buffer
			require.NoError(t, write(&b))
			require.NoError(t, os.WriteFile(filepath.Join("testdata", name), b.Bytes(), 0o644))
		}
	}
	files, err := filepath.Glob("testdata/trial.*")
	require.NoError(t, err)
	require.Len(t, files, len(forms), "golden files under testdata; were they moved?")
	for _, file := range files {
		var b bytes.Buffer
		require.NoError(t, forms[filepath.Base(file)](&b))
		want, err := os.ReadFile(file)
		require.NoError(t, err)
		assert.Equal(t, string(want), b.String(), file)
	}
}

var errFull = errors.New("full")

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errFull }

func TestErrorsOfTheWriterAreTold(t *testing.T) {
	require.ErrorIs(t, waveform.VCD(full{}, trace(), "a"), errFull)
	require.ErrorIs(t, waveform.CSV(full{}, trace()), errFull)
}

// The yardstick is strconv alone: the digits of three columns.
func BenchmarkWrite(b *testing.B) {
	tr := &signal.Trace{End: 1e12}
	for i := range 1_000_000 {
		at := signal.Instant(i) * 1_000_000
		tr.Samples = append(tr.Samples, signal.Sample{From: at, To: at + 1_200_000, Current: signal.Current(i%4096) * 5000})
	}
	for name, write := range map[string]func() error{
		"vcd": func() error { return waveform.VCD(io.Discard, tr, "a") },
		"csv": func() error { return waveform.CSV(io.Discard, tr) },
		"digits": func() error {
			var line []byte
			for _, s := range tr.Samples {
				line = strconv.AppendInt(line[:0], int64(s.From), 10)
				line = strconv.AppendInt(line, int64(s.To), 10)
				line = strconv.AppendInt(line, int64(s.Current), 10)
			}
			_, err := io.Discard.Write(line)
			return err
		},
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if err := write(); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(len(tr.Samples))*float64(b.N)/b.Elapsed().Seconds()/1e6, "Msamples/s")
		})
	}
}

// lanes are what was made out of the trace of the short trial.
func lanes() []waveform.Lane {
	at := func(a, b int64) signal.Span {
		return signal.Span{Early: signal.Instant(a), Late: signal.Instant(b)}
	}
	motor := []motion.Change{{Is: motion.Stopped, Span: at(0, 200)}, {Was: motion.Stopped, Is: motion.Opening, Span: at(1000, 2200)}, {Was: motion.Opening, Is: motion.Closing, Span: at(3000, 4200)}, {Was: motion.Closing, Is: motion.Unknown, Span: at(8000, 8000)}}
	findings := []rule.Finding{
		{Rule: 0, Verdict: rule.Pass, Decided: []signal.Span{at(1400, 1600), at(1000, 2200)}},
		{Rule: 1, Verdict: rule.Inconclusive},
		{Rule: 7, Verdict: rule.Fail, Decided: []signal.Span{at(9100, 9100)}}}
	return append(waveform.MotorLanes(motor), waveform.FindingLanes(findings, []string{"motor opening within 1 s: of remote", ""})...)
}

func TestLanes(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, waveform.VCD(&b, trace(), "a", lanes()...))
	d, err := parse(b.String())
	require.NoError(t, err)
	require.Equal(t, []string{"a", "seen"}, d.scopes)
	plain := dump(t, trace(), "a")
	for name, values := range plain.values {
		require.Equal(t, values, d.values[name], "what the trace has is as without lanes")
	}
	require.Equal(t, []string{"0=x", "100=0", "1600=1", "3600=0", "8000=x"}, d.values["motor_opening"])
	require.Equal(t, []string{"0=x", "100=0", "1600=0", "3600=1", "8000=x"}, d.values["motor_closing"])
	require.Equal(t, []string{"0=0", "1500=1", "1600=0"}, d.values["rule_1_motor_opening_within_1_s_of_remote_pass"])
	require.Equal(t, []string{"0=0", "9100=1", "9101=0"}, d.values["rule_8_fail"], "after the end of the trial as well")
	require.Len(t, d.names, len(plain.names)+4, "a rule that nothing decided has no lane")
}

// Both of GTKWave's converters read a dump with lanes.
func TestLanesAreReadByOtherPrograms(t *testing.T) {
	in := filepath.Join(t.TempDir(), "a.vcd")
	var b bytes.Buffer
	require.NoError(t, waveform.VCD(&b, trace(), "a", lanes()...))
	require.NoError(t, os.WriteFile(in, b.Bytes(), 0o600))
	for tool, back := range map[string]string{"vcd2fst": "fst2vcd", "vcd2lxt2": "lxt2vcd"} {
		tool, back = need.Tool(t, tool, "apt-get install gtkwave"), need.Tool(t, back, "apt-get install gtkwave")
		out := in + filepath.Base(tool)
		text, err := exec.Command(tool, in, out).CombinedOutput()
		require.NoError(t, err, "%s: %s", tool, text)
		again, err := exec.Command(back, out).Output()
		require.NoError(t, err)
		got, err := parse(string(again))
		require.NoError(t, err)
		name := "motor_closing"
		require.Equal(t, []string{"0=x", "100=0", "3600=1", "8000=x"}, slices.DeleteFunc(slices.Clone(got.values[name]), func(v string) bool { return v == "1600=0" }), tool)
	}
}
