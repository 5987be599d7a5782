package certificate_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/reports/certificate"
	"pintle/reports/record"
	"pintle/reports/reportstest"
	"pintle/rig/need"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// noTraces is a logbook that has lost every trace.
type noTraces struct{}

func (noTraces) Trace(string, string, int) (*signal.Trace, error) {
	return nil, errors.New("it is not in the logbook")
}

// own is a copy of a run that a test may change.
func own(t testing.TB, run *reports.Run) *reports.Run {
	t.Helper()
	text, err := json.Marshal(run)
	require.NoError(t, err)
	var c reports.Run
	require.NoError(t, json.Unmarshal(text, &c))
	return &c
}

func paper(t testing.TB, run *reports.Run, traces reports.TraceSource, o certificate.Options) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, certificate.Write(&b, run, traces, o))
	return b.Bytes()
}

func file(t testing.TB, pdf []byte) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "c.pdf")
	require.NoError(t, os.WriteFile(name, pdf, 0o644))
	return name
}

// tool runs a program of poppler or qpdf on a document, which must find no fault.
func tool(t testing.TB, pdf []byte, program, pack string, args ...string) string {
	t.Helper()
	path := need.Tool(t, program, "apt-get install "+pack)
	name := file(t, pdf)
	for i := range args {
		args[i] = strings.ReplaceAll(args[i], "FILE", name)
	}
	var out, complaints bytes.Buffer
	cmd := exec.Command(path, args...)
	cmd.Stdout, cmd.Stderr = &out, &complaints
	require.NoError(t, cmd.Run(), "%s: %s%s", program, out.String(), complaints.String())
	require.Empty(t, complaints.String(), program)
	return out.String()
}

func text(t testing.TB, pdf []byte) string {
	t.Helper()
	return strings.Join(strings.Fields(tool(t, pdf, "pdftotext", "poppler-utils", "-layout", "FILE", "-")), " ")
}

// raw is the text in the order in which it was written: a sentence that stands beside a
// large word is in one piece.
func raw(t testing.TB, pdf []byte, args ...string) string {
	t.Helper()
	out := tool(t, pdf, "pdftotext", "poppler-utils", append(args, "-raw", "FILE", "-")...)
	return strings.ReplaceAll(strings.Join(strings.Fields(out), " "), "\u00a0", " ")
}

func pages(t testing.TB, pdf []byte) int {
	t.Helper()
	out := tool(t, pdf, "pdfinfo", "poppler-utils", "FILE")
	n, err := strconv.Atoi(regexp.MustCompile(`Pages: +(\d+)`).FindStringSubmatch(out)[1])
	require.NoError(t, err)
	return n
}

func TestTheSameRunGivesTheSameBytes(t *testing.T) {
	for _, o := range []certificate.Options{{}, {Letter: true}} {
		assert.True(t, bytes.Equal(paper(t, reportstest.Mixed(), reportstest.Source{}, o), paper(t, reportstest.Mixed(), reportstest.Source{}, o)))
	}
	for range 3 { // where there is most to put in order
		assert.True(t, bytes.Equal(paper(t, longest(t), everyTrace{}, sealed), paper(t, longest(t), everyTrace{}, sealed)))
	}
	assert.False(t, bytes.Equal(paper(t, reportstest.Mixed(), reportstest.Source{}, certificate.Options{}),
		paper(t, reportstest.Sound(), reportstest.Source{}, certificate.Options{})))
}

// TestItsDateIsTheRuns holds for a run too that was cut off before its end, and
// for one without any time: today's date would differ with each writing.
func TestItsDateIsTheRuns(t *testing.T) {
	run := own(t, reportstest.Mixed())
	date := func() string {
		return regexp.MustCompile(`/CreationDate \(.*?D.*?:(.*?)\)`).FindString(strings.ReplaceAll(string(paper(t, run, noTraces{}, certificate.Options{})), "\x00", ""))
	}
	assert.Contains(t, date(), "20310409063134")
	run.Ended = time.Time{}
	assert.Contains(t, date(), "20310409063000")
	run.Began = time.Time{}
	assert.Contains(t, date(), "19700101000000")
}

func TestItIsAValidDocument(t *testing.T) {
	pdf := paper(t, reportstest.Mixed(), reportstest.Source{}, certificate.Options{})
	tool(t, pdf, "qpdf", "qpdf", "--check", "FILE")
	rows := strings.Split(strings.TrimSpace(tool(t, pdf, "pdffonts", "poppler-utils", "FILE")), "\n")[2:]
	require.Len(t, rows, 2, "upright and bold, nothing else")
	for _, row := range rows {
		// The columns from the end: emb sub uni object ID. (fpdf cuts a font down to the
		// glyphs in use, but does not name it as a subset.)
		f := strings.Fields(row)
		assert.Equal(t, "yes", f[len(f)-5], "embedded: %s", row)
		assert.Equal(t, "yes", f[len(f)-3], "its text can be copied: %s", row)
	}
	assert.Less(t, len(pdf), 400_000, "whole fonts would be larger")
	tool(t, pdf, "pdftoppm", "poppler-utils", "-r", "20", "-png", "FILE", filepath.Join(t.TempDir(), "page"))
}

