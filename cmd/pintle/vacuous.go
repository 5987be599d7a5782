package main

import (
	"fmt"
	"time"

	"pintle/rig/rule"
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
