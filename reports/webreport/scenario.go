package webreport

import (
	"cmp"
	"fmt"
	"html/template"
	"strings"

	"pintle/reports"
	"pintle/reports/account"
	"pintle/reports/chart"
	"pintle/reports/diagnosis"
	"pintle/rig/fold"
	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/rig/wording"
)

// chartWidth is that of a strip chart, in pixels of a screen. On a phone the reader
// pushes the strip along.
const chartWidth = 800

// A scenarioView is a scenario as the page tells it.
type scenarioView struct {
	*reports.Scenario
	ID        string // in the page
	Called    string
	Outcome   string
	Findings  []findingRow
	Trials    []trialRow
	Chart     template.HTML
	Caption   string
	Steps     []step
	Missing   string // why there is no chart
	Diagnosis []explained
	Troubles  []string
	Shown     *reports.Trial // the trial that says most; nil: none
	Again     string         // the command that shows it
	tightest  account.Judged
}

type findingRow struct {
	account.Judged
	Name, Why                 string
	Rule                      reports.Rule
	Value, Limit, Spare, Risk string
	In                        string // which trial, or how often tested
	Budget                    *budget
	Bound                     string // that most trials keep
}

type trialRow struct {
	Number       int
	Seed         uint64
	Verdict      rule.Verdict
	Text, Reason string
	Day          string
}

// An explained finding is one that is no pass, in words.
type explained struct {
	Headline, Rule string
	Sentences      []string
	LookAt         []string
}

type step struct{ At, Text string }

func newScenario(run *reports.Run, index int, traces reports.TraceSource) (*scenarioView, error) {
	s := &run.Scenarios[index]
	v := &scenarioView{Scenario: s, ID: fmt.Sprintf("s%d", index+1), Called: account.Name(s), Outcome: account.Outcome(s), tightest: account.OfScenario(s)}
	for i := range s.Rules {
		row, err := newFinding(run, s, i)
		if err != nil {
			return nil, err
		}
		v.Findings = append(v.Findings, row)
	}
	for i := range s.Trials {
		v.Trials = append(v.Trials, newTrial(s, i))
	}
	if i, ok := reports.WorstTrial(s); ok {
		v.Shown = &s.Trials[i]
		v.Troubles = v.Shown.Troubles
		v.Again = fmt.Sprintf("pintle show %s %s/%d", run.ID, s.Name, v.Shown.Number)
		v.strip(run, traces, i)
	}
	return v, nil
}

// Tightest is value, limit and margin in one line, or why there are none.
func (v *scenarioView) Tightest() string {
	value, limit, spare := v.tightest.Figures()
	switch {
	case value == "" && v.Verdict == rule.Pass:
		return "nothing to measure"
	case value == "":
		return cmp.Or(v.Reason, v.worstReason(), "no reason was given")
	}
	parts := []string{figure(value)}
	for _, more := range []string{limit, v.tightest.Finding.MarginWords()} {
		if more != "" && (more == limit || spare != "") {
			parts = append(parts, figure(more))
		}
	}
	return strings.Join(parts, ", ")
}

// Share says how many trials had the verdict of the scenario, of how many.
func (v *scenarioView) Share() string {
	n := 0
	for i := range v.Scenario.Trials {
		if v.Scenario.Trials[i].Verdict == v.Verdict {
			n++
		}
	}
	if n == len(v.Scenario.Trials) {
		return fmt.Sprint(n)
	}
	return fmt.Sprintf("%d of %d", n, len(v.Scenario.Trials))
}

func (v *scenarioView) worstReason() string {
	if v.Shown == nil {
		return "no trial was performed"
	}
	return v.Shown.Reason
}

func newFinding(run *reports.Run, s *reports.Scenario, i int) (findingRow, error) {
	r := s.Rules[i]
	row := findingRow{Judged: account.OfRule(s, i), Rule: r, Name: cmp.Or(r.Name, fmt.Sprintf("rule %d", i+1)), Bound: reports.ToleranceText(run, s, i)}
	if !row.Known {
		row.Why = "nothing was found of it: it was not judged"
		return row, nil
	}
	row.Value, row.Limit, row.Spare = row.Figures()
	row.Value = figure(row.Value)
	row.Risk = figure(row.Judged.Risk())
	if row.Verdict != rule.Pass {
		row.Why = cmp.Or(row.Finding.Reason, row.Trial.Reason, "no reason was given")
	}
	row.In = fmt.Sprintf("%d, tested %s", row.Trial.Number, wording.Times(row.Finding.Exercised))
	if row.Verdict == rule.Void {
		return row, nil // its value says nothing, and so does its budget
	}
	var err error
	row.Budget, err = newBudget(run, row.Name, row.Finding)
	return row, err
}

