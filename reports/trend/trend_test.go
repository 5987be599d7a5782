package trend

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"pintle/reports"
	"pintle/rig/need"
	"pintle/rig/rule"
)

// kept is a source of runs in memory.
type kept []*reports.Run

func (k kept) Part(id string, scenarios ...string) (*reports.Run, error) {
	for _, run := range k {
		if run.ID != id {
			continue
		}
		part := *run
		part.Scenarios = slices.Clone(run.Scenarios)
		for i := range part.Scenarios {
			if !slices.Contains(scenarios, part.Scenarios[i].Name) {
				part.Scenarios[i].Trials = nil
			}
		}
		return &part, nil
	}
	return nil, errors.New("no such run")
}

func (k kept) ids() (ids []string) {
	for _, run := range k {
		ids = append(ids, run.ID)
	}
	return ids
}

const ms = int64(time.Millisecond)

// stops is a run of the boatyard's barrier whose boom stopped after so many
// milliseconds in each trial.
func stops(n int, limit int64, values ...int64) *reports.Run {
	run := &reports.Run{ID: fmt.Sprintf("run-%d", n), Began: time.Date(2031, 5, n, 9, 0, 0, 0, time.UTC),
		Controller: reports.Controller{Board: "tide board", Firmware: fmt.Sprintf("2.%d", n)},
		Scenarios: []reports.Scenario{{Name: "normal-cycle", Rules: []reports.Rule{
			{Name: "motor stopped within claim stop time", Claims: []string{"stop time"}}, {Name: "motor moving only after remote is pressed"}}}}}
	for i, v := range values {
		f := rule.Finding{Rule: 0, Verdict: rule.BySpan(rule.Interval{Least: v*ms - ms, Most: v*ms + ms}, limit*ms, rule.AtMost),
			Unit: rule.Nanoseconds, Sense: rule.AtMost, Measured: true, Value: rule.Interval{Least: v*ms - ms, Most: v*ms + ms}, Limit: limit * ms, Exercised: 1}
		run.Scenarios[0].Trials = append(run.Scenarios[0].Trials, reports.Trial{Number: i + 1, Verdict: f.Verdict,
			Findings: []rule.Finding{f, {Rule: 1, Verdict: rule.Pass, Exercised: 1}}})
	}
	return run
}

func story() kept {
	void := stops(3, 150, 100)
	void.Scenarios[0].Trials[0].Verdict = rule.Void
	return kept{stops(1, 150, 101, 99, 104), stops(2, 150, 110, 112), void, stops(4, 140, 120, 139, 121, 118), stops(5, 140, 130, 160, 131)}
}

func TestPoints(t *testing.T) {
	runs := story()
	got, err := Of(runs, runs.ids(), "Stop Time")
	require.NoError(t, err)
	require.Len(t, got.Series, 1)
	s := got.Series[0]
	require.Equal(t, []int{0: 1, 1: 5}, []int{s.Number, len(s.Points)})
	for i, want := range []struct {
		trials, n             int
		median, worst, margin int64
		verdict               rule.Verdict
	}{
		{3, 3, 101, 104, 45, rule.Pass},
		{2, 2, 111, 112, 37, rule.Pass},
		{1, 0, 0, 0, 0, rule.Void}, // what a void trial measured is no value
		{4, 4, 120, 139, 0, rule.Pass},
		{3, 3, 131, 160, -21, rule.Fail},
	} {
		p := s.Points[i]
		if i == 3 {
			want.median = 120
			require.Equal(t, 120*ms+ms/2, p.Median, "half-way between the two in the middle")
			p.Median = 120 * ms
		}
		require.Equal(t, want.trials, p.Trials, i)
		require.Equal(t, want.n, p.Measured, i)
		require.Equal(t, []int64{want.median * ms, want.worst * ms, want.margin * ms}, []int64{p.Median, p.Worst, p.Margin}, i)
		require.Equal(t, want.verdict, p.Verdict, i)
	}
}

func TestWhatIsMeant(t *testing.T) {
	runs := story()
	for what, want := range map[string]int{"stop time": 1, "normal-cycle": 2, "normal-cycle/1": 1, "NORMAL-CYCLE/only after": 1, "normal-cycle/motor": 2} {
		got, err := Of(runs, runs.ids(), what)
		require.NoError(t, err, what)
		require.Len(t, got.Series, want, what)
	}
	for _, what := range []string{"", "stop", "normal-cycle/3", "normal-cycle/nothing", "/1"} {
		_, err := Of(runs, runs.ids(), what)
		require.ErrorIs(t, err, ErrUnknown, what)
		var u *Unknown
		require.ErrorAs(t, err, &u)
		require.Equal(t, []string{"normal-cycle", "stop time"}, u.Known)
	}
	_, err := Of(runs, []string{"none"}, "stop time")
	require.ErrorContains(t, err, "no such run")
}

