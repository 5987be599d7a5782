package scenarios

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/fault"
	"pintle/rig/rule"
	"pintle/scenarios/yamlfile"
)

// Every scenario that loads can be begun: the engine takes its rules and faults.
func TestWhatLoadsCanBegin(t *testing.T) {
	job, err := Demo(equipment)
	require.NoError(t, err)
	for _, s := range job.Scenarios {
		_, err := rule.Compile(s.Rules, nil)
		assert.NoError(t, err, s.Name)
		for _, f := range s.Faults {
			assert.NoError(t, f.Check(), s.Name)
		}
	}
	assert.NoError(t, job.Gate.Spec.Check())
}

// A claim that the controller does not make is no mistake of the scenarios that
// ask for it: they do not apply, and say why.
func TestScenarioWithoutItsClaim(t *testing.T) {
	files := Starter(equipment)
	files["controller.yaml"] = []byte("board: Bare\nclaims:\n  run-time cut-out: 15s\n  start delay: 250ms\n")
	job, err := Load(folder(files), "my-job", equipment)
	require.NoError(t, err)
	s, ok := job.Scenario("reversal-dead-time")
	require.True(t, ok)
	assert.Contains(t, s.NotApplicable, "the controller makes no claim")
	s, ok = job.Scenario("missed-closed-limit")
	require.True(t, ok)
	assert.NotEmpty(t, s.NotApplicable)
	for _, s := range job.Applicable() {
		_, err := rule.Compile(s.Rules, nil)
		assert.NoError(t, err, s.Name)
	}
}

// What only the engine finds is told at the entry that it is about.
func TestTryTellsWhatTheEngineRefuses(t *testing.T) {
	file := yamlfile.New("mine.yaml", []byte("title: Mine\nfaults:\n  - here\nrules:\n  - there\n"))
	at := func(line int) yamlfile.Where {
		return yamlfile.Where{Source: yamlfile.Source{File: file, Line: line, Col: 5}}
	}
	c := &compiler{job: &Job{}, rel: "mine.yaml", file: &ScenarioFile{Faults: []FaultFile{{Where: at(3)}}, Rules: []RuleFile{{Where: at(5)}}}}
	var s Scenario
	s.Faults = []fault.Fault{{Kind: fault.Late, By: 25 * time.Hour}}
	s.Rules = []rule.Rule{{Name: "x", Pattern: rule.MaximumDuration, Source: "mine.yaml:5:5"}}
	bad := c.try(&s)
	require.Len(t, bad, 4)
	assert.Equal(t, 3, bad[0].Line)
	assert.Contains(t, bad[0].Text, "this fault cannot be: ")
	assert.Equal(t, 5, bad[2].Line)
	assert.Contains(t, bad[2].Text, "this rule cannot be followed: its limit of 0s is not positive")

	g := &GateFile{Title: yamlfile.Text{Source: at(1).Source}}
	bad = g.try()
	require.NotEmpty(t, bad)
	assert.Equal(t, 1, bad[0].Line)
}

func TestParts(t *testing.T) {
	a, b, c := errors.New("a"), errors.New("b"), errors.New("c")
	assert.Equal(t, []error{a, b, c}, parts(errors.Join(errors.Join(a, b), c)))
	wrapped := fmt.Errorf("x: %w", a)
	assert.Equal(t, []error{wrapped}, parts(wrapped))
	assert.Nil(t, parts(nil))
}
