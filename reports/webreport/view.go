package webreport

import (
	"cmp"
	"fmt"
	"html/template"
	"slices"
	"strings"

	"pintle/reports"
	"pintle/reports/account"
	"pintle/reports/record"
	"pintle/rig/fold"
	"pintle/rig/rule"
	"pintle/rig/uncertainty"
)

// A view is what the page is filled in from: texts ready to be read.
type view struct {
	*reports.Run
	CSS                                    template.CSS
	Policy                                 string
	Word                                   string // the verdict
	Meaning                                string
	Covers                                 string
	Rehearsal                              string
	Excerpt                                string                // what it is of; empty: the run is whole
	Left                                   []account.Unperformed // not performed
	Concerns                               []concern
	NotJudged                              []string // claims
	Claims                                 []claimRow
	Rows                                   []*scenarioView
	ControllerPairs, BenchPairs, Performed []pair
	Shown                                  string // what the trials demonstrate
	Finest                                 []reach
	Coverage                               string
	Cautions                               []string
	Digest                                 string
}

type pair struct{ Name, Text string }

// A reach is how finely the bench can decide a claim.
type reach struct{ Claim, Limit, Expanded, Guard string }

func finest(run *reports.Run) (list []reach) {
	for _, r := range run.Bench.Finest {
		scale := reports.ScaleOf(r.Unit)
		if scale.Per == 0 {
			continue
		}
		f := rule.Finding{Unit: r.Unit, Sense: r.Sense, Limit: r.Limit}
		guard := "none"
		if r.Guard > 0 {
			guard = account.Figure(float64(r.Guard), scale)
		}
		list = append(list, reach{r.Claim, f.LimitText(), account.Figure(float64(r.Expanded), scale), guard})
	}
	return list
}

// A concern is a scenario that did not pass.
type concern struct {
	*scenarioView
	Why string
}

type claimRow struct {
	account.Claim
	Value, Limit, Spare, Risk string
	Where                     *scenarioView // nil: none
}

func newView(run *reports.Run, traces reports.TraceSource, o Options) (*view, error) {
	whole := o.Whole
	if whole == nil {
		whole = run
	}
	digest, err := record.Digest(whole)
	if err != nil {
		return nil, err
	}
	v := &view{Run: run, CSS: template.CSS(style), Policy: policy(style), Word: run.Verdict.String(), Meaning: account.Meaning(run), Covers: account.Covers(run),
		Rehearsal: account.Rehearsal(run), Excerpt: o.Excerpt, Shown: reports.Demonstrated(run), Cautions: account.Cautions, Digest: digest,
		ControllerPairs: controllerPairs(run), BenchPairs: benchPairs(run.Bench), Performed: performedPairs(run), Finest: finest(run)}
	v.Left = account.CoverageOf(run).NotPerformed
	if run.Coverage > 0 {
		v.Coverage = uncertainty.Percent(run.Coverage)
	}
	for i := range run.Scenarios {
		s, err := newScenario(run, i, traces)
		if err != nil {
			return nil, err
		}
		v.Rows = append(v.Rows, s)
	}
	for _, i := range account.ByConcern(run) {
		if s := v.Rows[i]; s.Verdict != rule.Pass {
			v.Concerns = append(v.Concerns, concern{s, fold.Figures(cmp.Or(s.Reason, s.worstReason(), "no reason was given"))})
		}
	}
	v.claims()
	return v, nil
}

func (v *view) claims() {
	for _, c := range account.Claims(v.Run) {
		row := claimRow{Claim: c}
		if c.Rules == 0 {
			v.NotJudged = append(v.NotJudged, c.Name)
		} else {
			row.Value, row.Limit, row.Spare = c.Figures()
			row.Value = figure(row.Value)
			row.Risk, row.Where = figure(c.Risk()), v.Rows[c.Scenario]
		}
		v.Claims = append(v.Claims, row)
	}
}

func controllerPairs(run *reports.Run) []pair {
	c := run.Controller
	list := []pair{{"board", c.Board}, {"maker", c.Maker}, {"serial number", c.Serial}, {"firmware", c.Firmware},
		{"firmware digest", account.FirmwareDigest(&c)}, {"received", c.Received}, {"condition", c.Condition}, {"for the gate", run.Gate}, {"defects seeded on purpose", strings.Join(c.Defects, ", ")}}
	return stated(list)
}

// stated leaves out what nobody stated, except that it says so of what identifies a
// thing.
func stated(list []pair) []pair {
	var out []pair
	for _, p := range list {
		if p.Text == "" {
			switch p.Name {
			case "board", "serial number", "firmware":
				p.Text = "not stated"
			default:
				continue
			}
		}
		out = append(out, p)
	}
	return out
}

func benchPairs(b reports.Bench) []pair {
	kind := "keeps real time"
	if b.Virtual {
		kind = "virtual: everything is simulated"
	}
	list := []pair{{"bench", b.Name}, {"kind", kind}, {"meter", b.Meter}}
	if b.Interval > 0 {
		list = append(list, pair{"a reading", fmt.Sprintf("each %s, over %s", account.Short(b.Interval), account.Short(b.Window))},
			pair{"a reading comes", fmt.Sprintf("%s to %s late", account.Short(b.LeastDelay), account.Short(b.MostDelay))},
			pair{"resolution", b.Resolution.String()}, pair{"noise", b.Noise.String()})
	}
	if b.Lead > 0 {
		list = append(list, pair{"lead", account.Short(b.Lead) + " from plan to line"})
	}
	list = append(list, pair{"last check of the bench", b.LastCheck})
	return append(stated(list), furthers(b.Description)...)
}

func furthers(lines []string) (list []pair) {
	for _, l := range lines {
		list = append(list, pair{"further", l})
	}
	return list
}

func performedPairs(run *reports.Run) []pair {
	ended := "not recorded"
	if !run.Ended.IsZero() {
		ended = account.Instant(run.Ended)
	}
	joined := func(texts ...string) string {
		return strings.Join(slices.DeleteFunc(texts, func(t string) bool { return t == "" }), ", ")
	}
	return stated([]pair{{"run", run.ID}, {"performed by", joined(run.Laboratory.Name, run.Laboratory.Address)},
		{"for", joined(run.Customer.Name, run.Customer.Address, run.Customer.Contact)}, {"performed at", run.At}, {"began", cmp.Or(account.Instant(run.Began), "not recorded")}, {"ended", ended}, {"program", run.Program}, {"on a machine with", machine(run.Environment)},
		{"seed", fmt.Sprint(run.Seed)}, {"asked for", account.Count(run.Trials, "trial") + " of each scenario"}})
}

func machine(e *reports.Environment) string {
	if e == nil {
		return ""
	}
	words := fmt.Sprintf("%s, %s, %s", e.System, e.Architecture, account.Count(e.Processors, "processor"))
	if e.Kernel != "" {
		words += ", kernel " + e.Kernel
	}
	return words
}
