package reportstest

import (
	"pintle/reports"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A plot is a scenario of the example run and what each of its trials shows.
type plot struct {
	name, title, why string
	verdict          rule.Verdict
	reason           string
	rules            []reports.Rule
	findings         []rule.Finding
	troubles         []string
	story            func() story
}

func span(early, late signal.Instant) signal.Span { return signal.Span{Early: early, Late: late} }

func interval(least, most signal.Instant) rule.Interval {
	return rule.Interval{Least: int64(least), Most: int64(most)}
}

var plots = []plot{
	{
		name:    "normal-cycle",
		title:   "Up and down again",
		why:     "The boat goes under, the boom comes down. Whatever else is claimed, this must work.",
		verdict: rule.Pass,
		rules: []reports.Rule{
			{Name: "motor opening within 500ms of remote pressed", Pattern: "bounded response", Limit: "claim start delay", Claims: []string{"start delay"}, Source: "scenarios/normal-cycle.yaml:14:5"},
			{Name: "motor stopped within 150ms of open-limit made", Pattern: "bounded response", Limit: "claim stop time", Claims: []string{"stop time"}, Source: "scenarios/normal-cycle.yaml:17:5"},
			{Name: "current under 14 A", Pattern: "current under", Limit: "14A", Source: "scenarios/normal-cycle.yaml:20:5"},
		},
		findings: []rule.Finding{
			{Rule: 0, Verdict: rule.Pass, Unit: rule.Nanoseconds, Sense: rule.AtMost, Measured: true, Value: interval(139*ms, 141*ms), Limit: int64(500 * ms), Exercised: 2,
				Decided: []signal.Span{span(1000*ms, 1000*ms), span(1139*ms, 1141*ms)}},
			{Rule: 1, Verdict: rule.Pass, Unit: rule.Nanoseconds, Sense: rule.AtMost, Measured: true, Value: interval(118*ms, 121*ms), Limit: int64(150 * ms), Exercised: 1,
				Decided: []signal.Span{span(7400*ms, 7400*ms), span(7518*ms, 7521*ms)}},
			{Rule: 2, Verdict: rule.Pass, Unit: rule.Microamperes, Sense: rule.AtMost, Measured: true, Value: rule.Interval{Least: 10_190_000, Most: 10_230_000}, Limit: 14_000_000, Exercised: 1,
				Decided: []signal.Span{span(1140*ms, 1141*ms)}},
		},
		story: func() story {
			return story{
				end:     16500 * ms,
				initial: []signal.Line{signal.ClosedLimit, signal.Supply},
				edges: []signal.EdgeSeen{
					edge(signal.Remote, signal.Made, 1000*ms, 0), edge(signal.Remote, signal.Broken, 1300*ms, 0),
					edge(signal.ClosedLimit, signal.Broken, 1420*ms, 0),
					edge(signal.OpenLimit, signal.Made, 7400*ms, 0),
					edge(signal.Remote, signal.Made, 9000*ms, 0), edge(signal.Remote, signal.Broken, 9300*ms, 0),
					edge(signal.OpenLimit, signal.Broken, 9400*ms, 0),
					edge(signal.ClosedLimit, signal.Made, 15100*ms, 0),
				},
				strokes: []stroke{{1140 * ms, 7520 * ms, 4_200_000, 0}, {9140 * ms, 15222 * ms, -3_600_000, 0}},
				marks: []signal.Mark{{At: 1000 * ms, Text: "press: remote"}, {At: 1140 * ms, Text: "await: motor opening"},
					{At: 7520 * ms, Text: "await: motor stopped"}, {At: 9000 * ms, Text: "press: remote"}, {At: 15222 * ms, Text: "await: motor stopped"}, {At: 16500 * ms, Text: "end"}},
			}
		},
	},
	{
		name:    "missed-closed-limit",
		title:   "The closed limit never arrives",
		why:     "A magnet has fallen off. Only the run-time cut-out is left between the motor and the stop.",
		verdict: rule.Fail,
		reason:  "motor closing for longer than allowed",
		rules: []reports.Rule{
			{Name: "motor closing for at most 15s", Pattern: "maximum duration", Limit: "claim run-time cut-out", Claims: []string{"run-time cut-out"}, Source: "scenarios/missed-closed-limit.yaml:12:5"},
			{Name: "absence: motor opening", Pattern: "absence", Source: "scenarios/missed-closed-limit.yaml:14:5"},
		},
		findings: []rule.Finding{
			{Rule: 0, Verdict: rule.Fail, Reason: "motor closing for longer than allowed", Unit: rule.Nanoseconds, Sense: rule.AtMost, Measured: true, Value: interval(16238*ms, 16242*ms), Limit: int64(15000 * ms), Exercised: 1,
				Decided: []signal.Span{span(1138*ms, 1140*ms), span(17378*ms, 17380*ms)}},
			{Rule: 1, Verdict: rule.Pass, Exercised: 1},
		},
		story: func() story {
			return story{
				end:     20000 * ms,
				initial: []signal.Line{signal.OpenLimit, signal.Supply},
				edges: []signal.EdgeSeen{
					edge(signal.Remote, signal.Made, 1000*ms, 0), edge(signal.Remote, signal.Broken, 1300*ms, 0),
					edge(signal.OpenLimit, signal.Broken, 1420*ms, 0),
				},
				strokes: []stroke{{1139 * ms, 17379 * ms, -3_600_000, 7200 * ms}},
				marks: []signal.Mark{{At: 1000 * ms, Text: "press: remote"}, {At: 1139 * ms, Text: "await: motor closing"},
					{At: 1139 * ms, Text: "wait: claim run-time cut-out + 3s"}, {At: 19139 * ms, Text: "end"}},
			}
		},
	},
	{
		name:    "reversal-dead-time",
		title:   "Pressed again while moving",
		why:     "A relay that turns the motor round without a pause welds its contacts.",
		verdict: rule.Pass,
		rules: []reports.Rule{
			{Name: "motor stopped for at least 300ms", Pattern: "minimum duration", Limit: "claim reversal pause", Claims: []string{"reversal pause"}, Source: "scenarios/reversal-dead-time.yaml:13:5"},
		},
		findings: []rule.Finding{
			{Rule: 0, Verdict: rule.Pass, Unit: rule.Nanoseconds, Sense: rule.AtLeast, Measured: true, Value: interval(407*ms, 411*ms), Limit: int64(300 * ms), Exercised: 1,
				Decided: []signal.Span{span(4119*ms, 4121*ms), span(4528*ms, 4530*ms)}},
		},
		story: func() story {
			return story{
				end:     9000 * ms,
				initial: []signal.Line{signal.ClosedLimit, signal.Supply},
				edges: []signal.EdgeSeen{
					edge(signal.Remote, signal.Made, 1000*ms, 0), edge(signal.Remote, signal.Broken, 1300*ms, 0),
					edge(signal.ClosedLimit, signal.Broken, 1420*ms, 0),
					edge(signal.Remote, signal.Made, 4000*ms, 0), edge(signal.Remote, signal.Broken, 4300*ms, 0),
					edge(signal.ClosedLimit, signal.Made, 7400*ms, 0),
				},
				strokes: []stroke{{1140 * ms, 4120 * ms, 4_200_000, 0}, {4529 * ms, 7522 * ms, -3_600_000, 0}},
				marks:   []signal.Mark{{At: 1000 * ms, Text: "press: remote"}, {At: 4000 * ms, Text: "press: remote"}, {At: 9000 * ms, Text: "end"}},
			}
		},
	},
	{
		name:    "bouncing-limit",
		title:   "The open limit bounces",
		why:     "A reed contact closes a dozen times before it stays closed. One arrival must be taken as one arrival.",
		verdict: rule.Inconclusive,
		reason:  "the limit lies within the measurement's uncertainty",
		rules: []reports.Rule{
			{Name: "motor stopped within 150ms of open-limit made", Pattern: "bounded response", Limit: "claim stop time", Claims: []string{"stop time"}, Source: "scenarios/bouncing-limit.yaml:15:5"},
		},
		findings: []rule.Finding{
			{Rule: 0, Verdict: rule.Inconclusive, Reason: "the limit lies within the measurement's uncertainty", Unit: rule.Nanoseconds, Sense: rule.AtMost, Measured: true, Value: interval(146*ms, 152*ms), Limit: int64(150 * ms), Exercised: 1,
				Decided: []signal.Span{span(6400*ms, 6400*ms), span(6546*ms, 6552*ms)}},
		},
		story: func() story {
			s := story{
				end:     8000 * ms,
				initial: []signal.Line{signal.ClosedLimit, signal.Supply},
				edges: []signal.EdgeSeen{
					edge(signal.Remote, signal.Made, 500*ms, 0), edge(signal.Remote, signal.Broken, 800*ms, 0),
					edge(signal.ClosedLimit, signal.Broken, 920*ms, 0),
				},
				strokes: []stroke{{640 * ms, 6549 * ms, 4_200_000, 0}},
				marks:   []signal.Mark{{At: 500 * ms, Text: "press: remote"}, {At: 6549 * ms, Text: "await: motor stopped"}, {At: 8000 * ms, Text: "end"}},
			}
			at := 6400 * ms
			for i := range signal.Instant(7) { // wide at first, then closer
				s.edges = append(s.edges, edge(signal.OpenLimit, signal.Made, at, 0))
				if i < 6 {
					s.edges = append(s.edges, edge(signal.OpenLimit, signal.Broken, at+(8-i)*ms/2, 0))
				}
				at += (9 - i) * ms
			}
			return s
		},
	},
	{
		name:    "stall-mid-travel",
		title:   "Something is in the way",
		why:     "A mast stands under the boom. The controller must notice by the current alone.",
		verdict: rule.Pass,
		rules: []reports.Rule{
			{Name: "current under 12 A", Pattern: "current under", Limit: "claim stall current", Claims: []string{"stall current"}, Source: "scenarios/stall-mid-travel.yaml:14:5"},
			{Name: "motor stopped within 400ms of stall-load stalled", Pattern: "bounded response", Limit: "claim stall reaction", Claims: []string{"stall reaction"}, Source: "scenarios/stall-mid-travel.yaml:16:5"},
		},
		findings: []rule.Finding{
			{Rule: 0, Verdict: rule.Pass, Unit: rule.Microamperes, Sense: rule.AtMost, Measured: true, Value: rule.Interval{Least: 11_180_000, Most: 11_260_000}, Limit: 12_000_000, Exercised: 1,
				Decided: []signal.Span{span(3550*ms, 3551*ms)}},
			{Rule: 1, Verdict: rule.Pass, Unit: rule.Nanoseconds, Sense: rule.AtMost, Measured: true, Value: interval(301*ms, 303*ms), Limit: int64(400 * ms), Exercised: 1,
				Decided: []signal.Span{span(3500*ms, 3500*ms), span(3801*ms, 3803*ms)}},
		},
		story: func() story {
			return story{
				end:     6000 * ms,
				initial: []signal.Line{signal.OpenLimit, signal.Supply},
				edges: []signal.EdgeSeen{
					edge(signal.Remote, signal.Made, 500*ms, 0), edge(signal.Remote, signal.Broken, 800*ms, 0),
					edge(signal.OpenLimit, signal.Broken, 920*ms, 0),
					edge(signal.StallLoad, signal.Made, 3500*ms, 2*ms), edge(signal.StallLoad, signal.Broken, 5000*ms, 2*ms),
				},
				strokes: []stroke{{640 * ms, 3802 * ms, -3_600_000, 3500 * ms}},
				marks:   []signal.Mark{{At: 500 * ms, Text: "press: remote"}, {At: 3500 * ms, Text: "obstruct: here"}, {At: 5000 * ms, Text: "clear"}, {At: 6000 * ms, Text: "end"}},
			}
		},
	},
	{
		name:    "press-at-limit",
		title:   "Pressed when already up",
		why:     "The boom is up and stays up; the motor must not push against the stop.",
		verdict: rule.Inconclusive,
		reason:  "not exercised: the motor never stopped",
		rules: []reports.Rule{
			{Name: "motor opening never after motor stopped", Pattern: "absence", Source: "scenarios/press-at-limit.yaml:11:5"},
		},
		findings: []rule.Finding{{Rule: 0, Verdict: rule.Inconclusive, Reason: "not exercised: the motor never stopped"}},
		story: func() story {
			return story{
				end:     4000 * ms,
				initial: []signal.Line{signal.OpenLimit, signal.Supply},
				edges: []signal.EdgeSeen{
					edge(signal.Remote, signal.Made, 1000*ms, 0), edge(signal.Remote, signal.Broken, 1300*ms, 0),
				},
				marks: []signal.Mark{{At: 1000 * ms, Text: "press: remote"}, {At: 4000 * ms, Text: "end"}},
			}
		},
	},
	{
		name:     "supply-returns",
		title:    "The supply is lost and comes back",
		why:      "The battery lead is loose. After the light comes back on the boom must stay where it is.",
		verdict:  rule.Void,
		reason:   "the meter fell silent at 2.1 s: no sample for 500ms",
		rules:    []reports.Rule{{Name: "motor opening never after supply on", Pattern: "absence", Source: "scenarios/supply-returns.yaml:12:5"}},
		findings: []rule.Finding{{Rule: 0, Verdict: rule.Void, Reason: "the bench failed"}},
		troubles: []string{"2.1 s: meter: no sample for 500ms"},
		story: func() story {
			return story{
				end:     2600 * ms,
				initial: []signal.Line{signal.ClosedLimit, signal.Supply},
				edges: []signal.EdgeSeen{
					edge(signal.Remote, signal.Made, 500*ms, 0), edge(signal.Remote, signal.Broken, 800*ms, 0),
					edge(signal.ClosedLimit, signal.Broken, 920*ms, 0),
					edge(signal.Supply, signal.Broken, 1900*ms, 1*ms), edge(signal.Supply, signal.Made, 2400*ms, 1*ms),
				},
				strokes: []stroke{{640 * ms, 1900 * ms, 4_200_000, 0}},
				marks:   []signal.Mark{{At: 500 * ms, Text: "press: remote"}, {At: 1900 * ms, Text: "supply off"}, {At: 2400 * ms, Text: "supply on"}},
				silent:  2100 * ms,
			}
		},
	},
}
