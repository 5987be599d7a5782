package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/drivers/pi/hands"
	"pintle/drivers/pi/lines"
	"pintle/reports"
	"pintle/rig"
	"pintle/rig/fitness"
	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/scenarios"
)

// checkedJob is the demo's, on a bench that has to be put to the test, with a check that
// is so old.
func checkedJob(t *testing.T, old time.Duration, measured fitness.Measured) (*scenarios.Job, string) {
	t.Helper()
	job, err := scenarios.Demo(equipment())
	require.NoError(t, err)
	job.Bench.Kind.Text = "pi"
	dir := t.TempDir()
	require.NoError(t, keepCheck(filepath.Join(dir, checkFile),
		&fitness.Report{Verdict: rule.Pass, Date: time.Now().Add(-old), Described: describedBy(job), Measured: measured}))
	return job, dir
}

// A check is kept for a while; then whoever runs on that bench is told, and so is who
// reads the paper.
func TestAnOldCheckIsTold(t *testing.T) {
	for old, is := range map[time.Duration]bool{fitness.Keeps - time.Hour: false, fitness.Keeps + time.Hour: true, -time.Hour: true} {
		job, dir := checkedJob(t, old, fitness.Measured{})
		var errs bytes.Buffer
		lines, err := (&app{err: &errs}).vetBench(job, dir)
		require.NoError(t, err)
		assert.Equal(t, is, strings.Contains(errs.String(), "which is long ago: pintle check --bench"), "%v: %s", old, errs.String())
		assert.Equal(t, is, strings.HasSuffix(lines[0], "; long ago"), "%v: %s", old, lines[0])
	}
}

// What a check measured is in the record of every run after it, its head on the
// certificate, and a meter that is noisier than stated, or further off at no current, makes
// every budget wider.
func TestWhatTheCheckMeasuredGoesIntoRecordAndBudgets(t *testing.T) {
	interval, noise, zero, late := 1001*time.Microsecond, signal.Current(400_000), signal.Current(3_000), 70*time.Microsecond
	job, dir := checkedJob(t, time.Hour, fitness.Measured{Interval: &interval, Noise: &noise, Zero: &zero, Late: &late,
		Latency: &fitness.Range{Least: time.Millisecond, Most: 2 * time.Millisecond}, Drop: &fitness.Range{Least: 4 * time.Millisecond, Most: 6 * time.Millisecond}})
	plain := reaches(t, job)
	lines, err := (&app{err: &bytes.Buffer{}}).vetBench(job, dir)
	require.NoError(t, err)
	run := quickLedger("r", job, nil, rig.Facts{}, runOptions{checked: lines}).run
	last, err := lastCheck(dir)
	require.NoError(t, err)
	assert.Contains(t, run.Bench.LastCheck, "checked on "+last.Date.UTC().Format(time.DateOnly)+": pass")
	for _, want := range []string{"the meter's interval is 1.001 ms", "the meter's latency is 1 ms to 2 ms", "the meter's noise is at most 0.4 A",
		"the meter reads 0.003 A of no current", "the latest edge was late by 70 µs", "the supply's relay takes 4 ms to 6 ms"} {
		assert.Contains(t, run.Bench.Description, want)
	}
	kept := false
	for _, f := range run.Files {
		kept = kept || f.Name == checkFile
	}
	assert.True(t, kept, "the check itself is one of the files that the run rests on")
	assert.Greater(t, reaches(t, job), plain, "the noise that was measured is not in the budget")

	off := -300 * signal.Current(1000)
	displaced, dir := checkedJob(t, time.Hour, fitness.Measured{Zero: &off})
	_, err = (&app{err: &bytes.Buffer{}}).vetBench(displaced, dir)
	require.NoError(t, err)
	assert.Greater(t, reaches(t, displaced), plain, "what the meter reads of no current is not in the budget")
	assert.Contains(t, doubts(displaced)[0], "0.3 A")

	quiet := signal.Current(1)
	quieter, dir := checkedJob(t, time.Hour, fitness.Measured{Noise: &quiet})
	_, err = (&app{err: &bytes.Buffer{}}).vetBench(quieter, dir)
	require.NoError(t, err)
	assert.Equal(t, plain, reaches(t, quieter), "the worse of stated and measured counts")
}

// reaches is how finely the bench of a job tells its running current.
func reaches(t *testing.T, job *scenarios.Job) float64 {
	t.Helper()
	a, err := appraiserOf(job)
	require.NoError(t, err)
	reach, ok := a.Reach(&rule.Rule{Pattern: rule.CurrentUnder, Current: 12 * signal.Ampere}, 8*signal.Ampere)
	require.True(t, ok)
	return reach.Share()
}

// The check looks for the meter that the bench's file names, by what the meter itself says,
// and reads lines back by the inputs that they are looped to.
func TestTheCheckKnowsWhatTheFileSays(t *testing.T) {
	job := benchOfText(t, "  remote: {}", "  drive-open: {}\n  remote: {read back by: drive-open}", "meter:\n", "meter:\n  identity: BOATYARD, M7, 0, 1.2\n")
	facts := rig.Facts{Meter: rig.MeterFacts{Name: "scpi meter at /dev/ttyUSB0", Says: "BOATYARD, M8, 0, 1.2"}}
	s := setupOf(job, facts)
	assert.Equal(t, "BOATYARD, M7, 0, 1.2", s.Expected)
	assert.Equal(t, "BOATYARD, M8, 0, 1.2", s.Identity)
	assert.Equal(t, []fitness.Pair{{Output: signal.Remote, Input: signal.DriveOpen}}, s.Pairs)
	assert.Equal(t, guardOf(job), s.Protect)
	assert.NotZero(t, s.Clock)
}

