package certificate_test

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/reports/certificate"
	"pintle/reports/record"
	"pintle/reports/reportstest"
	"pintle/rig/need"
	"pintle/rig/reliability"
	"pintle/rig/rule"
)

var sealed = certificate.Options{Root: strings.Repeat("52c1e09a6d3d0c6f", 4), Key: "7A3C19E05B6D2F84", Record: "record-sound.zip"}

// whole is a run on a real bench of which everything is known.
func whole(t testing.TB) *reports.Run {
	run := own(t, reportstest.Sound())
	run.Bench.Virtual, run.Bench.Name, run.Bench.LastCheck = false, "the yard's bench", "checked on 2031-04-01: pass"
	run.Laboratory = reports.Laboratory{Name: "The rigging loft", Address: "4 Slipway Lane, Gullhaven"}
	run.Customer = reports.Customer{Name: "Pelican Slip boatyard", Address: "2 Slipway Lane, Gullhaven", Contact: "the yard office"}
	run.At, run.Controller.Received, run.Controller.Condition = "in the laboratory", "2031-04-08", "two screws of the lid missing"
	run.Deviations = []string{"The guard band was changed by bench.yaml to 50 % of the expanded uncertainty."}
	run.LeftOut = []reports.LeftOut{{Name: "beam-stuck", Title: "The beam is stuck", Why: "the controller has no beam"}}
	run.Bench.Finest = []reports.Reach{{Claim: "stop time", Unit: rule.Nanoseconds, Sense: rule.AtMost, Limit: 150e6, Expanded: 1_230_000, Guard: 1_230_000},
		{Claim: "stall current", Unit: rule.Microamperes, Sense: rule.AtMost, Limit: 12e6, Expanded: 12e6, Guard: 12e6}}
	return run
}

// TestFieldsOfAReport goes through ISO/IEC 17025:2017, 7.8.2.1 a to p, and 7.8.6.
func TestFieldsOfAReport(t *testing.T) {
	run := whole(t)
	pdf := paper(t, run, reportstest.Source{}, sealed)
	words := strings.ReplaceAll(text(t, pdf), "\u00a0", " ")
	digest, err := record.Digest(run)
	require.NoError(t, err)
	for field, wants := range map[string][]string{
		"a title":          {"Certificate of a bench trial"},
		"b laboratory":     {"The rigging loft", "4 Slipway Lane"},
		"c where":          {"performed at in the laboratory"},
		"d ID and end":     {"End of certificate sound-21c8", "certificate sound-21c8"},
		"e customer":       {"Pelican Slip boatyard", "2 Slipway Lane", "the yard office", "† supplied by the customer"},
		"f method":         {"Method", "judged by a timing pattern"},
		"g item":           {"BX-2 barrier board", "0017", "2.4.1", run.Controller.Digest, "two screws of the lid missing"},
		"h receipt":        {"received 2031-04-08"},
		"i dates":          {"2031-04-09 06:30:00 UTC to 06:31:34"},
		"j date of issue":  {"date of issue"},
		"k sampling":       {"Sampling: one item."},
		"l only the items": {"The results concern only the item tested."},
		"m results":        {"119.5 ms ± 1.5 ms", "11.220 A ± 0.040 A"},
		"n deviations":     {"The guard band was changed by bench.yaml to 50 %", "not applicable The beam is stuck the controller has no beam"},
		"o authorised":     {"authorised for issue by: name"},
		"p external":       {"External providers:"},
		"in full only":     {"To be reproduced in full only"},
		"7.8.6 which":      {"Results covered: those of 9 trials of this run in 3 scenarios"},
		"7.8.6 what":       {"Specification: the claims of the controller's builder in controller.yaml (5 of 6 judged)"},
		"7.8.6 rule":       {"Decision rule: A value passes where its whole measured interval keeps the limit", "specific risk"},
		"not accredited":   {"This is not issued by an accredited laboratory", "claims no more"},
		"the bench":        {"Last check of the bench itself: checked on 2031-04-01: pass.", "± 1.23 ms", "0.82 %", "cannot be decided"},
		"the record": {sealed.Root, sealed.Key, digest, "pintle verify record-sound.zip --key KEY.pub",
			"minisign -Vm head.json -p KEY.pub"},
		"verdict": {"It covers 3 scenarios, 9 trials in all, 5 of 6 claims, on the yard's bench, with one controller: stated firmware SHA-256"},
		"claims":  {"stop time: 150ms at most 150 ms 119.5 ms ± 1.5 ms 29.0 ms 3 ≥ 36.84 %", "not judged run-time cut-out: 15s 0"},
	} {
		for _, want := range wants {
			assert.Contains(t, words+raw(t, pdf), want, field)
		}
	}
	info := tool(t, pdf, "pdfinfo", "poppler-utils", "FILE")
	for _, want := range []string{"Title: +Certificate sound-21c8", "Author: +The rigging loft", "Subject: +Slipway barrier", "Keywords: +bench trial", "Producer: +pintle"} {
		assert.Regexp(t, want, info)
	}
	assert.Contains(t, string(pdf), "/Lang (en-GB)")
}

