package main

import (
	"io/fs"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"pintle/rig"
	"pintle/rig/signal"
	"pintle/scenarios"
	"pintle/scenarios/demo"
)

// A change puts one text in the place of another in a file of the demo job, or makes
// the file where there is nothing to be replaced.
type change struct{ file, from, to string }

// demoWith is the demo job with changes to its files.
func demoWith(t testing.TB, changes ...change) *scenarios.Job {
	t.Helper()
	files := fstest.MapFS{}
	require.NoError(t, fs.WalkDir(demo.Folder(), ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := fs.ReadFile(demo.Folder(), path)
		files[path] = &fstest.MapFile{Data: text}
		return err
	}))
	for _, c := range changes {
		if c.from == "" {
			files[c.file] = &fstest.MapFile{Data: []byte(c.to)}
			continue
		}
		text := string(files[c.file].Data)
		require.Equal(t, 1, strings.Count(text, c.from), "%q must be in %s once", c.from, c.file)
		files[c.file].Data = []byte(strings.Replace(text, c.from, c.to, 1))
	}
	job, err := scenarios.Load(files, "", equipment())
	require.NoError(t, err)
	return job
}

// A onlooker is what a user sees of one trial: the edges of the lines and the readings
// of the meter, both from the instant at which the supply came on.
type onlooker struct {
	t     testing.TB
	trace *signal.Trace
}

// newPlayer makes a virtual bench, and gives what performs a trial of a scenario on it, as
// pintle run does. What it shows lasts until the next.
func newPlayer(t testing.TB, job *scenarios.Job, name string) func(seed uint64) *onlooker {
	t.Helper()
	s, ok := job.Scenario(name)
	require.True(t, ok, name)
	conducted, err := rigJob(job)
	require.NoError(t, err)
	open, _, err := virtualOpener(job)
	require.NoError(t, err)
	bench, facts, err := open()
	require.NoError(t, err)
	c := rig.NewConductor(conducted, bench, facts, nil)
	return func(seed uint64) *onlooker {
		t.Helper()
		o, err := c.Perform(&s.Scenario, seed, rig.Day{})
		require.NoError(t, err)
		require.Empty(t, o.Troubles)
		return &onlooker{t, o.Trace}
	}
}

// watchTrial performs one trial of a scenario.
func watchTrial(t testing.TB, job *scenarios.Job, name string, seed uint64) *onlooker {
	t.Helper()
	return newPlayer(t, job, name)(seed)
}

// edges are those of a line.
func (s *onlooker) edges(l signal.Line) []signal.Edge {
	return s.trace.Line(l).Edges
}

// mean is the mean of the readings between two instants, in amperes; positive opening.
func (s *onlooker) mean(from, to signal.Instant) float64 {
	sum, n := 0.0, 0
	for _, r := range s.trace.Samples {
		if r.From >= from && r.To <= to {
			sum, n = sum+r.Current.Amperes(), n+1
		}
	}
	require.Positive(s.t, n, "no readings from %v to %v", from, to)
	return sum / float64(n)
}

// driven is from when to when the controller drives the motor over a line, for the
// first time.
func (s *onlooker) driven(drive signal.Line) (on, off signal.Instant) {
	e := s.edges(drive)
	require.GreaterOrEqual(s.t, len(e), 2, "%v: it is not driven", drive)
	return e[0].At, e[1].At
}

// most is the greatest reading between two instants, in amperes either way.
func (s *onlooker) most(from, to signal.Instant) float64 {
	most := 0.0
	for _, r := range s.trace.Samples {
		if r.From >= from && r.To <= to {
			most = max(most, r.Current.Abs().Amperes())
		}
	}
	return most
}

// first is when a line first goes to a level after an instant.
func (s *onlooker) first(l signal.Line, to signal.Level, after signal.Instant) signal.Instant {
	s.t.Helper()
	for _, e := range s.edges(l) {
		if e.At > after && e.Level == to {
			return e.At
		}
	}
	s.t.Fatalf("%v is never %v after %v", l, to, after)
	return 0
}
