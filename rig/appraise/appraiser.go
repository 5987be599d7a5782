package appraise

import (
	"errors"
	"fmt"

	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/rig/uncertainty"
)

// An Appraiser appraises what one bench measures. It may be used by several
// goroutines at once.
type Appraiser struct {
	means    Means
	decision Decision
	memo     *uncertainty.Memo
}

// New makes an appraiser, or tells all that is wrong with the means or the decision.
func New(m Means, d Decision) (*Appraiser, error) {
	if err := errors.Join(m.Check(), d.Check()); err != nil {
		return nil, fmt.Errorf("appraise: %w", err)
	}
	return &Appraiser{means: m, decision: d.filled(), memo: uncertainty.NewMemo(uncertainty.Simulation{Seed: 1})}, nil
}

// Decision is the decision in force.
func (a *Appraiser) Decision() Decision { return a.decision }

// A Trial appraises the findings of one trial at a time. It is used by one goroutine.
type Trial struct {
	*Appraiser
	changes []motion.Change
	scratch []term
}

// Trial gives a trial to appraise.
func (a *Appraiser) Trial() *Trial { return &Trial{Appraiser: a} }

// Reset forgets the trial before.
func (t *Trial) Reset() { t.changes = t.changes[:0] }

// Motor takes a change that the meter saw: an instant which is one of these is
// uncertain in the way that a meter is.
func (t *Trial) Motor(c motion.Change) { t.changes = append(t.changes, c) }

// change finds the motor's change that a span is of.
func (t *Trial) change(s signal.Span) (motion.Change, bool) {
	for i := len(t.changes) - 1; i >= 0; i-- {
		if t.changes[i].Span == s {
			return t.changes[i], true
		}
	}
	return motion.Change{}, false
}

// Judge says what is certain of a measured value while the trial goes on: that it is
// clear of its limit on one side or the other by more than any guard band. What it
// cannot say so is inconclusive until Appraise has worked the budget out, which may
// take the better part of a second: too long for a motor that is running. It is a
// rule.Judge.
func (t *Trial) Judge(m rule.Measured) rule.Verdict {
	if v, sure := t.clear(m); sure {
		return v
	}
	return rule.Inconclusive
}

// clear decides where the budget need not be worked out: what is counted, and what
// lies so far from its limit that no guard band reaches it.
func (t *Trial) clear(m rule.Measured) (rule.Verdict, bool) {
	if rule.UnitOf(m.Rule.Pattern) == rule.Times || beyond(m) {
		return rule.BySpan(m.Value, m.Limit, m.Sense), true
	}
	value, lines := t.terms(m)
	if len(lines) == 0 {
		return rule.BySpan(m.Value, m.Limit, m.Sense), true
	}
	reach := 1.0 // for what is rounded
	for _, l := range lines {
		width := l.width
		if l.source.source().Distribution == normal {
			width *= 6 // no interval of 99.99 % reaches farther
		}
		reach += width * 1.1
	}
	reach *= max(1, float64(t.decision.Rule.GuardPercent)/100)
	over := value - float64(m.Limit)
	if m.Sense == rule.AtLeast {
		over = -over
	}
	switch {
	case over < -reach:
		return rule.Pass, true
	case over > reach:
		return rule.Fail, true
	}
	return 0, false
}

// beyond says that a value is only known to be more than its limit: what was to end
// had not ended by then. That much is certain.
func beyond(m rule.Measured) bool {
	return m.Sense == rule.AtMost && m.Value.Least == m.Value.Most && m.Value.Least > m.Limit && m.Decided[1].Width() == 0 &&
		rule.UnitOf(m.Rule.Pattern) == rule.Nanoseconds
}

// outcome works the budget out and applies the decision rule.
func (t *Trial) outcome(m rule.Measured, value float64, lines []term) (o uncertainty.Outcome, x uncertainty.Reading, used uncertainty.Method, err error) {
	e, err := t.memo.Evaluate(t.budget(m.Rule.Name, rule.UnitOf(m.Rule.Pattern).Symbol(), value, lines))
	if err == nil {
		x, err = e.Reading()
	}
	if err != nil {
		return o, x, e.Used, fmt.Errorf("appraise %q: %w", m.Rule.Name, err)
	}
	return t.decision.Rule.Decide(x, limits(m)), x, e.Used, nil
}

