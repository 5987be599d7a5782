package main

import (
	"bytes"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/drivers/virtual"
	"pintle/reports/tracefile"
	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/scenarios"
)

// A passed trial whose trace has what would have made it void is told as a difference: the
// meter and the guard are those of the record's own bench file.
func TestAPassOnATraceOfAFailedBenchIsADifference(t *testing.T) {
	job, err := scenarios.Demo(equipment())
	require.NoError(t, err)
	s, _ := job.Scenario("normal-cycle")
	bench, err := virtual.New(virtualConfig(job), 0)
	require.NoError(t, err)
	conducted, err := rigJob(job)
	require.NoError(t, err)
	require.Equal(t, bench.Facts().Meter, conducted.Meter, "the files tell of the meter what the bench does")
	l := newLedger("a", job, []scenarios.Scenario{*s}, bench.Facts(), runOptions{seed: 1, trials: 1, shows: demonstration{trials: 1}})
	o, err := rig.NewConductor(conducted, bench, bench.Facts(), nil).Perform(&s.Scenario, rig.Seed(1, s.Name, 1), days(job, 1, false)(s.Name, 1))
	require.NoError(t, err)
	require.Equal(t, rule.Pass, o.Verdict, o.Reason)
	o.Trial = 1
	for name, c := range map[string]struct {
		change func([]signal.Sample) []signal.Sample
		void   bool
	}{
		"as it was":    {func(x []signal.Sample) []signal.Sample { return x }, false},
		"a gap":        {func(x []signal.Sample) []signal.Sample { return slices.Delete(x, len(x)/2, len(x)/2+20) }, true},
		"its end":      {func(x []signal.Sample) []signal.Sample { return x[:len(x)/2] }, true},
		"clipped":      {func(x []signal.Sample) []signal.Sample { x[len(x)/2].Current = job.Bench.Meter.Range.Value; return x }, true},
		"out of order": {func(x []signal.Sample) []signal.Sample { slices.Reverse(x[len(x)/2 : len(x)/2+4]); return x }, true},
	} {
		_, trial := l.take(&o)
		trace := *o.Trace
		trace.Samples = c.change(slices.Clone(trace.Samples))
		trial.Samples = len(trace.Samples)
		var file bytes.Buffer
		require.NoError(t, tracefile.Write(&file, &trace))
		a := readAgain(t, l.run)
		w := worker{again: a, judge: rig.NewRejudger(a.conducted), day: days(a.job, 1, false)}
		require.NoError(t, w.trial(&performed{0, &trial, file.Bytes()}))
		if !c.void {
			require.Empty(t, a.differs, name)
			continue
		}
		require.True(t, slices.ContainsFunc(a.differs, func(d difference) bool {
			return d.What == "verdict" && d.Recorded == "pass" && d.Again == "void"
		}), "%s: %+v", name, a.differs)
	}
}