func TestPaper(t *testing.T) {
	assert.Contains(t, tool(t, paper(t, reportstest.Sound(), nil, certificate.Options{}), "pdfinfo", "poppler-utils", "FILE"), "(A4)")
	assert.Contains(t, tool(t, paper(t, reportstest.Sound(), nil, certificate.Options{Letter: true}), "pdfinfo", "poppler-utils", "FILE"), "(letter)")
}

func TestEveryVerdictIsSaidPlainly(t *testing.T) {
	run := reportstest.Mixed()
	pdf := paper(t, run, reportstest.Source{}, certificate.Options{})
	words := text(t, pdf)
	digest, err := record.Digest(run)
	require.NoError(t, err)
	for _, want := range []string{
		"FAIL", "At least one requirement was broken beyond the stated doubt of",
		"Of the scenarios of this job: 7 performed 3 passed 1 failed 2 inconclusive 1 void 0 not performed 0 not applicable Each was performed once.",
		"REHEARSAL: no evidence about any hardware", "in rehearsal only", "Performed on a virtual bench with a simulated controller.",
		"It covers 7 scenarios, 7 trials in all, 6 of 6 claims, on virtual, with one controller: stated firmware SHA-256 9d5ed678fe57bcc…; and nothing else.",
		"Did not pass: The closed limit never arrives (fail); The supply is lost and comes back (void)",
		"not exercised", "16.2400 s ± 0.0020 s", "at most 15 s", "−1.2420 s",
		"BX-2 barrier board", "0017", "2.4.1", run.Controller.Digest, digest,
		"each 1 ms over 1 ms", "A moving gate can kill.", "concern only the item tested", "not issued by an accredited laboratory",
		"performed by: name", "signature", "authorised for issue by: name", "date of issue", "End of certificate " + run.ID,
		"Trouble of the bench in trial 1: 2.1 s: meter: no sample for 500ms.",
	} {
		assert.Contains(t, words+raw(t, pdf), want)
	}
	n := pages(t, pdf)
	for p := 1; p <= n; p++ {
		assert.Contains(t, words, "page "+strconv.Itoa(p)+" of "+strconv.Itoa(n))
	}
	assert.Equal(t, n, strings.Count(words, "run "+run.ID+" REHEARSAL, no evidence about hardware"), "on every page")
	for i := range run.Scenarios {
		assert.Contains(t, words, run.Scenarios[i].Title)
	}
}

func TestAllIsWell(t *testing.T) {
	words := text(t, paper(t, reportstest.Sound(), reportstest.Source{}, certificate.Options{}))
	assert.Contains(t, words, "PASS")
	assert.NotContains(t, words, "FAIL")
	assert.NotContains(t, words, "Did not pass")
	assert.Contains(t, words, "Not judged, as no rule of this run refers to them: 1 of 6 claims (run-time cut-out).")
	assert.Contains(t, words, "In each of 3 trials: motor stopped within 150ms of open-limit made")
}

func TestOtherRuns(t *testing.T) {
	run := own(t, reportstest.Sound())
	run.Bench.Virtual, run.Bench.Name = false, "the yard's bench"
	for _, not := range []string{"REHEARSAL", "rehearsal"} {
		assert.NotContains(t, text(t, paper(t, run, nil, certificate.Options{})), not)
	}

	run.Bench.Simulated = true
	assert.Contains(t, text(t, paper(t, run, nil, certificate.Options{})), "Performed in real time with a simulated controller.")

	run.Verdict, run.Reason = rule.Void, "interrupted"
	run.Scenarios[2].Trials, run.Scenarios[2].Verdict, run.Scenarios[2].Reason = nil, rule.Void, "0 of 3 trials were performed"
	run.Controller.Defects = []string{"no run-time cut-out", "reads one limit only"}
	words := text(t, paper(t, run, nil, certificate.Options{}))
	for _, want := range []string{"VOID", "This is not a pass.", "The run did not end in the ordinary way: interrupted.",
		"0 of 3 trials were performed", "No trial was performed.", "9 trials were asked for", "it was not judged",
		"Seeded on purpose into the simulated controller: no run-time cut-out, reads one limit only."} {
		assert.Contains(t, words, want)
	}
	run.Verdict = rule.Inconclusive
	assert.Contains(t, text(t, paper(t, run, nil, certificate.Options{})), "INCONCLUSIVE")
}

