package certificate_test

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/reports/certificate"
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

func text(t testing.TB, pdf []byte) string {
	t.Helper()
	out, err := exec.Command(need.Tool(t, "pdftotext", "apt-get install poppler-utils"), "-layout", file(t, pdf), "-").Output()
	require.NoError(t, err)
	return strings.Join(strings.Fields(string(out)), " ")
}

func pages(t testing.TB, pdf []byte) int {
	t.Helper()
	out, err := exec.Command(need.Tool(t, "pdfinfo", "apt-get install poppler-utils"), file(t, pdf)).Output()
	require.NoError(t, err)
	n, err := strconv.Atoi(regexp.MustCompile(`Pages: +(\d+)`).FindStringSubmatch(string(out))[1])
	require.NoError(t, err)
	return n
}

func TestTheSameRunGivesTheSameBytes(t *testing.T) {
	for _, o := range []certificate.Options{{}, {Letter: true}} {
		assert.True(t, bytes.Equal(paper(t, reportstest.Mixed(), reportstest.Source{}, o), paper(t, reportstest.Mixed(), reportstest.Source{}, o)))
	}
	assert.False(t, bytes.Equal(paper(t, reportstest.Mixed(), reportstest.Source{}, certificate.Options{}),
		paper(t, reportstest.Sound(), reportstest.Source{}, certificate.Options{})))
}

func TestItIsAValidDocument(t *testing.T) {
	qpdf := need.Tool(t, "qpdf", "apt-get install qpdf")
	fonts := need.Tool(t, "pdffonts", "apt-get install poppler-utils")
	ppm := need.Tool(t, "pdftoppm", "apt-get install poppler-utils")
	name := file(t, paper(t, reportstest.Mixed(), reportstest.Source{}, certificate.Options{}))
	out, err := exec.Command(qpdf, "--check", name).CombinedOutput()
	require.NoError(t, err, string(out))
	out, err = exec.Command(fonts, name).Output()
	require.NoError(t, err)
	rows := strings.Split(strings.TrimSpace(string(out)), "\n")[2:]
	require.NotEmpty(t, rows)
	for _, row := range rows {
		// The columns from the end: emb sub uni object ID. (fpdf cuts a font down to the
		// glyphs in use, but does not name it as a subset.)
		f := strings.Fields(row)
		assert.Equal(t, "yes", f[len(f)-5], "embedded: %s", row)
	}
	out, err = exec.Command(ppm, "-r", "20", "-png", name, strings.TrimSuffix(name, ".pdf")).CombinedOutput()
	require.NoError(t, err)
	assert.Empty(t, string(out), "no complaint while drawing")
}

func TestEveryVerdictIsSaidPlainly(t *testing.T) {
	run := reportstest.Mixed()
	words := text(t, paper(t, run, reportstest.Source{}, certificate.Options{}))
	assert.Contains(t, words, "FAIL")
	assert.Contains(t, words, "REHEARSAL: performed on a virtual bench with a simulated controller; says nothing of any hardware.")
	assert.Contains(t, words, "1 failed")
	assert.Contains(t, words, "2 inconclusive, 1 void")
	assert.Contains(t, words, "not exercised")
	assert.Contains(t, words, "A moving gate can kill.")
	assert.Contains(t, words, "End of the certificate of run "+run.ID)
	n := pages(t, paper(t, run, reportstest.Source{}, certificate.Options{}))
	for p := 1; p <= n; p++ {
		assert.Contains(t, words, "page "+strconv.Itoa(p)+" of "+strconv.Itoa(n))
	}
	for i := range run.Scenarios {
		assert.Contains(t, words, run.Scenarios[i].Title)
	}
	words = text(t, paper(t, reportstest.Sound(), reportstest.Source{}, certificate.Options{}))
	assert.Contains(t, words, "PASS")
	assert.NotContains(t, words, "FAIL")
}

func TestNothingThatIsMissingStopsIt(t *testing.T) {
	words := text(t, paper(t, reportstest.Mixed(), noTraces{}, certificate.Options{}))
	assert.Contains(t, words, "cannot be shown: it is not in the logbook")
	words = text(t, paper(t, &reports.Run{ID: "empty"}, noTraces{}, certificate.Options{}))
	assert.Contains(t, words, "UNSETTLED")
	assert.NotContains(t, words, "PASS")

	long := reportstest.Mixed()
	long.Controller.Board = strings.Repeat("b", 300)
	long.Scenarios[0].Title = strings.Repeat("very long title ", 60)
	long.Scenarios[0].Rules[0].Name = strings.Repeat("x", 500)
	long.Scenarios[1].Verdict = rule.Verdict(200)
	paper(t, long, reportstest.Source{}, certificate.Options{Letter: true})
}

// TestALongRunStaysReadable has sixty scenarios of fifty-nine trials.
func TestALongRunStaysReadable(t *testing.T) {
	assert.Less(t, pages(t, paper(t, reportstest.Many(60, 59), reportstest.Source{}, certificate.Options{})), 40)
}

func BenchmarkLongRun(b *testing.B) {
	run := reportstest.Many(60, 59)
	for b.Loop() {
		paper(b, run, reportstest.Source{}, certificate.Options{})
	}
}
