package evidence

import (
	"fmt"

	"pintle/reports"
	"pintle/rig/reliability"
	"pintle/rig/rule"
)

// A Gap is a scenario of which fewer trials were performed than were asked for.
type Gap struct {
	Scenario  string
	Asked     int
	Performed int
}

// asked is how many trials of a scenario there have to be for a verdict on it.
func asked(run *reports.Run, s *reports.Scenario) int {
	if d := run.Demonstration; d != nil && d.Sequential && s.Shown != nil && s.Shown.State != reliability.Continue {
		return s.Shown.Trials // it was decided, and needed no more
	}
	return run.Trials
}

// complete holds the trials that there are against what a run says of them. numbers
// gives those of each scenario, in their order. Trials may lack only where the verdict
// owns up to it: a scenario that lacks some is void, or failed, or nothing was said.
func complete(run *reports.Run, numbers [][]int) ([]Gap, error) {
	var gaps []Gap
	names := map[string]bool{}
	for i := range run.Scenarios {
		s, performed := &run.Scenarios[i], numbers[i]
		if names[s.Name] {
			return nil, fmt.Errorf("%s: %w: it names scenario %s twice", runName, ErrContradiction, clip(s.Name))
		}
		names[s.Name] = true
		want := asked(run, s)
		if err := settled(run, s, want, performed); err != nil {
			return nil, err
		}
		if len(performed) < want {
			gaps = append(gaps, Gap{s.Name, want, len(performed)})
		}
	}
	return gaps, nil
}

// settled checks one scenario.
func settled(run *reports.Run, s *reports.Scenario, want int, performed []int) error {
	n := len(performed)
	for i, number := range performed {
		if number < 1 || i > 0 && number <= performed[i-1] {
			return fmt.Errorf("%w: trial %d of %s is not in its place", ErrReordered, number, clip(s.Name))
		}
		if number > run.Trials {
			return fmt.Errorf("%w: trial %d of %s, where %d were asked for", ErrAdded, number, clip(s.Name), run.Trials)
		}
	}
	if s.Shown != nil && s.Shown.Trials != n {
		return countError(s, n, s.Shown.Trials)
	}
	if n < want && (s.Verdict == rule.Pass || s.Verdict == rule.Inconclusive) {
		return countError(s, n, want)
	}
	return nil
}

// countError says that a scenario has not the trials that its verdict rests on.
func countError(s *reports.Scenario, n, want int) error {
	if n > want {
		return fmt.Errorf("%w: scenario %s has %d trials, and its summary is of %d", ErrAdded, clip(s.Name), n, want)
	}
	return fmt.Errorf("%w: scenario %s has %d trials, and its verdict rests on %d", ErrRemoved, clip(s.Name), n, want)
}
