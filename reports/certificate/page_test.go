package certificate_test

import (
	"encoding/xml"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/reports/certificate"
	"pintle/reports/reportstest"
	"pintle/rig/rule"
)

// A wordBox is a word on a page and where it stands, in points.
type wordBox struct {
	XMin float64 `xml:"xMin,attr"`
	YMin float64 `xml:"yMin,attr"`
	XMax float64 `xml:"xMax,attr"`
	YMax float64 `xml:"yMax,attr"`
	Text string  `xml:",chardata"`
}

type boxedPage struct {
	Width  float64   `xml:"width,attr"`
	Height float64   `xml:"height,attr"`
	Words  []wordBox `xml:"word"`
}

// boxes has poppler say where every word stands.
func boxes(t testing.TB, pdf []byte) []boxedPage {
	t.Helper()
	var doc struct {
		Pages []boxedPage `xml:"body>doc>page"`
	}
	out := tool(t, pdf, "pdftotext", "poppler-utils", "-bbox", "FILE", "-")
	d := xml.NewDecoder(strings.NewReader(out))
	d.Strict, d.Entity = false, xml.HTMLEntity
	require.NoError(t, d.Decode(&doc))
	require.NotEmpty(t, doc.Pages)
	return doc.Pages
}

// faults lists words that leave the margins of the paper, and words that stand on
// one another. A box is as high as the type's tallest and deepest letters, so that
// lines set close touch a little.
func faults(pages []boxedPage, overlap func(page int) bool) []string {
	var bad []string
	for n, p := range pages {
		for i, w := range p.Words {
			if w.XMin < 50 || w.XMax > p.Width-50 || w.YMin < 20 || w.YMax > p.Height-14 {
				bad = append(bad, fmt.Sprintf("page %d: %q leaves the margins", n+1, w.Text))
			}
			for _, v := range p.Words[:i] {
				wide, high := min(w.XMax, v.XMax)-max(w.XMin, v.XMin), min(w.YMax, v.YMax)-max(w.YMin, v.YMin)
				if overlap(n+1) && wide > 0.5 && high > 0.35*min(w.YMax-w.YMin, v.YMax-v.YMin) {
					bad = append(bad, fmt.Sprintf("page %d: %q stands on %q", n+1, w.Text, v.Text))
				}
			}
		}
	}
	return bad
}

// longWinded is a run whose every text is very long.
func longWinded(t testing.TB) *reports.Run {
	run := own(t, reportstest.Mixed())
	long := func(s string) string {
		return s + " " + strings.Repeat("and very much more of the same ", 8) + strings.Repeat("w", 240)
	}
	c, b := &run.Controller, &run.Bench
	for _, s := range []*string{&run.Job, &run.Place, &run.Gate, &run.ID, &run.Reason, &run.Decision, &run.Program,
		&c.Board, &c.Maker, &c.Serial, &c.Firmware, &c.Received, &c.Condition, &run.At, &run.Laboratory.Name, &run.Laboratory.Address,
		&run.Customer.Name, &run.Customer.Address, &run.Customer.Contact, &b.LastCheck, &b.Name, &b.Meter, &b.Description[0], &c.Claims[0].Name, &c.Claims[1].Means, &c.Claims[2].Value} {
		*s = long(*s)
	}
	run.Deviations = []string{long("left out"), long("changed")}
	b.Finest = []reports.Reach{{Claim: long("reach"), Unit: rule.Nanoseconds, Sense: rule.AtMost, Limit: 1 << 52, Expanded: 1 << 51, Guard: 1 << 52}}
	c.Defects = []string{long("deaf"), long("blind")}
	for i := range run.Scenarios {
		s := &run.Scenarios[i]
		s.Title, s.Name, s.Why, s.Reason = long(s.Title), long(s.Name), long(s.Why), long(s.Reason)
		s.Rules[0].Name = long(s.Rules[0].Name)
		s.Trials[0].Findings[0].Reason = long("because")
		s.Trials[0].Troubles = []string{long("trouble")}
	}
	run.Scenarios[0].Rules[1].Name = strings.Repeat("pageful ", 1500)
	return run
}

