package diagnosis

import (
	"time"

	"pintle/reports"
	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A Diagnosis explains one finding of a trial, or a trial that came to none.
type Diagnosis struct {
	Verdict   rule.Verdict
	Rule      string         // the requirement in words; empty where there was none
	Headline  string         // what happened, in one line without a full stop
	Sentences []string       // what was required, what happened, what was seen around it, how sure that is
	LookAt    []string       // likely causes, each as something to look at
	From, To  signal.Instant // the part of the trial to look at; both zero: the whole
}

// Of explains a finding of a trial, by their indices. An index that is none explains
// the trial as a whole. Without a trace it tells what the finding alone says.
func Of(run *reports.Run, s *reports.Scenario, trial, finding int, trace *signal.Trace) Diagnosis {
	y := newStory(run, s, trial, finding, trace)
	if y.verdict == rule.Void {
		return y.void() // whatever the rule: nothing is said of it
	}
	d := Diagnosis{Verdict: y.verdict, Rule: y.r.Name}
	switch {
	case y.f == nil:
		d.Headline = y.unjudged()
	case y.verdict == rule.Fail:
		d.Headline = y.explainer().fail(y)
	case y.verdict == rule.Inconclusive:
		d.Headline = y.inconclusive()
	case y.verdict == rule.Pass:
		d.Headline = "the requirement was kept"
	default:
		d.Headline = "it was not judged"
	}
	if y.f == nil {
		return d
	}
	d.Sentences = append(d.Sentences, y.required())
	d.Sentences = append(d.Sentences, y.measured()...)
	if y.verdict == rule.Inconclusive {
		d.Sentences = append(d.Sentences, y.doubt()...)
	}
	d.Sentences = append(d.Sentences, y.around()...)
	if y.verdict == rule.Fail {
		d.LookAt = y.causes()
	}
	d.From, d.To = y.window()
	return d
}

// OfTrial explains the finding of a trial that says most.
func OfTrial(run *reports.Run, s *reports.Scenario, trial int, trace *signal.Trace) Diagnosis {
	if trial < 0 || trial >= len(s.Trials) {
		return Of(run, s, trial, -1, trace)
	}
	one := *s
	one.Trials = s.Trials[trial : trial+1]
	_, f, ok := reports.Tightest(&one)
	if !ok {
		f = -1
	}
	return Of(run, s, trial, f, trace)
}

// Motor is what the motor was taken to do in a trial, by what the run says of its
// bench; nil where it does not say.
func Motor(run *reports.Run, trace *signal.Trace) []motion.Change {
	thresholds, ok := run.Bench.Motion()
	if !ok || trace == nil {
		return nil
	}
	d, err := motion.NewDetector(thresholds)
	if err != nil {
		return nil
	}
	var all []motion.Change
	for _, s := range trace.Samples {
		if c, is := d.Sample(s); is {
			all = append(all, c)
		}
	}
	return all
}

// unjudged tells of a trial without a finding that says something.
func (y *story) unjudged() string {
	if y.t != nil && y.t.Reason != "" {
		return y.t.Reason
	}
	return "nothing was judged"
}

// window is the part of the trial from a little before what began to a little after
// what ended, as far as both belong to the decision. A long wait before it is cut.
func (y *story) window() (from, to signal.Instant) {
	if len(y.f.Decided) == 0 {
		return 0, 0
	}
	at := y.at
	first, last := at.Early, max(at.Late, y.ended.Late)
	if y.ended == (signal.Span{}) || y.ended.Early < at.Early {
		last = at.Late
	}
	begun := y.f.Decided[0].Early
	reach := max(last.Sub(first)/2, at.Width()*4, 150*time.Millisecond)
	if begun < first && first.Sub(begun) <= max(4*reach, 2*time.Second) {
		first = begun
	}
	reach = max(reach, last.Sub(first)/3)
	from, to = max(0, first-signal.Instant(reach)), last+signal.Instant(reach)
	if y.end > 0 {
		to = min(to, y.end)
	}
	if to <= from {
		return 0, 0
	}
	return from, to
}