func limits(m rule.Measured) uncertainty.Limits {
	if m.Sense == rule.AtLeast {
		return uncertainty.AtLeast(m.Limit)
	}
	return uncertainty.AtMost(m.Limit)
}

// verdictOf maps a decision to a verdict. What is conditional is inconclusive: a
// pass is only ever said of what is clear of its limit.
func verdictOf(d uncertainty.Decision) rule.Verdict {
	switch d {
	case uncertainty.Pass:
		return rule.Pass
	case uncertainty.Fail:
		return rule.Fail
	}
	return rule.Inconclusive
}

// Appraise adds to a finding of this trial how far its value can be trusted.
func (t *Trial) Appraise(r *rule.Rule, f *rule.Finding) {
	if !f.Measured || f.Sense == rule.NoSense || f.Unit == rule.Times {
		return
	}
	if f.ByValue && f.Verdict == rule.Inconclusive {
		t.pickWorst(r, f)
	}
	m := measuredOf(r, f)
	if beyond(m) {
		f.Appraisal = &rule.Appraisal{Value: f.Value.Least, Low: f.Value.Least, High: f.Value.Most, Broken: 1_000_000,
			Decision: uncertainty.Fail.String(), Method: "none", Beyond: true}
		return
	}
	value, lines := t.terms(m)
	if len(lines) == 0 {
		return
	}
	kept := recorded(lines)
	o, x, used, err := t.outcome(m, value, lines)
	if err != nil {
		f.Verdict, f.Reason = rule.Inconclusive, err.Error()
		return
	}
	f.Appraisal = &rule.Appraisal{Value: x.Value, Standard: x.Standard, Low: x.Low, High: x.High, Broken: o.BrokenMillionths,
		Decision: o.Decision.String(), Method: used.String(), Lines: kept}
	t.decide(f, o.Decision)
}

func measuredOf(r *rule.Rule, f *rule.Finding) rule.Measured {
	m := rule.Measured{Rule: r, Value: f.Value, Limit: f.Limit, Sense: f.Sense}
	copy(m.Decided[:], f.Decided)
	if len(f.Decided) == 1 {
		m.Decided[1] = m.Decided[0]
	}
	return m
}

// pickWorst makes a finding tell the worst of its open values. Which that is only their
// budgets say: a value that may reach farther can be the better known one's inferior.
func (t *Trial) pickWorst(r *rule.Rule, f *rule.Finding) {
	worst := uncertainty.Outcome{}
	for i, v := range f.Open {
		m := rule.Measured{Rule: r, Value: v.Value, Limit: f.Limit, Sense: f.Sense, Decided: v.Decided}
		value, lines := t.terms(m)
		o, _, _, err := t.outcome(m, value, lines)
		if err != nil {
			f.ByValue = false // it stays inconclusive
			return
		}
		if i > 0 && (o.Decision < worst.Decision || o.Decision == worst.Decision && o.BrokenMillionths <= worst.BrokenMillionths) {
			continue
		}
		worst, f.Value, f.Decided = o, v.Value, v.Decided[:]
	}
}

// decide makes the decision the finding's verdict. One that does not rest on the value
// alone, as where an order could not be told, stays as it was.
func (t *Trial) decide(f *rule.Finding, d uncertainty.Decision) {
	if !f.ByValue {
		return
	}
	f.Verdict = verdictOf(d)
	say(f)
}

// say gives the reason of a verdict that rests on the value alone, with the value.
func say(f *rule.Finding) {
	if !f.ByValue {
		return
	}
	switch {
	case f.Verdict == rule.Pass:
		f.Reason = ""
	case f.Verdict == rule.Fail:
		f.Reason = fmt.Sprintf("%s, where it must be %s", f.ValueText(), f.LimitText())
	default:
		f.Reason = fmt.Sprintf("%s: %s, where it must be %s", words(f.Appraisal), f.ValueText(), f.LimitText())
	}
}

func words(a *rule.Appraisal) string {
	if a.Decision == uncertainty.ConditionalPass.String() {
		return "conditional pass"
	}
	return "conditional fail"
}