// claimed is a run with hundreds of claims, each tested.
func claimed(t testing.TB, n int) *reports.Run {
	run := own(t, reportstest.Many(60, 2))
	run.Controller.Claims = nil
	for i := range n {
		name := fmt.Sprintf("claim of the builder number %d", i)
		run.Controller.Claims = append(run.Controller.Claims, reports.Claim{Name: name, Value: "150ms", Means: "what it means"})
		if rules := run.Scenarios[i%60].Rules; i%7 > 0 && len(rules) > 0 {
			rules[0].Claims = append(rules[0].Claims, name)
		}
	}
	return run
}

func TestNoWordLeavesThePaperOrStandsOnAnother(t *testing.T) {
	everywhere := func(int) bool { return true }
	unlettered := func(page int) bool { return page <= 2 } // the pages without a chart
	for name, c := range map[string]struct {
		run     *reports.Run
		traces  reports.TraceSource
		overlap func(int) bool
	}{
		"mixed":          {reportstest.Mixed(), reportstest.Source{}, unlettered},
		"without charts": {reportstest.Mixed(), noTraces{}, everywhere},
		"sound":          {reportstest.Sound(), reportstest.Source{}, everywhere},
		"long texts":     {longWinded(t), noTraces{}, everywhere},
		"many":           {reportstest.Many(60, 2), noTraces{}, everywhere},
		"some":           {reportstest.Many(22, 2), noTraces{}, everywhere},
		"shared pages":   {reportstest.Many(22, 1), reportstest.Source{}, func(int) bool { return false }},
		"claims":         {claimed(t, 300), noTraces{}, everywhere},
		"empty":          {&reports.Run{}, nil, everywhere},
	} {
		for _, letter := range []bool{false, true} {
			if letter && c.traces != nil && name != "mixed" && name != "long texts" {
				continue
			}
			t.Run(fmt.Sprint(name, letter), func(t *testing.T) {
				o := certificate.Options{Letter: letter}
				if name == "long texts" {
					long := strings.Repeat("0123456789abcdef", 30)
					o.Root, o.Record, o.Key, o.Replaces, o.Because = long, long, long, long, strings.Repeat("because ", 60)
				}
				pdf := paper(t, c.run, c.traces, o)
				assert.Empty(t, faults(boxes(t, pdf), c.overlap))
			})
		}
	}
}

// TestFaultsAreSeen keeps the test above from passing whatever is on the page.
func TestFaultsAreSeen(t *testing.T) {
	page := boxedPage{Width: 595, Height: 842, Words: []wordBox{{60, 100, 90, 110, "one"}, {80, 102, 120, 112, "two"}, {560, 300, 590, 310, "out"}}}
	assert.Len(t, faults([]boxedPage{page}, func(int) bool { return true }), 2)
}

// TestALongRequirementIsPrintedWhole has one that is longer than a page.
func TestALongRequirementIsPrintedWhole(t *testing.T) {
	words := text(t, paper(t, longWinded(t), noTraces{}, certificate.Options{}))
	assert.Equal(t, 1500, strings.Count(words, "pageful"))
}

// TestVerdictAndSignaturesStandOnOnePage holds for ordinary runs: who signs sees
// what for.
func TestVerdictAndSignaturesStandOnOnePage(t *testing.T) {
	full := claimed(t, 30) // nothing is known of anybody, and much is to be said
	full.Controller.Digest, full.Controller.Defects, full.Reason = "", []string{"no run-time cut-out", "deaf"}, "the run was interrupted"
	full.LeftOut = make([]reports.LeftOut, 13)
	full.Decision, full.DecisionBy = strings.Repeat("pass if the measured value keeps the limit by a guard band; ", 11), "simple acceptance"
	full.Bench.Finest = []reports.Reach{{Claim: "stop time", Unit: rule.Nanoseconds, Limit: 1e8, Expanded: 1e6}, {Claim: "stall current", Unit: rule.Microamperes, Limit: 1e7, Expanded: 1e5}}
	for _, run := range []*reports.Run{reportstest.Mixed(), reportstest.Sound(), reportstest.Many(60, 1), full} {
		for _, letter := range []bool{false, true} {
			var all []string
			for _, w := range boxes(t, paper(t, run, noTraces{}, certificate.Options{Letter: letter}))[0].Words {
				all = append(all, w.Text)
			}
			page := strings.Join(all, " ")
			for _, want := range []string{"REHEARSAL:", "SHA-256", "accredited", "signature", "authorised", "kill"} {
				assert.Contains(t, page, want, "%s, letter %v", run.ID, letter)
			}
		}
	}
}