// A field that nobody gave has its name, and a thin stroke of ink beside it.
func TestWhatNobodyGaveIsALineToFillIn(t *testing.T) {
	run := own(t, reportstest.Sound())
	run.Controller.Serial, run.Controller.Digest = "", ""
	first := raw(t, paper(t, run, nil, certificate.Options{}), "-l", "1")
	for _, name := range []string{"serial number †", "received", "condition", "name", "address", "performed at", "name †", "address †", "contact †", "firmware digest †"} {
		assert.Contains(t, first, name)
	}
	assert.Contains(t, first, "A line left blank was not known to the program")
	assert.Contains(t, first, "no firmware digest was given")
	blank, filled := paper(t, run, nil, certificate.Options{}), paper(t, whole(t), nil, certificate.Options{})
	assert.Equal(t, 10, blanks(t, blank)-blanks(t, filled))
}

// blanks counts the strokes that blank lines are drawn with.
func blanks(t testing.TB, pdf []byte) int {
	t.Helper()
	name := file(t, pdf)
	out := filepath.Join(t.TempDir(), "plain.pdf")
	tool(t, pdf, "qpdf", "qpdf", "--qdf", "--object-streams=disable", "FILE", out)
	plain, err := os.ReadFile(out)
	require.NoError(t, err, name)
	return len(regexp.MustCompile(`(?m)^0\.43 w$`).FindAll(plain, -1)) // 0.15 mm
}

func TestAnAmendedCertificateHasAnIDOfItsOwn(t *testing.T) {
	o := sealed
	o.Replaces, o.Because = "sound-0001", "the serial number of the board was misread"
	words := text(t, paper(t, whole(t), nil, o))
	id := regexp.MustCompile(`Amended certificate (sound-21c8-amended-[0-9a-f]{8})\. It replaces certificate sound-0001, which is no longer valid\.`).FindStringSubmatch(words)
	require.Len(t, id, 2, words[:min(len(words), 600)])
	assert.Contains(t, words, "What has changed, and why: the serial number of the board was misread.")
	n := pages(t, paper(t, whole(t), nil, o))
	assert.Equal(t, n, strings.Count(words, "certificate "+id[1]+" bench trial"), "at the head of every page")
	o.Because = "the date was wrong"
	assert.NotContains(t, text(t, paper(t, whole(t), nil, o)), id[1], "another amendment has another ID")
}

