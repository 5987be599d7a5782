package outline

import (
	"fmt"
	"io"
	"reflect"
	"strconv"
	"time"

	"pintle/reports"
	"pintle/reports/account"
	"pintle/reports/record"
	"pintle/reports/schema"
	"pintle/rig/rule"
)

// Schema is the JSON Schema of an Outline.
func Schema() ([]byte, error) {
	return schema.Of(reflect.TypeFor[Outline](), "What a run came to ("+Format+")")
}

// Options say what an outline is of. The zero Options are for a whole run.
type Options struct {
	Excerpt string       // what the run is an excerpt of; empty: it is whole
	Whole   *reports.Run // the run that the record's digest is of; nil: the one that is written
}

// Write writes the outline of a run.
func Write(w io.Writer, run *reports.Run, opts Options) error {
	o, err := Of(run, opts)
	if err != nil {
		return err
	}
	if err := reports.WriteJSON(w, o); err != nil {
		return fmt.Errorf("write the outline of run %s: %w", run.ID, err)
	}
	return nil
}

// Of gives the outline of a run.
func Of(run *reports.Run, opts Options) (*Outline, error) {
	whole := opts.Whole
	if whole == nil {
		whole = run
	}
	digest, err := record.Digest(whole)
	if err != nil {
		return nil, fmt.Errorf("run %s: outline: %w", run.ID, err)
	}
	c, b := run.Controller, run.Bench
	o := &Outline{Format: Format, Run: run.ID, Verdict: word(run.Verdict), Reason: run.Reason, Covers: account.Covers(run), Rehearsal: account.Rehearsal(run) != "", Excerpt: opts.Excerpt,
		Began: instant(run.Began), Ended: instant(run.Ended), Program: run.Program, Job: run.Job, Place: run.Place, Gate: run.Gate,
		Controller: Controller{c.Board, c.Maker, c.Serial, c.Firmware, c.Digest, c.DigestOf}, Bench: Bench{b.Name, b.Virtual, b.Simulated, b.Meter},
		Seed: strconv.FormatUint(run.Seed, 10), TrialsEach: run.Trials, Decision: run.Decision, SHA256: digest,
		Scenarios: counts(reports.TallyScenarios(run)), Trials: counts(account.Trials(run)),
		Claims: []Claim{}, Performed: []Scenario{}, LeftOut: []LeftOut{}, Deviations: append([]string{}, run.Deviations...),
		Not: []LeftOut{}, Warnings: append([]string{}, run.Warnings...)}
	for _, c := range account.Claims(run) {
		o.Claims = append(o.Claims, claim(run, c))
	}
	for i := range run.Scenarios {
		o.Performed = append(o.Performed, scenario(&run.Scenarios[i]))
	}
	for _, l := range run.LeftOut {
		o.LeftOut = append(o.LeftOut, LeftOut(l))
	}
	for _, l := range run.NotPerformed {
		o.Not = append(o.Not, LeftOut(l))
	}
	return o, nil
}

func claim(run *reports.Run, c account.Claim) Claim {
	out := Claim{Name: c.Name, Figure: c.Value, Rules: c.Rules, Verdict: "not judged"}
	if c.Rules > 0 {
		s := &run.Scenarios[c.Scenario]
		f := finding(s, c.Rule, c.Judged)
		out.Verdict, out.Scenario, out.Finding = word(c.Verdict), s.Name, &f
	}
	return out
}

func scenario(s *reports.Scenario) Scenario {
	out := Scenario{Name: s.Name, Title: s.Title, Verdict: word(s.Verdict), Reason: s.Reason, Trials: counts(reports.TallyTrials(s)), Findings: []Finding{}}
	if s.Shown != nil {
		out.Reliability = &Reliability{s.Shown.AtLeast, s.Shown.Confidence}
	}
	for i := range s.Rules {
		out.Findings = append(out.Findings, finding(s, i, account.OfRule(s, i)))
	}
	return out
}

func finding(s *reports.Scenario, r int, j account.Judged) Finding {
	out := Finding{Requirement: s.Rules[r].Name, Pattern: s.Rules[r].Pattern, Claims: append([]string{}, s.Rules[r].Claims...), Verdict: word(j.Verdict)}
	if !j.Known {
		out.Reason = "nothing was found of it: it was not judged"
		return out
	}
	f := j.Finding
	out.Reason, out.Exercised = f.Reason, f.Exercised
	out.Trial, out.TrialSeed = j.Trial.Number, strconv.FormatUint(j.Trial.Seed, 10)
	if !f.Measured || j.Verdict == rule.Void {
		return out
	}
	if a := f.Appraisal; a != nil {
		broken := a.Broken
		if a.Beyond {
			broken = 1_000_000 // it is certain
		}
		out.Broken = &broken
	}
	switch figures := figures(f); f.Unit {
	case rule.Nanoseconds:
		out.Time = figures
	case rule.Microamperes:
		out.Current = figures
	case rule.Times:
		out.Count = figures
	case rule.Millionths:
		out.Load = figures
	}
	return out
}

func figures(f rule.Finding) *Figures {
	v := f.Interval()
	out := &Figures{Value: f.Best(), Low: v.Least, High: v.Most, Beyond: f.Appraisal != nil && f.Appraisal.Beyond}
	if f.Sense == rule.NoSense {
		return out
	}
	limit, margin := f.Limit, f.Margin()
	out.Limit, out.Margin, out.Side = &limit, &margin, "at most"
	if f.Sense == rule.AtLeast {
		out.Side = "at least"
	}
	return out
}

func counts(t reports.Tally) Counts {
	return Counts{t.All(), t.Pass, t.Fail, t.Inconclusive, t.Void, t.Other}
}

// word is a verdict as a word of the schema; whatever is unknown is unsettled.
func word(v rule.Verdict) string {
	if v > rule.Void {
		v = rule.Unsettled
	}
	return v.String()
}

func instant(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(time.RFC3339Nano)
}
