package rig_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// marks lists the texts of a trial's marks.
func marks(o rig.Outcome) []string {
	var texts []string
	for _, m := range o.Trace.Marks {
		texts = append(texts, m.Text)
	}
	return texts
}

func TestAScriptIsRepeated(t *testing.T) {
	s := cycle()
	s.Repeat = 3
	s.Rules = append(s.Rules, rule.Rule{Name: "opens three times", Pattern: rule.BoundedExistence, Count: 3, P: becomes(motor(motion.Opening))},
		rule.Rule{Name: "opens twice at most", Pattern: rule.BoundedExistence, Count: 2, P: becomes(motor(motion.Opening))})
	o := perform(t, barrier(), s, nil)
	require.Len(t, o.Findings, 5)
	for _, f := range o.Findings[:4] {
		assert.Equal(t, rule.Pass, f.Verdict, s.Rules[f.Rule].Name)
	}
	assert.Equal(t, rule.Fail, o.Findings[4].Verdict, "a third time is performed")
	presses := 0
	for _, text := range marks(o) {
		if text == "press remote" {
			presses++
		}
	}
	assert.Equal(t, 6, presses)
}

// The longest time of a trial holds for each time that the script is performed.
func TestTheLongestTimeGrowsWithTheRepetitions(t *testing.T) {
	job := barrier()
	job.Limit = 25 * time.Second // a cycle takes some 16 s
	for repeat, want := range map[int]rule.Verdict{1: rule.Pass, 3: rule.Pass} {
		s := cycle()
		s.Repeat = repeat
		o := perform(t, job, s, nil)
		assert.Equal(t, want, o.Verdict, "repeated %d times: %s", repeat, o.Reason)
	}
}

// Once every rule is settled nothing that comes can change a verdict, and the
// trial is over: here the only rule is broken at the very first start.
func TestATrialEndsOnceEverythingIsSettled(t *testing.T) {
	s := cycle()
	s.Rules = []rule.Rule{{Name: "never opens", Pattern: rule.Absence, P: motor(motion.Opening)}}
	o := perform(t, barrier(), s, nil)
	assert.Equal(t, rule.Fail, o.Verdict)
	assert.Less(t, o.Took, 3*time.Second)
	assert.Contains(t, marks(o), "every rule is settled")

	open := cycle()
	open.Rules = append(open.Rules, s.Rules...)
	whole := perform(t, barrier(), open, nil)
	assert.Greater(t, whole.Took, 12*time.Second, "the other rules are not settled")
	assert.NotContains(t, marks(whole), "every rule is settled")
}

// What ended early is judged the same when it is judged again from its trace.
func TestAnEarlyEndIsRejudgedTheSame(t *testing.T) {
	s := cycle()
	s.Rules = []rule.Rule{
		{Name: "opens", Pattern: rule.Existence, P: motor(motion.Opening)},
		{Name: "never opens", Pattern: rule.Absence, P: motor(motion.Opening)},
	}
	config := virtual.DefaultConfig()
	bench, err := virtual.New(config, 1)
	require.NoError(t, err)
	job := barrier()
	o, err := rig.NewConductor(job, bench, bench.Facts(), nil).Perform(&s, 7, rig.Day{})
	require.NoError(t, err)
	assert.Less(t, o.Took, 3*time.Second)
	again, err := rig.Rejudge(job, &s, o.Trace)
	require.NoError(t, err)
	assert.Equal(t, o.Findings, again)
	assert.Equal(t, signal.Broken, o.Trace.Initial[signal.Supply])
}

// Without its samples a trial comes to the same.
func TestABriefTrialComesToTheSame(t *testing.T) {
	s := cycle()
	whole := perform(t, barrier(), s, nil)
	require.NotEmpty(t, whole.Trace.Samples)
	bench, err := virtual.New(virtual.DefaultConfig(), 1)
	require.NoError(t, err)
	c := rig.NewConductor(barrier(), bench, bench.Facts(), nil)
	c.Brief()
	brief, err := c.Perform(&s, 7, rig.Day{})
	require.NoError(t, err)
	assert.Equal(t, whole.Findings, brief.Findings)
	assert.Equal(t, whole.Took, brief.Took)
	assert.Less(t, len(brief.Trace.Samples), 100, "what came before the origin")
}
