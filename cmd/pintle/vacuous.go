package main

import (
	"fmt"
	"time"

	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/rig/wording"
	"pintle/scenarios"
)

// vacuous tells of rules that are kept whatever the controller does. They prove nothing.
func vacuous(job *scenarios.Job) (why []string) {
	m := meterFacts(job)
	bounds := rule.Bounds{Reading: m.Range - m.Resolution}
	if most := guardOf(job).MostCurrent; most > 0 {
		bounds.Reading = min(bounds.Reading, most-1)
	}
	told := map[string]bool{}
	for _, s := range job.Applicable() {
		bounds.Trial = job.Bench.Longest.Value * time.Duration(max(s.Repeat, 1))
		for i := range s.Rules {
			r := &s.Rules[i]
			if because := rule.Vacuous(r, bounds); because != "" && !told[r.Source+r.Name] {
				told[r.Source+r.Name] = true
				why = append(why, fmt.Sprintf("%s: %q cannot be found broken on this bench: %s", r.Source, r.Name, because))
			}
		}
	}
	return why
}

// unsure tells of a meter that may take a motor that stands for one that moves.
func unsure(job *scenarios.Job) (why []string) {
	a, err := appraiserOf(job)
	stops := thresholdsOf(job).Stops
	if err == nil && a.Off(stops) >= stops {
		why = append(why, fmt.Sprintf("bench.yaml: a reading of %v, below which the motor counts as stopped, may be %v off: whether it stands can hardly be told; take a higher figure for stops below, or a better meter", stops, a.Off(stops)))
	}
	return why
}

// tripping tells of a guard that takes the supply off from a controller which keeps what
// its builder claims: such trials are void, and nobody learns whether the claim is kept.
func tripping(job *scenarios.Job) (why []string) {
	g := guardOf(job)
	if c, ok := job.Controller.Claim("run-time cut-out"); ok && g.LongestDrive <= c.Value.Duration() {
		why = append(why, fmt.Sprintf("bench.yaml: the guard takes the supply off when the motor has run for %s, and the run-time cut-out is claimed to come within %s: whether it does cannot be seen; give the guard a longest drive that is longer, where motor and bridge stand it", wording.Time(g.LongestDrive), wording.Time(c.Value.Duration())))
	}
	if c, ok := job.Controller.Claim("short-circuit current"); ok && job.Lines().Has(signal.MotorShort) && g.MostCurrent <= c.Value.Current() {
		why = append(why, fmt.Sprintf("bench.yaml: the guard takes the supply off at %v, and only a current above %v counts as a short circuit: what the controller does then cannot be seen; give the guard a most current that is larger, where bench and meter stand it", g.MostCurrent, c.Value.Current()))
	}
	return why
}
