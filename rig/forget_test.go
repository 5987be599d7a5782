package rig_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/drivers/benchtest"
	"pintle/rig"
	"pintle/rig/gate"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A going bench goes on between two trials, and gives what it is told to in place of a
// sample.
type going struct {
	*benchtest.Fake
	instead func(began, now signal.Instant, s *signal.Sample)
	began   signal.Instant
}

func (g *going) Forget() { g.began = g.Now() }

func (g *going) Next(until signal.Instant) (rig.Observation, error) {
	o, err := g.Fake.Next(until)
	if o.Kind == rig.Sampled {
		g.instead(g.began, g.Now(), &o.Sample)
	}
	return o, err
}

// Readings that may be of before a trial are not looked at, whatever they say; those that
// begin with it are. In the trial itself none comes out of its turn.
func TestReadingsOfBeforeATrial(t *testing.T) {
	odd := func(from signal.Instant, current signal.Current) func(began, now signal.Instant, s *signal.Sample) {
		return func(began, now signal.Instant, s *signal.Sample) {
			if now < began.Add(2*ms) {
				*s = signal.Sample{From: began + from, To: now, Current: current}
			}
		}
	}
	for _, c := range []struct {
		name    string
		instead func(began, now signal.Instant, s *signal.Sample)
		code    string
	}{
		{"much current before", odd(-1, 70*signal.Ampere), ""},
		{"much current from then on", odd(0, 70*signal.Ampere), rig.GuardCurrent},
		{"over range before", odd(-1, 59*signal.Ampere), ""},
		{"over range from then on", odd(0, 59*signal.Ampere), "meter-over-range"},
		{"an old one in the trial", func(began, now signal.Instant, s *signal.Sample) {
			if now > began.Add(150*ms) && now < began.Add(152*ms) {
				s.From = began - 1
			}
		}, "samples-disordered"},
	} {
		t.Run(c.name, func(t *testing.T) {
			g := &going{Fake: benchtest.NewFake(), instead: c.instead}
			g.About.Meter.Range = 58 * signal.Ampere
			job := barrier()
			job.Rest = 100 * ms
			s := rig.Scenario{Name: "rest", Start: gate.Start{Position: 0.5, Obstacle: -1},
				Script: []rig.Step{{Kind: rig.Wait, For: 100 * ms, Text: "wait 100ms"}},
				Rules:  []rule.Rule{{Name: "never drives", Pattern: rule.Absence, P: is(signal.DriveClose, signal.Made)}}}
			conductor := rig.NewConductor(job, g, g.About, nil)
			for range 2 {
				o, err := conductor.Perform(&s, 1, rig.Day{})
				require.NoError(t, err)
				if c.code == "" {
					require.Equal(t, rule.Pass, o.Verdict, o.Reason)
					continue
				}
				require.Equal(t, rule.Void, o.Verdict)
				require.Equal(t, c.code, o.Troubles[0].Code)
			}
		})
	}
}
