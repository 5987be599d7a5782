package fitness_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/fitness"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

var update = flag.Bool("update", false, "write the golden files anew")

var noon = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

// The text of a sound bench, of one whose relay does not drop, and of one that was
// broken off, as it is read.
func TestTextIsAsItWas(t *testing.T) {
	reports := map[string]fitness.Report{}
	b, s := open(t, config())
	s.Pairs = pairs
	s.Facts.Lines |= signal.SetOf(signal.DriveOpen, signal.DriveClose)
	bench := &tampered{Bench: b, change: loop}
	s.Guard = conductors(bench)
	reports["sound"] = run(t, bench, s)

	b, s = open(t, config())
	reports["welded"] = run(t, &tampered{Bench: b, change: welded}, s)

	b, s = open(t, config())
	s.Facts.Meter.Interval = 0
	reports["refused"], _ = fitness.Run(t.Context(), b, s)

	for name, r := range reports {
		t.Run(name, func(t *testing.T) {
			r.Date = noon
			var out bytes.Buffer
			require.NoError(t, r.Text(&out))
			for line := range strings.Lines(out.String()) {
				require.LessOrEqual(t, utf8.RuneCountInString(strings.TrimSuffix(line, "\n")), 80, line)
				require.Equal(t, strings.TrimRight(line, " \n")+"\n", line, "blanks at the end of a line")
			}
			golden(t, name+".txt", out.Bytes())
		})
	}
}

func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(path, got, 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err, "run with -update once")
	require.Equal(t, string(want), string(got))
}

func welded(t *tampered, o *rig.Observation) bool {
	if o.Kind == rig.Sampled {
		if t.on {
			t.last = o.Sample.Current
		} else if t.last.Abs() > signal.Ampere {
			o.Sample.Current = t.last
		}
	}
	return true
}

// A word longer than a line is whole, for whoever copies it; no other line is too long.
func TestTextOfAnything(t *testing.T) {
	r := fitness.Report{Bench: strings.Repeat("ø", 300), Results: []fitness.Result{{Name: "", Reason: strings.Repeat("x ", 200)}}}
	var out bytes.Buffer
	require.NoError(t, r.Text(&out))
	require.Contains(t, out.String(), "\n  "+r.Bench+":\n")
	for line := range strings.Lines(out.String()) {
		if strings.Contains(line, "ø") {
			continue
		}
		require.LessOrEqual(t, utf8.RuneCountInString(strings.TrimSuffix(line, "\n")), 80, line)
	}
	require.Equal(t, 300, strings.Count(out.String(), "ø"))
	require.Contains(t, out.String(), "unsettled")
}

// The same bench and the same seed make the same report to the byte, and it comes back
// from JSON as it was.
func TestReportIsData(t *testing.T) {
	make := func() []byte {
		b, s := open(t, config())
		r := run(t, b, s)
		r.Date = noon
		raw, err := json.Marshal(r)
		require.NoError(t, err)
		return raw
	}
	raw := make()
	require.Equal(t, string(raw), string(make()))
	var back fitness.Report
	require.NoError(t, json.Unmarshal(raw, &back))
	again, err := json.Marshal(back)
	require.NoError(t, err)
	require.Equal(t, string(raw), string(again))
}

func TestAge(t *testing.T) {
	var none *fitness.Report
	require.Equal(t, fitness.None, none.Age(noon, 0))
	require.NoError(t, none.Refuses(), "that there is none is for the caller to say")
	require.Equal(t, fitness.None, (&fitness.Report{}).Age(noon, 0), "without a date")
	r := &fitness.Report{Date: noon}
	for _, c := range []struct {
		after, limit time.Duration
		want         fitness.Age
	}{
		{0, 0, fitness.Fresh}, {fitness.Keeps, 0, fitness.Fresh}, {fitness.Keeps + 1, 0, fitness.Old}, {-1, 0, fitness.Old},
		{time.Hour, time.Hour, fitness.Fresh}, {time.Hour + 1, time.Hour, fitness.Old}, {time.Hour, -1, fitness.Fresh},
	} {
		require.Equal(t, c.want, r.Age(noon.Add(c.after), c.limit), "%+v", c)
	}
	require.Equal(t, []string{"none", "fresh", "old"}, []string{fitness.None.String(), fitness.Fresh.String(), fitness.Old.String()})
}

func TestRefuses(t *testing.T) {
	for v, refuses := range map[rule.Verdict]bool{rule.Unsettled: true, rule.Pass: false, rule.Fail: true, rule.Inconclusive: false, rule.Void: true} {
		r := fitness.Report{Verdict: v}
		require.Equal(t, refuses, r.Refuses() != nil, v)
		if refuses {
			require.ErrorIs(t, r.Refuses(), fitness.ErrUnfit)
		}
	}
}

func TestWhatWasMeasuredIsUsed(t *testing.T) {
	stated := rig.Facts{Late: 9, Meter: rig.MeterFacts{Interval: 100, Window: 100, Least: 10, Most: 20, Noise: 7, Resolution: 1}}
	require.Equal(t, stated, (&fitness.Report{}).InPlace(stated), "nothing measured, nothing changed")
	require.Equal(t, stated, (&fitness.Report{}).Cautious(stated))
	interval, noise := time.Duration(99), signal.Current(5)
	r := fitness.Report{Measured: fitness.Measured{Latency: &fitness.Range{Least: 12, Most: 22}, Interval: &interval, Noise: &noise}}
	want := stated
	want.Meter.Least, want.Meter.Most, want.Meter.Interval, want.Meter.Window, want.Meter.Noise = 12, 22, 99, 99, 5
	require.Equal(t, want, r.InPlace(stated))
	want.Meter.Least, want.Meter.Noise = 10, 7
	require.Equal(t, want, r.Cautious(stated))
}