// TestTheCodeHoldsWhatIsPrinted has another program read the square code off a page
// that was printed and scanned.
func TestTheCodeHoldsWhatIsPrinted(t *testing.T) {
	zbar := need.Tool(t, "zbarimg", "apt-get install zbar-tools")
	run := whole(t)
	long := own(t, run)
	long.ID = strings.Repeat("a very long ID ", 40)
	for name, c := range map[string]struct {
		run   *reports.Run
		o     certificate.Options
		wants []string
	}{
		"sealed": {run, sealed, []string{"id sound-21c8", "run sound-21c8", "verdict pass", "root " + sealed.Root, "key " + sealed.Key}},
		"letter": {run, certificate.Options{Letter: true, Root: sealed.Root}, []string{"root " + sealed.Root, "key none"}},
		"bare":   {reportstest.Mixed(), certificate.Options{}, []string{"verdict fail", "sha256 of run ", "rehearsal", "key none"}},
		"long":   {long, sealed, []string{"run a very long ID", "root " + sealed.Root}},
	} {
		t.Run(name, func(t *testing.T) {
			png := filepath.Join(t.TempDir(), "page")
			tool(t, paper(t, c.run, nil, c.o), "pdftoppm", "poppler-utils", "-r", "150", "-gray", "-f", "1", "-l", "1", "-singlefile", "-png", "FILE", png)
			read, err := exec.Command(zbar, "--raw", "-q", png+".png").Output()
			require.NoError(t, err)
			require.Equal(t, 1, bytes.Count(read, []byte("pintle certificate")))
			for _, want := range c.wants {
				assert.Contains(t, string(read), want)
			}
		})
	}
}

// TestOneRowForEachClaim is of a claim that two scenarios test, one of which fails it.
func TestOneRowForEachClaim(t *testing.T) {
	words := strings.ReplaceAll(text(t, paper(t, reportstest.Mixed(), noTraces{}, certificate.Options{})), "\u00a0", " ")
	for _, want := range []string{
		"fail run-time cut-out: 15s at most 15 s 16.2400 s ± 0.0020 s −1.2420 s 1 1 trial: none",
		"inconclusive stop time: 150ms at most 150 ms 149.0 ms ± 3.0 ms −2.0 ms 2 1 trial: none",
		"The closed limit never arrives: motor",
	} {
		assert.Contains(t, words, want)
	}
	one := own(t, reportstest.Sound())
	one.Scenarios[0].Trials[1].Findings = nil // a trial that kept silent is not one that passed
	words = strings.ReplaceAll(text(t, paper(t, one, noTraces{}, certificate.Options{})), "\u00a0", " ")
	assert.Regexp(t, fmt.Sprintf(`%s: %s .{0,70} 3 ≥ 13.5\d? %%`, "start delay", "500ms"), words)
}

// TestManyClaimsAreBounded has more claims than get a chart.
func TestManyClaimsAreBounded(t *testing.T) {
	words := text(t, paper(t, claimed(t, 300), noTraces{}, certificate.Options{}))
	for _, n := range []int{0, 150, 299} {
		assert.Contains(t, words, fmt.Sprintf("claim of the builder number %d", n))
	}
	assert.Regexp(t, `A further \d+ claims have a chart in the record`, words)
}

// TestReliabilityIsSaidOnPageOne has trials that show what was asked, too few of them,
// and none that was asked for.
func TestReliabilityIsSaidOnPageOne(t *testing.T) {
	run := whole(t)
	first := func() string {
		return raw(t, paper(t, run, nil, certificate.Options{}), "-l", "1")
	}
	assert.Contains(t, first(), "No reliability was asked for: few trials show that a claim can be kept, not how often.")
	run.Demonstration = &reports.Demonstration{Reliability: 950_000, Confidence: 950_000, Trials: 59}
	assert.Contains(t, first(), "Reliability of 95 % at 95 % confidence: not demonstrated.")
	run.Scenarios[0].Shown = &reports.Shown{Trials: 59, AtLeast: 950_492, Confidence: 950_000, State: reliability.Accept}
	run.Scenarios[1].Shown = &reports.Shown{Trials: 3, Confidence: 950_000, State: reliability.Reject}
	assert.Contains(t, first(), "Reliability of 95 % at 95 % confidence: demonstrated for 1 scenario of 3 only.")
	run.Scenarios[1].Shown, run.Scenarios[2].Shown = run.Scenarios[0].Shown, run.Scenarios[0].Shown
	assert.Contains(t, first(), "Reliability of 95 % at 95 % confidence: demonstrated for each scenario listed here.")
}
