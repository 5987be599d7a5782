package main

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"pintle/rig/appraise"
	"pintle/rig/rule"
	"pintle/rig/share"
	"pintle/rig/signal"
	"pintle/scenarios"
)

// tight is the part of a limit that the guard band may take before check says so:
// a controller then has to be that much better than its claim to be passed.
const tight = 0.25

// feasibility tells how well this bench measures what each claim's rules ask for,
// which rules it cannot decide, and what would. It gives their number.
func (a *app) feasibility(job *scenarios.Job, all []scenarios.Scenario, everyRule bool) (int, error) {
	appraiser, err := appraiserOf(job)
	if err != nil {
		return 0, err
	}
	running := max(job.Gate.Spec.OpeningCurrent, job.Gate.Spec.ClosingCurrent)
	var reached []appraise.Reach
	undecidable := map[string]appraise.Reach{}
	var order []string
	for i := range all {
		for j := range all[i].Rules {
			r := &all[i].Rules[j]
			reach, ok := appraiser.Reach(r, running)
			if !ok {
				continue
			}
			reached = append(reached, reach)
			if _, known := undecidable[r.Source]; !known && !reach.Decidable() {
				undecidable[r.Source] = reach
				order = append(order, r.Source)
			}
		}
	}
	fmt.Fprintf(a.out, "the best this bench can measure, by %s, %s coverage:\n", appraiser.Decision().Name(), percent(appraiser.Decision().Coverage))
	if everyRule {
		a.reachOfRules(reached)
	} else {
		a.reachOfClaims(reached)
	}
	for _, source := range order {
		a.undecided(appraiser, undecidable[source], running)
	}
	return len(order), nil
}

func percent(x float64) string { return share.Percent(share.Of(x)) }

// reachOfClaims prints for each claim the rule that is measured worst.
func (a *app) reachOfClaims(reached []appraise.Reach) {
	worst := map[string]appraise.Reach{}
	var names []string
	for _, r := range reached {
		name := strings.Join(r.Rule.Claims, ", ")
		if name == "" {
			name = r.Rule.Name
		}
		w, known := worst[name]
		if !known {
			names = append(names, name)
		}
		if !known || r.Share() > w.Share() {
			worst[name] = r
		}
	}
	slices.Sort(names)
	for _, n := range names {
		a.reach(n, worst[n])
	}
}

func (a *app) reachOfRules(reached []appraise.Reach) {
	for _, r := range reached {
		a.reach(r.Rule.Name, r)
		fmt.Fprintf(a.out, "      %s\n", r.Rule.Source)
	}
}

// reach prints one line: what, its limit, and the uncertainty there.
func (a *app) reach(name string, r appraise.Reach) {
	f := rule.Finding{Unit: r.Unit, Sense: r.Sense, Limit: r.Limit, Measured: true, Value: rule.Interval{Least: r.Limit, Most: r.Limit}}
	if r.Expanded > 0 {
		f.Appraisal = &rule.Appraisal{Value: r.Limit, Low: r.Limit - r.Expanded, High: r.Limit + r.Expanded}
	}
	note := ""
	switch {
	case !r.Decidable():
		note = "cannot be decided"
	case r.Share() >= tight:
		note = fmt.Sprintf("tight: %.0f %% of the limit", 100*r.Share())
	}
	const most = 34
	if utf8.RuneCountInString(name) > most {
		fmt.Fprintf(a.out, "  %s\n", name)
		name = ""
	}
	_, doubt := f.ValueParts()
	if doubt != "" {
		doubt = "± " + doubt
	}
	fmt.Fprintln(a.out, strings.TrimRight(fmt.Sprintf("  %-*s %-18s %-11s %s", most, name, f.LimitText(), doubt, note), " "))
}

// undecided tells of a rule that cannot be decided, and what would let it be.
func (a *app) undecided(appraiser *appraise.Appraiser, r appraise.Reach, running signal.Current) {
	f := rule.Finding{Unit: r.Unit, Sense: r.Sense, Limit: r.Limit}
	a.paragraph(fmt.Sprintf("%s: %q cannot be decided here: %s, and the guard band alone is as wide", r.Rule.Source, r.Rule.Name, f.LimitText()))
	for _, m := range appraiser.Remedies(r.Rule, running) {
		what := m.What
		if m.By > 0 {
			what += " " + m.By.String()
		}
		fmt.Fprintf(a.out, "    %s could\n", what)
	}
}