func TestMistakesInTheSetup(t *testing.T) {
	b, s := open(t, config())
	s.Facts.Lines &^= signal.SetOf(signal.Supply)
	s.Facts.Meter.Interval, s.Facts.Meter.Range = 0, 0
	s.Facts.Meter.Most = -1
	s.Pulse = signal.Supply
	s.Gaps = fitness.Range{Least: 5, Most: 1}
	s.Start = []fitness.Move{{Line: signal.DriveOpen, Wait: -1}}
	s.Pairs = []fitness.Pair{{Output: signal.Remote, Input: signal.DriveOpen}}
	s.Step = fitness.Step{Line: signal.DragLoad, Follows: fitness.Range{Least: 2, Most: 1}}
	s.Steps, s.Rest = -1, -1
	r, err := fitness.Run(t.Context(), b, s)
	require.Error(t, err)
	require.Equal(t, rule.Void, r.Verdict)
	require.Error(t, r.Refuses())
	for _, what := range []string{"no line supply", "meter's interval", "latency", "resolution", "not timed on the supply", "gaps of a burst",
		"move 1 of the start is of drive-open", "waits -1ns", "does not put the supply on", "remote cannot be read back by drive-open",
		"made by drag-load", "follows the step after 2ns to 1ns", "repeated -1", "a time of the check is -1ns"} {
		require.ErrorContains(t, err, what)
	}
}

func TestTakesAsLongAsItSays(t *testing.T) {
	b, s := open(t, config())
	s.Lateness, s.Rest, s.Steps, s.Drops = 0, 0, 0, 0
	told := 0
	s.Tell = func(r fitness.Result) { told++ }
	r := run(t, b, s)
	require.InEpsilon(t, float64(s.Takes()), float64(r.Took), 0.1)
	require.Len(t, r.Results, told)
	require.Less(t, time.Duration(r.Took), 6*time.Minute)
}

// What is open is named, and nothing else.
func TestOpenPartsAreNamed(t *testing.T) {
	b, s := open(t, config())
	s.Guard, s.Expected = nil, ""
	r := run(t, b, s)
	require.Equal(t, rule.Inconclusive, r.Verdict)
	require.Equal(t, []string{"line remote", "line open-limit", "line closed-limit", "line beam", "line stall-load", "line lead-cut", "meter: identity", "meter: sign", "guard"}, r.Open)
	part, _ := r.Result("meter: identity")
	require.Contains(t, part.Reason, `"meter 12"`)
	_, ok := r.Result("no such part")
	require.False(t, ok)

	s.Identity = ""
	r = run(t, b, s)
	part, _ = r.Result("meter: identity")
	require.Equal(t, rule.Inconclusive, part.Verdict)
	require.Contains(t, part.Reason, "does not say")
}

// The guard may be tried on another bench, in whose place the first has been closed;
// what ends that is called, and heard.
func TestGuardOnAnotherBench(t *testing.T) {
	for _, fails := range []error{nil, errors.New("it would not end")} {
		b, s := open(t, config())
		ended := 0
		s.Guard = func(most signal.Current) (rig.Bench, func() error, error) {
			require.NoError(t, b.Safe())
			other, err := virtual.New(config(), 9)
			require.NoError(t, err)
			guarded, _, _ := conductors(other)(most)
			return guarded, func() error { ended++; return errors.Join(fails, other.Close()) }, nil
		}
		r, err := fitness.Run(t.Context(), b, s)
		require.Equal(t, 1, ended)
		part, _ := r.Result("guard")
		require.Equal(t, rule.Pass, part.Verdict, part.Reason)
		if fails == nil {
			require.NoError(t, err)
		} else {
			require.ErrorIs(t, err, fails)
			require.Equal(t, rule.Void, r.Verdict)
		}
	}
}

// A bench on which no line can be pulsed says so.
func TestNoLineForEdges(t *testing.T) {
	v := config()
	v.Lines = signal.SetOf(signal.Supply, signal.StallLoad)
	b, s := open(t, v)
	r := run(t, b, s)
	part, _ := r.Result("edges on time")
	require.Equal(t, rule.Inconclusive, part.Verdict)
	require.Contains(t, r.Failed(), "supply relay", "nobody presses the button, so the motor does not run")
	require.Nil(t, r.Measured.Late)
}

// Where the check's own guard had to step in, the other has shown nothing.
func TestGuardThatIsOvertaken(t *testing.T) {
	b, s := open(t, config())
	s.Guard = func(signal.Current) (rig.Bench, func() error, error) {
		return &tampered{Bench: b, change: func(_ *tampered, o *rig.Observation) bool {
			if o.Kind == rig.Sampled && o.Sample.Current.Abs() > signal.Ampere {
				o.Sample.Current = 59 * signal.Ampere
			}
			return true
		}}, nil, nil
	}
	r := run(t, b, s)
	part, _ := r.Result("guard")
	require.Equal(t, rule.Inconclusive, part.Verdict)
	require.Contains(t, part.Reason, "own guard")
}