func TestNothingThatIsMissingStopsIt(t *testing.T) {
	words := text(t, paper(t, reportstest.Mixed(), noTraces{}, certificate.Options{}))
	assert.Contains(t, words, "cannot be shown: it is not in the logbook")
	assert.Contains(t, text(t, paper(t, reportstest.Mixed(), nil, certificate.Options{})), "is not shown: there is nowhere to fetch it from")

	words = text(t, paper(t, &reports.Run{ID: "empty"}, noTraces{}, certificate.Options{}))
	assert.Contains(t, words, "UNSETTLED")
	assert.Contains(t, words, "No scenario was performed, so nothing is said of the controller.")
	assert.NotContains(t, words, "PASS")

	odd := own(t, reportstest.Mixed())
	odd.Scenarios[1].Verdict = rule.Verdict(200)
	odd.Scenarios[2].Trials[0].Findings[0].Rule = 99
	odd.Scenarios[3].Trials[0].Findings[0].Rule = -1
	odd.Scenarios[4].Rules = nil
	paper(t, odd, reportstest.Source{}, certificate.Options{})
}

// TestALongRunStaysReadable has sixty scenarios of fifty-nine trials.
func TestALongRunStaysReadable(t *testing.T) {
	run := reportstest.Many(60, 59)
	pdf := paper(t, run, reportstest.Source{}, certificate.Options{})
	assert.Less(t, pages(t, pdf), 20)
	words := text(t, pdf)
	assert.Contains(t, words, "Of 3540 trials:")
	tally := reports.TallyScenarios(run)
	assert.Contains(t, words, fmt.Sprintf("A further %d did not pass.", tally.All()-tally.Pass-8))
	assert.Equal(t, 8, strings.Count(words, ". Of 59 trials:"), "told in full")
	for i := range run.Scenarios {
		assert.Contains(t, words, strings.Fields(run.Scenarios[i].Title)[0])
	}
}

// everyTrace has a trace for every scenario of a long run: that of the one it is like.
type everyTrace struct{ reportstest.Source }

var round = regexp.MustCompile(`-\d+$`)

func (e everyTrace) Trace(run, scenario string, _ int) (*signal.Trace, error) {
	return e.Source.Trace(run, round.ReplaceAllString(scenario, ""), 1)
}

// longest is a run of sixty scenarios with a claim of its own each, all of which have
// what it takes to be drawn.
func longest(t testing.TB) *reports.Run {
	run := own(t, reportstest.Many(60, 59))
	for i := range run.Scenarios {
		name := fmt.Sprintf("claim %d", i)
		run.Controller.Claims = append(run.Controller.Claims, reports.Claim{Name: name, Value: "1s"})
		rules := run.Scenarios[i].Rules
		rules[len(rules)-1].Claims = append(rules[len(rules)-1].Claims, name)
	}
	return run
}

func TestTheLongestRunStaysReadable(t *testing.T) {
	for _, letter := range []bool{false, true} {
		pdf := paper(t, longest(t), everyTrace{}, certificate.Options{Letter: letter})
		assert.Less(t, pages(t, pdf), 20)
		words := text(t, pdf)
		assert.Equal(t, 22, strings.Count(words, " Trial 1 of 59 "), "charts")
		assert.Regexp(t, `A further \d+ claims have a chart in the record`, words)
	}
}

func BenchmarkLongestRun(b *testing.B) {
	run := longest(b)
	b.ReportAllocs()
	for b.Loop() {
		paper(b, run, everyTrace{}, certificate.Options{})
	}
}

func BenchmarkLongRun(b *testing.B) {
	run := reportstest.Many(60, 59)
	b.ReportAllocs()
	for b.Loop() {
		paper(b, run, reportstest.Source{}, certificate.Options{})
	}
}

func TestWhatDoesNotApplyIsListed(t *testing.T) {
	run := own(t, reportstest.Sound())
	run.LeftOut = []reports.LeftOut{{Name: "beam-stuck", Title: "The beam is stuck", Why: "the controller has no beam"}}
	words := text(t, paper(t, run, nil, certificate.Options{}))
	assert.Contains(t, words, "Does not apply to this job: The beam is stuck (the controller has no beam).")
	assert.Contains(t, words, "Scenarios that do not apply: nothing is said of what they would test")
	run.LeftOut = append(run.LeftOut, reports.LeftOut{Name: "x", Title: "Another", Why: "no other remote"})
	words = text(t, paper(t, run, nil, certificate.Options{}))
	assert.Contains(t, words, "Do not apply to this job, for the reasons listed: The beam is stuck; Another.")
	assert.Contains(t, words, "no other remote")
}
