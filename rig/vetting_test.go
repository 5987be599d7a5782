package rig_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// What would have made a trial void while it was performed makes it void where its trace
// tells of it: no trace with a hole in it, out of order or clipped is one of a pass.
func TestATraceThatTellsOfABenchThatFailedIsNoPass(t *testing.T) {
	job, s := barrier(), cycle()
	job.Meter = virtual.DefaultConfig().Meter.Facts()
	o := perform(t, job, s, nil)
	require.Equal(t, rule.Pass, o.Verdict, o.Reason)
	whole, end := o.Trace.Samples, o.Trace.End
	at := slices.IndexFunc(whole, func(x signal.Sample) bool { return x.From > signal.Instant(4*time.Second) })
	began := slices.IndexFunc(whole, func(x signal.Sample) bool { return x.To > 0 })
	r := rig.NewRejudger(job)
	for name, c := range map[string]struct {
		change func(x []signal.Sample) []signal.Sample
		code   string // empty: nothing is wrong
	}{
		"as it was":            {func(x []signal.Sample) []signal.Sample { return x }, ""},
		"one is missing":       {func(x []signal.Sample) []signal.Sample { return slices.Delete(x, at, at+1) }, ""},
		"ten are missing":      {func(x []signal.Sample) []signal.Sample { return slices.Delete(x, at, at+10) }, "samples-lost"},
		"each second":          {func(x []signal.Sample) []signal.Sample { return everySecond(x, at) }, "samples-lost"},
		"the first second":     {func(x []signal.Sample) []signal.Sample { return slices.Delete(x, 0, began+1000) }, "samples-lost"},
		"the last second":      {func(x []signal.Sample) []signal.Sample { return x[:len(x)-1000] }, "samples-lost"},
		"all":                  {func([]signal.Sample) []signal.Sample { return nil }, "samples-lost"},
		"two change places":    {func(x []signal.Sample) []signal.Sample { x[at], x[at+1] = x[at+1], x[at]; return x }, "samples-disordered"},
		"one ends before":      {func(x []signal.Sample) []signal.Sample { x[at].To = x[at].From - 1; return x }, "samples-disordered"},
		"clipped":              {func(x []signal.Sample) []signal.Sample { x[at].Current = -job.Meter.Range; return x }, "meter-over-range"},
		"beyond the guard":     {func(x []signal.Sample) []signal.Sample { x[at].Current = job.Guard.MostCurrent; return x }, rig.GuardCurrent},
		"beyond all reckoning": {func(x []signal.Sample) []signal.Sample { x[at].Current = -1 << 63; return x }, "meter-over-range"},
	} {
		trace := *o.Trace
		trace.Samples, trace.End = c.change(slices.Clone(whole)), end
		out, err := r.Judge(&s, &s, &trace, nil)
		require.NoError(t, err)
		if c.code == "" {
			assert.Equal(t, rule.Pass, out.Verdict, "%s: %s", name, out.Reason)
			continue
		}
		assert.NotEqual(t, rule.Pass, out.Verdict, "%s: %s", name, out.Reason)
		told, err := r.Judge(&s, &s, &trace, []rig.BenchTrouble{{Code: c.code, Text: "it was told"}})
		require.NoError(t, err)
		if told.Verdict == rule.Void {
			assert.Equal(t, "it was told", told.Reason, name)
		}
	}
}

// everySecond leaves out every second sample from one on, which no two neighbours tell.
func everySecond(x []signal.Sample, from int) []signal.Sample {
	kept := x[:from]
	for i := from; i < len(x); i += 2 {
		kept = append(kept, x[i])
	}
	return kept
}