// Whatever the file says of a wire reaches the hands.
func TestEveryWireIsAsTheFileSays(t *testing.T) {
	job := benchOfText(t, "  remote: {}", "  remote: {pin: GPIO17, active: low, pull: up, drive: open drain, contact: normally closed}\n  beam: {pin: 13}", "  beam: {}", "  drive-open: {}")
	wires := map[signal.Line]hands.Wire{}
	for _, e := range job.Bench.Lines {
		w := wireOf(e.Name.Text, e.Value)
		wires[w.Line] = w
	}
	assert.Equal(t, hands.Wire{Line: signal.Remote, Offset: 17, ActiveLow: true, OpenDrain: true, Rest: true, Bias: lines.PullUp}, wires[signal.Remote])
	assert.Equal(t, hands.Wire{Line: signal.Beam, Offset: 27, Bias: lines.NoPull}, wires[signal.Beam])
}

// benchOfText is a job as init writes it, with this in place of that in its bench.yaml.
func benchOfText(t *testing.T, changes ...string) *scenarios.Job {
	t.Helper()
	dir := t.TempDir()
	for name, text := range scenarios.Starter(equipment()) {
		if name == "bench.yaml" {
			for i := 0; i < len(changes); i += 2 {
				require.Contains(t, string(text), changes[i])
				text = bytes.Replace(text, []byte(changes[i]), []byte(changes[i+1]), 1)
			}
		}
		require.NoError(t, os.MkdirAll(filepath.Dir(filepath.Join(dir, name)), 0o755))
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), text, 0o644))
	}
	job, err := loadJob(dir)
	require.NoError(t, err)
	return job
}

// What a record says of the last check of its bench is what the check among its files says,
// and other rules are tried by what that check measured, not by one that was made since.
func TestWhatARecordSaysOfTheCheckIsHeldAgainstIt(t *testing.T) {
	noise, zero := signal.Current(400_000), signal.Current(3_000)
	interval := 1001 * time.Microsecond
	for _, old := range []time.Duration{fitness.Keeps - time.Hour, fitness.Keeps + time.Hour} {
		job, dir := checkedJob(t, old, fitness.Measured{Noise: &noise, Zero: &zero, Interval: &interval})
		lines, err := (&app{err: &bytes.Buffer{}}).vetBench(job, dir)
		require.NoError(t, err)
		for what, c := range map[string]struct {
			change  func(*reports.Bench)
			differs bool
		}{
			"as it is": {func(*reports.Bench) {}, false},
			"by an earlier program": {func(b *reports.Bench) {
				require.Equal(t, "the meter's interval is 1.001 ms", b.Description[2])
				b.Description[2] = "the meter's interval is 1.001ms"
			}, false},
			"another day": {func(b *reports.Bench) { b.LastCheck = "checked on 2099-01-01: pass" }, true},
			"none":        {func(b *reports.Bench) { b.LastCheck, b.Description = "", b.Description[:1] }, true},
			"less noise":  {func(b *reports.Bench) { b.Description[3] = "the meter's noise is at most 0.001 A" }, true},
		} {
			run := quickLedger("r", job, nil, rig.Facts{}, runOptions{checked: lines}).run
			c.change(&run.Bench)
			now := quickLedger("r", job, nil, rig.Facts{}, runOptions{})
			a := &again{run: run, job: job, ledger: now}
			a.finest.Do(func() {}) // it takes a while, and is not what this is about
			a.files()
			var found []string
			for _, d := range a.differs {
				if d.What == "last check of the bench" {
					found = append(found, d.What)
				}
			}
			require.Equal(t, c.differs, len(found) > 0, "%s: %v", what, a.differs)
		}
	}
	played, dir := checkedJob(t, time.Hour, fitness.Measured{Noise: &noise})
	require.NoError(t, attachCheck(played, dir))
	quiet := signal.Current(1)
	other, dir := checkedJob(t, time.Minute, fitness.Measured{Noise: &quiet})
	require.NoError(t, attachCheck(other, dir))
	require.Less(t, reaches(t, other), reaches(t, played))
	v := verification{record: &reports.Run{}, job: played}
	require.NoError(t, v.try(trials{}, other, dir))
	require.Equal(t, reaches(t, played), reaches(t, other))
}

// The hands get the guard of the bench's file, and for the guard's own trial one that
// allows less current and differs in nothing else.
func TestTheHandsGetTheFilesGuard(t *testing.T) {
	job := loadedPi(t)
	c, err := piConfig(job)
	require.NoError(t, err)
	g := guardOf(job)
	assert.Equal(t, hands.Guard{MostCurrent: g.MostCurrent, LongestDrive: g.LongestDrive, MeterSilence: g.MeterSilence,
		Runs: thresholdsOf(job).Runs, Stops: thresholdsOf(job).Stops}, c.Hands.Guard)
	assert.Equal(t, 100*time.Millisecond, c.Late)
	assert.Equal(t, []string{"boatyard"}, c.Hands.Labels)
	assert.Len(t, c.Hands.Outputs, len(piLines))
	less, err := piConfigGuarded(job, 4*signal.Ampere)
	require.NoError(t, err)
	c.Hands.Guard.MostCurrent = 4 * signal.Ampere
	assert.Equal(t, c, less)
	more, err := piConfigGuarded(job, 400*signal.Ampere)
	require.NoError(t, err)
	assert.Equal(t, g.MostCurrent, more.Hands.Guard.MostCurrent, "it never allows more")
}

func loadedPi(t *testing.T) *scenarios.Job {
	t.Helper()
	job, err := loadJob(piJob(t))
	require.NoError(t, err)
	return job
}