// A trial that says nothing of the rule is never a pass.
func TestSilenceIsNoPass(t *testing.T) {
	run := stops(1, 150, 100, 100)
	run.Scenarios[0].Trials[1].Findings = nil
	got, err := Of(kept{run}, []string{"run-1"}, "stop time")
	require.NoError(t, err)
	require.Equal(t, rule.Unsettled, got.Series[0].Points[0].Verdict)
	require.Equal(t, 1, got.Series[0].Points[0].Measured)
	run.Scenarios[0].Trials = nil
	got, err = Of(kept{run}, []string{"run-1"}, "stop time")
	require.NoError(t, err)
	require.Equal(t, rule.Unsettled, got.Series[0].Points[0].Verdict)
}

func TestText(t *testing.T) {
	runs := story()
	got, err := Of(runs, runs.ids(), "stop time")
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, got.Text(&b, 90))
	require.Equal(t, `normal-cycle/1  motor stopped within claim stop time
  run    date        firmware  n    median     worst  limit             margin  verdict
  run-1  2031-05-01  2.1       3  101.0 ms  104.0 ms  at most 150 ms   45.0 ms  pass
  run-2  2031-05-02  2.2       2  111.0 ms  112.0 ms  at most 150 ms   37.0 ms  pass
  run-3  2031-05-03  2.3       0         -         -  -                      -  void
  run-4  2031-05-04  2.4       4  120.5 ms  139.0 ms  at most 140 ms    0.0 ms  pass
  run-5  2031-05-05  2.5       3  131.0 ms  160.0 ms  at most 140 ms  −21.0 ms  fail
  margin: 45.0 ms in the first, −21.0 ms in the last, least −21.0 ms (run run-5)
`, strings.ReplaceAll(b.String(), "\u00a0", " "))
}

// Where there is no room for a table each run has a sentence, whose figures keep their names
// and units.
func TestTextOfANarrowTerminal(t *testing.T) {
	runs := story()
	got, err := Of(runs, runs.ids()[:2], "stop time")
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, got.Text(&b, 44))
	require.Equal(t, `normal-cycle/1  motor stopped within claim
  stop time, at most 150 ms
  run-1: date 2031-05-01, firmware 2.1, n 3,
    median 101.0 ms, worst 104.0 ms,
    margin 45.0 ms, pass
  run-2: date 2031-05-02, firmware 2.2, n 2,
    median 111.0 ms, worst 112.0 ms,
    margin 37.0 ms, pass
  margin: 45.0 ms in the first, 37.0 ms in
    the last, least 37.0 ms (run run-2)
`, strings.ReplaceAll(b.String(), "\u00a0", " "))
}

// Runs whose names have the date in them are told without it, in lines that a terminal has
// room for.
func TestTextOfOrdinaryRuns(t *testing.T) {
	runs := story()
	got, err := Of(runs, runs.ids(), "stop time")
	require.NoError(t, err)
	for i := range got.Series {
		for j := range got.Series[i].Points {
			p := &got.Series[i].Points[j]
			p.Run = p.Began.UTC().Format("20060102-150405.000")
		}
	}
	var b bytes.Buffer
	require.NoError(t, got.Text(&b, 90))
	require.NotContains(t, b.String(), "date")
	require.Contains(t, b.String(), "  20310501-")
	for line := range strings.Lines(b.String()) {
		require.LessOrEqual(t, utf8.RuneCountInString(strings.TrimSuffix(line, "\n")), 90, line)
	}
}

// Of an odd number the median is the empirical quantile of gonum's stat package; of an
// even one it lies between the two that are.
func TestMedian(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.Int64Range(-1e9, 1e9), 1, 60).Draw(t, "values")
		slices.Sort(values)
		var x []float64
		for _, v := range values {
			x = append(x, float64(v))
		}
		low := int64(stat.Quantile(0.5, stat.Empirical, x, nil))
		got := median(values)
		if len(values)%2 == 1 {
			require.Equal(t, low, got)
			return
		}
		high := values[len(values)/2]
		require.Equal(t, low+(high-low)/2, got)
	})
}

func TestPicture(t *testing.T) {
	runs := story()
	got, err := Of(runs, runs.ids(), "normal-cycle")
	require.NoError(t, err)
	var b, again bytes.Buffer
	require.NoError(t, got.SVG(&b))
	require.NoError(t, got.SVG(&again))
	require.Equal(t, b.String(), again.String())
	for d := xml.NewDecoder(bytes.NewReader(b.Bytes())); ; {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			break
		} else {
			require.NoError(t, err)
		}
	}
	for _, want := range []string{"<desc id=\"d\">", "2.5: median", "2.3: nothing measured, void", ">fail<", ">void<", "over by up to 21", "one rule that measures nothing is not drawn"} {
		require.Contains(t, b.String(), want)
	}
	rsvg := need.Tool(t, "rsvg-convert", "apt-get install librsvg2-bin")
	svg := filepath.Join(t.TempDir(), "t.svg")
	require.NoError(t, os.WriteFile(svg, b.Bytes(), 0o600))
	png := os.Getenv("PINTLE_TREND_PNG")
	if png == "" {
		png = svg + ".png"
	}
	out, err := exec.Command(rsvg, svg, "-o", png).CombinedOutput()
	require.NoError(t, err, "%s", out)
}