// figure keeps each number of a value with its unit. In a narrow column a line may break
// before the doubt, and not behind its sign.
func figure(value string) string {
	parts := strings.Split(value, " ± ")
	for i := range parts {
		parts[i] = fold.Held(parts[i])
	}
	return strings.Join(parts, " ±\u00a0")
}

func newTrial(s *reports.Scenario, i int) trialRow {
	t, j := &s.Trials[i], account.OfTrial(s, i)
	row := trialRow{Number: t.Number, Seed: t.Seed, Verdict: t.Verdict, Day: t.Day}
	value, _, _ := j.Figures()
	row.Text = figure(value)
	if words := j.Finding.MarginWords(); value != "" && words != "" {
		row.Text += ", " + fold.Figures(words)
	}
	if t.Verdict != rule.Pass {
		row.Reason = cmp.Or(t.Reason, j.Finding.Reason, "no reason was given")
	}
	return row
}

// strip draws the trial that says most, and explains what in it is no pass.
func (v *scenarioView) strip(run *reports.Run, traces reports.TraceSource, trial int) {
	trace := v.fetch(run, traces)
	if trace != nil {
		v.draw(run, trace)
	}
	if v.Verdict == rule.Pass {
		return
	}
	for i, f := range v.Shown.Findings {
		if reports.Standing(v.Shown, f) != rule.Pass {
			v.explain(run, trial, i, trace)
		}
		if v.Shown.Verdict == rule.Void {
			return // the bench failed: that is said once
		}
	}
	if len(v.Diagnosis) == 0 {
		v.explain(run, trial, -1, trace)
	}
}

func (v *scenarioView) explain(run *reports.Run, trial, finding int, trace *signal.Trace) {
	d := diagnosis.Of(run, v.Scenario, trial, finding, trace)
	e := explained{Headline: d.Headline, Rule: d.Rule, LookAt: d.LookAt}
	for _, s := range d.Sentences {
		if s != "" {
			e.Sentences = append(e.Sentences, s)
		}
	}
	v.Diagnosis = append(v.Diagnosis, e)
}

func (v *scenarioView) fetch(run *reports.Run, traces reports.TraceSource) *signal.Trace {
	if traces == nil {
		v.Missing = "there is nowhere to fetch its trace from"
		return nil
	}
	trace, err := traces.Trace(run.ID, v.Name, v.Shown.Number)
	switch {
	case err != nil:
		v.Missing = err.Error()
	case trace == nil:
		v.Missing = "no trace of it was kept"
	default:
		return trace
	}
	return nil
}

func (v *scenarioView) draw(run *reports.Run, trace *signal.Trace) {
	t, s := v.Shown, v.Scenario
	o := chart.Options{Title: fmt.Sprintf("%s, trial %d of %d", v.Called, t.Number, len(s.Trials)), Note: fmt.Sprintf("seed %d", t.Seed), Motor: diagnosis.Motor(run, trace)}
	if v.tightest.Known && v.tightest.Trial == t && t.Verdict != rule.Void {
		f := v.tightest.Finding
		f.Verdict = v.tightest.Verdict
		o.Finding = &f
		if f.Rule >= 0 && f.Rule < len(s.Rules) {
			o.Rule = s.Rules[f.Rule]
		}
	}
	v.Chart = template.HTML(chart.New(trace, o).Inline(v.ID+"-chart", chartWidth))
	v.Caption = fmt.Sprintf("Strip chart of trial %d, seed %d", t.Number, t.Seed)
	if len(s.Trials) > 1 {
		v.Caption += ", the tightest of " + account.Count(len(s.Trials), "trial")
	}
	for _, m := range trace.Marks {
		if strings.TrimSpace(m.Text) != "" {
			v.Steps = append(v.Steps, step{fmt.Sprintf("%.3f\u00a0s", float64(m.At)/1e9), m.Text})
		}
	}
}
