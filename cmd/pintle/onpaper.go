package main

import (
	"fmt"
	"slices"
	"strings"

	"pintle/reports"
	"pintle/rig/appraise"
	"pintle/rig/uncertainty"
	"pintle/scenarios"
)

// onPaper sets out what a run has besides for its certificate: who performed it for
// whom, and what was not done.
func onPaper(run *reports.Run, job *scenarios.Job, chosen []scenarios.Scenario, o runOptions) {
	b, c := &job.Bench, &job.Controller
	run.Laboratory = reports.Laboratory{Name: b.House.Name.Text, Address: b.House.Address.Text}
	run.Customer = reports.Customer{Name: c.Customer.Name.Text, Address: c.Customer.Address.Text, Contact: c.Customer.Contact.Text}
	run.At = b.At.Text
	run.Controller.Received, run.Controller.Condition = c.Received.Text, c.Condition.Text
	if len(o.checked) > 0 {
		run.Bench.LastCheck = o.checked[0]
	}
	run.Deviations = deviations(job, chosen)
	run.NotPerformed = passedOver(job, chosen)
	run.Warnings = mistakable(job)
}

// finest tells of each claim how finely the bench can decide it, by the rule that it
// measures worst.
func finest(appraiser *appraise.Appraiser, job *scenarios.Job, chosen []scenarios.Scenario) []reports.Reach {
	running := max(job.Gate.Spec.OpeningCurrent, job.Gate.Spec.ClosingCurrent)
	worst := map[string]appraise.Reach{}
	for i := range chosen {
		for j := range chosen[i].Rules {
			r := &chosen[i].Rules[j]
			reach, ok := appraiser.Reach(r, running)
			for _, claim := range r.Claims {
				if w, known := worst[claim]; ok && (!known || reach.Share() > w.Share()) {
					worst[claim] = reach
				}
			}
		}
	}
	var all []reports.Reach
	for _, claim := range job.Controller.Values {
		if w, ok := worst[claim.Name]; ok {
			all = append(all, reports.Reach{Claim: claim.Name, Unit: w.Unit, Sense: w.Sense, Limit: w.Limit, Expanded: w.Expanded, Guard: w.Guard})
		}
	}
	return all
}

const notAsked, leftByJob = "not asked for", "left out by controller.yaml"

// passedOver lists the scenarios that could be performed in the job and are not in the
// run. Of those that controller.yaml leaves out it is not known whether they could be.
func passedOver(job *scenarios.Job, chosen []scenarios.Scenario) (all []reports.LeftOut) {
	for _, s := range job.Applicable() {
		if !slices.ContainsFunc(chosen, func(c scenarios.Scenario) bool { return c.Name == s.Name }) {
			all = append(all, reports.LeftOut{Name: s.Name, Title: s.Title, Why: notAsked})
		}
	}
	for _, w := range job.Controller.Scenarios.Without {
		all = append(all, reports.LeftOut{Name: w.Text, Why: leftByJob})
	}
	return all
}

// deviations say what was not performed though it applies, and what was decided in
// another way than by the whole guard band.
func deviations(job *scenarios.Job, chosen []scenarios.Scenario) []string {
	var all, named []string
	for _, l := range passedOver(job, chosen) {
		if l.Why == notAsked {
			named = append(named, l.Name)
		}
	}
	if n := len(named); n > 0 {
		all = append(all, fmt.Sprintf("Not performed though applicable, %d of %d scenarios: %s.", n, len(job.Applicable()), someOf(named)))
	}
	if w := job.Controller.Scenarios; w.BuiltIn.Text == "none" {
		all = append(all, "The built-in scenarios were left out of the job by controller.yaml.")
	} else if len(w.Without) > 0 {
		var names []string
		for _, n := range w.Without {
			names = append(names, n.Text)
		}
		all = append(all, fmt.Sprintf("Left out of the job by controller.yaml: %s.", someOf(names)))
	}
	if d := decisionOf(job); d.Rule.Kind == uncertainty.SimpleAcceptance {
		all = append(all, "No guard band was kept: bench.yaml asks for simple acceptance.")
	} else if p := d.Rule.GuardPercent; p != 100 {
		all = append(all, fmt.Sprintf("The guard band was changed by bench.yaml to %d %% of the expanded uncertainty.", p))
	}
	return all
}

// someOf lists names, as many as a certificate has room for.
func someOf(names []string) string {
	const most = 12
	if len(names) <= most {
		return strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s, and %d more", strings.Join(names[:most], ", "), len(names)-most)
}
