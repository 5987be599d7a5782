package account

import (
	"fmt"

	"pintle/reports"
)

// Excerpt is one scenario of a run, or one trial of it where one is given, as a run
// of its own, with what it is of in words. Its verdict is that of the part alone,
// which says nothing of the rest; what was left out of the run is not told in it.
func Excerpt(run *reports.Run, s *reports.Scenario, t *reports.Trial) (*reports.Run, string) {
	part, scenario := *run, *s
	of := fmt.Sprintf("scenario %s alone, of the %s of run %s", s.Name, Count(len(run.Scenarios), "scenario"), run.ID)
	if t != nil {
		of = fmt.Sprintf("trial %d alone of scenario %s, of the %s of it in run %s", t.Number, s.Name, Count(len(s.Trials), "trial"), run.ID)
		scenario.Trials, scenario.Shown = []reports.Trial{*t}, nil
		scenario.Verdict, scenario.Reason = t.Verdict, t.Reason
		part.Trials, part.Demonstration = 1, nil
	}
	part.Scenarios, part.LeftOut, part.NotPerformed, part.Verdict = []reports.Scenario{scenario}, nil, nil, scenario.Verdict
	return &part, of
}
