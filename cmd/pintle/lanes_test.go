package main

import (
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// The strip shows each line as it was, the current by its height, and goes on to the
// right; it never grows wider than a terminal of 80 columns.
func TestLanes(t *testing.T) {
	t.Setenv("LC_ALL", "C")
	run := &reports.Run{Scenarios: []reports.Scenario{{Name: "normal-cycle", Rules: make([]reports.Rule, 7)}}}
	l := newLanes(run, signal.SetOf(signal.OpenLimit, signal.Supply, signal.Heartbeat), 8*signal.Ampere)
	ms := func(n int) signal.Instant { return signal.Instant(n) * signal.Instant(time.Millisecond) }
	sample := func(at int, a signal.Current) {
		l.See(&rig.Observation{Kind: rig.Sampled, Sample: signal.Sample{From: ms(at - 1), To: ms(at), Current: a}})
	}
	edge := func(at int, line signal.Line, v signal.Level) {
		l.See(&rig.Observation{Kind: rig.Emitted, Line: line, Level: v, Span: signal.Span{Early: ms(at), Late: ms(at)}})
	}
	l.Begin(rig.Beginning{Trial: 2, Trials: 3})
	var initial [signal.LineCount]signal.Level
	initial[signal.Supply] = signal.Made
	l.Rise(initial)
	sample(100, 0)
	sample(600, -4*signal.Ampere)
	edge(800, signal.OpenLimit, signal.Made)
	sample(1100, 20*signal.Ampere)
	edge(1600, signal.OpenLimit, signal.Broken)
	l.Settle(0, rule.Pass, 0)
	require.Equal(t, []string{
		"normal-cycle, trial 2 of 3: 1.6 s, 20.0 A; 1 of 7 rules settled, 0 failed",
		"     open-limit  ___|^^|",
		"         supply  ^^^^^^^",
		"        current  __=_#__",
	}, l.rows(80))

	t.Setenv("LC_ALL", "C.UTF-8")
	l.signs = &fineSigns
	sample(100_000, 0)
	for _, row := range l.rows(80) {
		require.LessOrEqual(t, utf8.RuneCountInString(row), 79)
	}
	require.Equal(t, strings.Repeat("▁", laneColumns), strings.Fields(l.rows(80)[3])[1], "what was is gone to the left")
	l.Begin(rig.Beginning{Trial: 3, Trials: 3})
	require.Equal(t, "normal-cycle, trial 3 of 3: 0.0 s, 0.0 A", l.rows(80)[0])
}

// However narrow the terminal is, what is now is on it: what was longest ago gives way.
func TestLanesOnANarrowTerminal(t *testing.T) {
	t.Setenv("LC_ALL", "C")
	run := &reports.Run{Scenarios: []reports.Scenario{{Name: "normal-cycle", Rules: make([]reports.Rule, 7)}}}
	l := newLanes(run, signal.SetOf(signal.ClosedLimit), 8*signal.Ampere)
	l.Begin(rig.Beginning{Trial: 1, Trials: 1})
	l.Rise([signal.LineCount]signal.Level{})
	ms := func(n int) signal.Instant { return signal.Instant(n) * signal.Instant(time.Millisecond) }
	l.See(&rig.Observation{Kind: rig.Sampled, Sample: signal.Sample{From: ms(39_000), To: ms(39_900)}})
	l.See(&rig.Observation{Kind: rig.Emitted, Line: signal.ClosedLimit, Level: signal.Made, Span: signal.At(ms(39_900))})
	l.Settle(0, rule.Fail, 0)
	require.Equal(t, "normal-c, trial 1 of 1: 39.9 s, 0.0 A; 1 of 7 rules settled, 1 failed", l.rows(70)[0], "the name gives way first")
	for columns, want := range map[int]string{
		80: "   closed-limit  " + strings.Repeat("_", laneColumns-1) + "|",
		40: "   closed-limit  " + strings.Repeat("_", 21) + "|",
		20: "closed-  " + strings.Repeat("_", 9) + "|",
		1:  "closed-  " + strings.Repeat("_", 7) + "|",
	} {
		rows := l.rows(columns)
		require.Equal(t, want, rows[1], columns)
		require.Len(t, rows, 3)
		if columns > 1 {
			for _, row := range rows {
				require.Less(t, len(row), columns, columns)
			}
		}
	}
}
