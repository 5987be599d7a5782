package rig

import (
	"fmt"
	"strings"

	"pintle/rig/rule"
	"pintle/rig/signal"
)

// Marks that a conductor leaves besides the steps of the script.
const (
	markSettled   = "every rule is settled"
	markEnd       = "end of script"
	markAbandoned = "script given up: " // followed by why
)

// A Rejudger works trials out again from their traces. It needs no bench, and gives what
// the trials gave. It is used by one goroutine, and keeps its memory from trial to trial.
type Rejudger struct {
	job  *Job
	cast map[*Scenario]*judgement
	vet  vetting
}

// NewRejudger makes a rejudger of the trials of a job.
func NewRejudger(job *Job) *Rejudger { return &Rejudger{job: job, cast: map[*Scenario]*judgement{}} }

// A Rejudged is what a trial comes to when it is judged again.
type Rejudged struct {
	Verdict  rule.Verdict
	Reason   string
	Findings []rule.Finding
}

// Judge judges a trial by the rules of a scenario. The performed is the scenario whose
// script was followed: the same one, unless other rules are tried on an old trace. The
// troubles are those that the bench had. A trace need not tell of them, but where it tells
// of one that they are silent of, as of a gap in its samples, the trial is void.
func (r *Rejudger) Judge(s, performed *Scenario, t *signal.Trace, troubles []BenchTrouble) (Rejudged, error) {
	u, err := r.Begin(s, t)
	if err != nil {
		return Rejudged{}, err
	}
	u.Samples(t.Samples)
	return u.End(performed, t, troubles), nil
}

// Findings works the findings out again.
func (r *Rejudger) Findings(s *Scenario, t *signal.Trace) ([]rule.Finding, error) {
	u, err := r.Begin(s, t)
	if err != nil {
		return nil, err
	}
	u.Samples(t.Samples)
	return u.judgement.appraised(t.End, false), nil
}

// A Rejudging is a trial that is being judged again as its samples come. A rejudger has
// one of a scenario at a time.
type Rejudging struct {
	judgement *judgement
	scenario  *Scenario
	vet       *vetting
}

// Begin begins to judge a trial again. Its trace need not have its samples.
func (r *Rejudger) Begin(s *Scenario, t *signal.Trace) (Rejudging, error) {
	j, ok := r.cast[s]
	if !ok {
		var err error
		if j, err = newJudgement(r.job, s); err != nil {
			return Rejudging{}, fmt.Errorf("judge scenario %s again: %w", s.Name, err)
		}
		j.watch = nil
		r.cast[s] = j
	}
	j.reset(t.Initial)
	for _, e := range t.Edges {
		j.edge(e)
	}
	r.vet.reset(r.job)
	return Rejudging{j, s, &r.vet}, nil
}

// Samples takes the next samples.
func (u Rejudging) Samples(s []signal.Sample) {
	u.vet.samples(s)
	for len(s) > 0 {
		n := u.judgement.steady(s)
		if n == 0 {
			u.judgement.sample(s[0])
			n = 1
		}
		s = s[n:]
	}
}

// End is what the trial comes to, as of Judge.
func (u Rejudging) End(performed *Scenario, t *signal.Trace, troubles []BenchTrouble) Rejudged {
	troubles = vetted(troubles, u.vet.end(t.End, u.judgement.final()))
	settled := u.judgement.settled(t.End)
	out := Rejudged{Findings: u.judgement.appraised(t.End, false)}
	out.Verdict, out.Reason = verdict(u.scenario, out.Findings, unperformed(performed, t.Marks, settled), troubles)
	return out
}

// Rejudge works the findings of one trial out again.
func Rejudge(job *Job, s *Scenario, t *signal.Trace) ([]rule.Finding, error) {
	return NewRejudger(job).Findings(s, t)
}

// unperformed says why a script was not performed to its end, by the marks of its trace;
// empty where it was, or where every rule was settled before. That the rules it was
// performed with were says nothing of others, which the rest of the script might have
// shown broken; so what the mark says has to be so of those that are judged. A trial has
// a mark of its end unless its bench failed: a trace without one does not tell of all.
func unperformed(s *Scenario, marks []signal.Mark, settled bool) string {
	done, steps := 0, len(s.Script)*max(s.Repeat, 1)
	for _, m := range marks {
		if why, ok := strings.CutPrefix(m.Text, markAbandoned); ok {
			return why
		}
		switch {
		case m.Text == markSettled && settled, m.Text == markEnd && done == steps:
			return ""
		case m.Text == markSettled:
			return fmt.Sprintf("the trial was ended in step %d of %d, when every rule that it was performed with was settled, and these were not", done, steps)
		case done < steps && m.Text == s.Script[done%len(s.Script)].Text:
			done++
		}
	}
	if done < steps {
		return fmt.Sprintf("the script was followed up to its step %d of %d", done, steps)
	}
	return "the trace does not tell that its script was ended"
}

// verdict sums a trial up. A trouble of the bench makes it void, unless it is that the
// guard stopped the controller: what the rules had found before then stands.
func verdict(s *Scenario, findings []rule.Finding, failed string, troubles []BenchTrouble) (rule.Verdict, string) {
	v, reason := worst(s, findings, failed)
	for _, t := range troubles {
		ownDoing := t.Code == GuardCurrent || t.Code == GuardDrive
		if !ownDoing || !brokenBefore(s, findings) {
			return rule.Void, t.Text
		}
	}
	return v, reason
}

// brokenBefore says that a rule was found broken before a trial was cut short. That
// something never came is found at the end alone, and it might have come in the rest.
func brokenBefore(s *Scenario, findings []rule.Finding) bool {
	for i, f := range findings {
		r := &s.Rules[i]
		breach := r.Pattern.Info().Broken
		missed := breach == rule.Never || breach == rule.Unanswered
		over := r.Scope.Kind == rule.Before || r.Scope.Kind == rule.Between
		if f.Verdict == rule.Fail && (!missed || over) {
			return true
		}
	}
	return false
}

// worst is the worst of the findings, with the reason of the first that bad. A
// script that was not performed to its end leaves nothing that is a pass.
func worst(s *Scenario, findings []rule.Finding, failed string) (rule.Verdict, string) {
	worst, reason := rule.Inconclusive, "the scenario has no rules"
	for i, f := range findings {
		if i == 0 || rule.Worst(worst, f.Verdict) != worst {
			worst, reason = f.Verdict, s.Rules[i].Name+": "+f.Reason
		}
	}
	switch {
	case worst == rule.Pass && failed != "":
		return rule.Inconclusive, failed
	case worst == rule.Pass:
		return worst, ""
	case worst == rule.Unsettled:
		return rule.Inconclusive, reason
	}
	return worst, reason
}
