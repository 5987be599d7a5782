package reportstest

import (
	"fmt"
	"slices"
	"time"

	"pintle/reports"
	"pintle/rig/rule"
)

// Mixed is a run that has every verdict in it, one trial a scenario.
func Mixed() *reports.Run {
	run := frame("mixed-7f3a", 1)
	for _, p := range plots {
		run.Scenarios = append(run.Scenarios, p.perform(1))
	}
	sum(run)
	return run
}

// Sound is a run in which all is well.
func Sound() *reports.Run {
	run := frame("sound-21c8", 3)
	for _, p := range plots {
		if p.verdict == rule.Pass {
			run.Scenarios = append(run.Scenarios, p.perform(3))
		}
	}
	sum(run)
	return run
}

// Many is a long run: the plots over and over, under numbered names that have no
// trace after the first round.
func Many(scenarios, trials int) *reports.Run {
	run := frame("many-90d1", trials)
	for i := range scenarios {
		p := plots[i%len(plots)]
		s := p.perform(trials)
		if i >= len(plots) {
			s.Name = fmt.Sprintf("%s-%d", p.name, i/len(plots)+1)
		}
		run.Scenarios = append(run.Scenarios, s)
	}
	sum(run)
	return run
}

func (p plot) perform(trials int) reports.Scenario {
	s := reports.Scenario{Name: p.name, Title: p.title, Why: p.why, Rules: p.rules, Verdict: p.verdict, Reason: p.reason}
	for n := 1; n <= trials; n++ {
		t := reports.Trial{
			Number: n, Seed: 7000 + uint64(n), Verdict: p.verdict, Reason: p.reason,
			Findings: slices.Clone(p.findings), Troubles: p.troubles,
			Took: time.Duration(p.story().end), Samples: int(p.story().end / ms), Trace: digest(n),
		}
		if n > 1 { // later trials are a little slacker than the first
			for i := range t.Findings {
				f := &t.Findings[i]
				if f.Measured && f.Sense == rule.AtMost && f.Verdict == rule.Pass {
					f.Value.Least -= f.Value.Least / 50
					f.Value.Most -= f.Value.Most / 50
				}
			}
		}
		s.Trials = append(s.Trials, t)
	}
	return s
}

func digest(n int) string { return fmt.Sprintf("%064x", 0x5eed0000+n) }

func sum(run *reports.Run) {
	var vs []rule.Verdict
	for _, s := range run.Scenarios {
		vs = append(vs, s.Verdict)
	}
	run.Verdict = rule.Worst(vs...)
}

func frame(id string, trials int) *reports.Run {
	began := time.Date(2031, 4, 9, 6, 30, 0, 0, time.UTC)
	return &reports.Run{
		ID: id, Began: began, Ended: began.Add(94 * time.Second),
		Program: "pintle 0.1.0", Job: "Slipway barrier, spring overhaul", Place: "Gullhaven boatyard, slip 2",
		Gate: "lift-up barrier, boom 4.2 m, 90 degrees in 6.3 s",
		Controller: reports.Controller{
			Board: "BX-2 barrier board", Maker: "the yard's own workshop", Serial: "0017", Firmware: "2.4.1",
			Digest: "9d5ed678fe57bcca610140957afab571a2d0d5e0d0ab52d9c4a1bb1f4f1b3f22",
			Claims: []reports.Claim{
				{Name: "start delay", Value: "500ms", Means: "from the button to a moving motor"},
				{Name: "stop time", Value: "150ms", Means: "from a limit made to a motor at rest"},
				{Name: "run-time cut-out", Value: "15s", Means: "longest run without a limit"},
				{Name: "reversal pause", Value: "300ms", Means: "rest between the two directions"},
				{Name: "stall current", Value: "12A", Means: "never drawn from the battery"},
				{Name: "stall reaction", Value: "400ms", Means: "from a stalled boom to a motor at rest"},
			},
		},
		Bench: reports.Bench{
			Name: "virtual", Virtual: true, Meter: "simulated shunt meter", Interval: time.Millisecond, Window: time.Millisecond,
			MostDelay: 2 * time.Millisecond, Resolution: 1000, Noise: 20000,
			Description: []string{"battery 12.6 V behind 40 mOhm", "motor on a brake"},
		},
		Seed: 7, Trials: trials,
		Decision: "A value passes where its whole measured interval keeps the limit, fails where its whole interval breaks it, and is inconclusive otherwise.",
		Files: []reports.File{
			{Name: "bench.yaml", SHA256: digest(101)}, {Name: "controller.yaml", SHA256: digest(102)}, {Name: "gate.yaml", SHA256: digest(103)},
			{Name: "scenarios/normal-cycle.yaml", SHA256: digest(104)},
		},
	}
}
