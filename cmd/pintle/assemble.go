package main

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"sync"

	"pintle/reports"
	"pintle/rig"
	"pintle/rig/appraise"
	"pintle/rig/reliability"
	"pintle/rig/rule"
	"pintle/rig/share"
	"pintle/scenarios"
)

// A ledger gathers the outcomes of a run, from several workers at once, into the
// order of scenarios and trials.
type ledger struct {
	mu  sync.Mutex
	run *reports.Run
}

// newLedger sets out all that is known of a run before it begins.
func newLedger(id string, job *scenarios.Job, chosen []scenarios.Scenario, facts rig.Facts, o runOptions) *ledger {
	l := quickLedger(id, job, chosen, facts, o)
	if appraiser, err := appraiserOf(job); err == nil { // a bench of which it cannot be told has none
		l.run.Bench.Finest = finest(appraiser, job, chosen)
	}
	return l
}

// quickLedger is newLedger without how finely the bench decides, which takes a while.
func quickLedger(id string, job *scenarios.Job, chosen []scenarios.Scenario, facts rig.Facts, o runOptions) *ledger {
	decision := decisionOf(job)
	run := &reports.Run{
		ID: id, Program: "pintle " + version(), Job: job.Title, Place: job.Place, Gate: job.Gate.Spec.Title,
		Controller: controllerOf(job), Bench: benchOf(job, facts, o.checked), Seed: o.seed, Trials: o.trials,
		Decision: decision.Text(), DecisionBy: decision.Name(), Coverage: share.Of(decision.Coverage), Sources: sources(), Demonstration: o.shows.record(),
	}
	for _, f := range job.Files {
		sum := sha256.Sum256(f.Text)
		run.Files = append(run.Files, reports.File{Name: f.Name, SHA256: hex.EncodeToString(sum[:]), Text: string(f.Text)})
	}
	for i := range chosen {
		run.Scenarios = append(run.Scenarios, scenarioOf(&chosen[i]))
	}
	for _, s := range job.Scenarios {
		if s.NotApplicable != "" {
			run.LeftOut = append(run.LeftOut, reports.LeftOut{Name: s.Name, Title: s.Title, Why: s.NotApplicable})
		}
	}
	onPaper(run, job, chosen, o)
	return &ledger{run: run}
}

// sources is the table of what makes values uncertain, as it goes into the record.
func sources() []reports.Source {
	var all []reports.Source
	for _, s := range appraise.Sources {
		all = append(all, reports.Source{Number: uint8(s.ID), Name: s.Name, Distribution: s.Distribution.String(), Assumes: s.Assumes})
	}
	return all
}

func controllerOf(job *scenarios.Job) reports.Controller {
	c := job.Controller
	out := reports.Controller{Board: c.Board.Text, Maker: c.Maker.Text, Serial: c.Serial.Text, Firmware: c.Firmware.Text,
		Digest: c.FirmwareDigest.Text, DigestOf: job.FirmwareFile}
	for _, d := range c.Defects {
		out.Defects = append(out.Defects, d.Text)
	}
	for _, claim := range c.Values {
		out.Claims = append(out.Claims, reports.Claim{Name: claim.Name, Value: claim.Text, Means: claim.Means})
	}
	return out
}

func benchOf(job *scenarios.Job, f rig.Facts, checked []string) reports.Bench {
	m, motion := f.Meter, thresholdsOf(job)
	return reports.Bench{Name: f.Name, Virtual: f.Virtual, Simulated: f.Simulated, Lead: f.Lead, Meter: m.Name, Interval: m.Interval,
		Window: m.Window, LeastDelay: m.Least, MostDelay: m.Most, Resolution: m.Resolution, Noise: m.Noise,
		Runs: motion.Runs, Stops: motion.Stops, Settle: motion.Settle, Description: append(doubts(job), checked...)}
}

// doubts are what the bench file says that meter and clock may be off by.
func doubts(job *scenarios.Job) []string {
	m := &job.Bench.Meter
	_, zero := offOf(job)
	return []string{fmt.Sprintf("a reading is off by at most %s of it and %v; a time by at most %s", percent(m.Gain.Value), zero, percent(job.Bench.Clock.Value))}
}

func scenarioOf(s *scenarios.Scenario) reports.Scenario {
	out := reports.Scenario{Name: s.Name, Title: s.Title, Why: s.Why}
	for _, f := range s.Faults {
		out.Faults = append(out.Faults, reports.Fault{Line: f.Line.String(), Kind: f.Kind.String(), Text: f.String()})
	}
	for i, r := range s.Rules {
		out.Rules = append(out.Rules, reports.Rule{Name: r.Name, Pattern: r.Pattern.String(), Of: r.P.Text, Then: r.S.Text, Scope: r.Scope.String(),
			Limit: s.LimitTexts[i], Claims: r.Claims, Source: r.Source})
	}
	return out
}

// take puts an outcome in its place.
func (l *ledger) take(o *rig.Outcome) (string, reports.Trial) {
	t := reports.Trial{Number: o.Trial, Seed: o.Seed, Day: o.Day.String(), Verdict: o.Verdict, Reason: o.Reason, Findings: o.Findings,
		Took: o.Took, Samples: len(o.Trace.Samples)}
	for _, trouble := range o.Troubles {
		t.Troubles = append(t.Troubles, reports.ToldTrouble(trouble.Code, trouble.Text))
	}
	return l.run.Scenarios[o.Scenario].Name, t
}

// keep adds a finished trial.
func (l *ledger) keep(scenario int, t reports.Trial) {
	l.mu.Lock()
	defer l.mu.Unlock()
	s := &l.run.Scenarios[scenario]
	i := len(s.Trials)
	for i > 0 && s.Trials[i-1].Number > t.Number {
		i--
	}
	s.Trials = append(s.Trials[:i], append([]reports.Trial{t}, s.Trials[i:]...)...)
}

// settle sums trials up to scenarios, and scenarios to the run. A trial that was
// asked for and did not happen leaves nothing that is a pass.
func (l *ledger) settle(shows demonstration, interrupted error) {
	verdicts := make([]rule.Verdict, 0, len(l.run.Scenarios))
	for i := range l.run.Scenarios {
		s := &l.run.Scenarios[i]
		s.Shown = shows.shown(s)
		asked := l.run.Trials
		if s.Shown != nil && s.Shown.State != reliability.Continue && shows.test != nil {
			asked = len(s.Trials) // it was decided, and needed no more
		}
		sumUp(s, asked)
		verdicts = append(verdicts, s.Verdict)
	}
	l.run.Verdict = rule.Worst(verdicts...)
	if interrupted != nil {
		l.run.Verdict, l.run.Reason = rule.Worst(l.run.Verdict, rule.Void), interrupted.Error()
	}
}

// passed says that a trial counts as passed in a demonstration: nothing but a pass
// does.
func passed(v rule.Verdict) bool { return v == rule.Pass }

func sumUp(s *reports.Scenario, asked int) {
	s.Verdict = rule.Unsettled
	for i, t := range s.Trials {
		if i == 0 || rule.Worst(s.Verdict, t.Verdict) != s.Verdict {
			s.Verdict, s.Reason = t.Verdict, t.Reason
			if asked > 1 && t.Reason != "" {
				s.Reason = fmt.Sprintf("trial %d: %s", t.Number, t.Reason)
			}
		}
	}
	if len(s.Trials) < asked && rule.Worst(s.Verdict, rule.Void) != s.Verdict {
		s.Verdict, s.Reason = rule.Void, fmt.Sprintf("%d of %d trials were performed", len(s.Trials), asked)
	}
}
