package evidence_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/reports/evidence"
	"pintle/reports/reportstest"
	"pintle/reports/seal"
	"pintle/reports/tracefile"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// shelf holds traces by scenario and trial.
type shelf map[string][]byte

func (s shelf) TraceFile(_, scenario string, trial int) ([]byte, error) {
	b, ok := s[fmt.Sprintf("%s/%d", scenario, trial)]
	if !ok {
		return nil, fmt.Errorf("no trace of %s/%d", scenario, trial)
	}
	return b, nil
}

// traceOf makes a small trace that is unlike any other.
func traceOf(t testing.TB, seed int, samples int) []byte {
	t.Helper()
	trace := &signal.Trace{End: signal.Instant(samples) * 1_000_000, Marks: []signal.Mark{{At: 1, Text: fmt.Sprint("trial ", seed)}}}
	for i := range samples {
		from := signal.Instant(i) * 1_000_000
		trace.Samples = append(trace.Samples, signal.Sample{From: from, To: from + 1_000_000, Current: signal.Current(seed*1000 + i%7)})
	}
	var b bytes.Buffer
	require.NoError(t, tracefile.Write(&b, trace))
	return b.Bytes()
}

// equip gives each trial of a run a trace, but for void ones of an even number.
func equip(t testing.TB, run *reports.Run, samples int) shelf {
	t.Helper()
	traces := shelf{}
	seed := 0
	for i := range run.Scenarios {
		s := &run.Scenarios[i]
		for j := range s.Trials {
			trial := &s.Trials[j]
			seed++
			if trial.Verdict == rule.Void && trial.Number%2 == 0 {
				trial.Trace, trial.Samples = "", 0
				continue
			}
			b := traceOf(t, seed, samples)
			sum := sha256.Sum256(b)
			trial.Trace, trial.Samples = hex.EncodeToString(sum[:]), samples
			traces[fmt.Sprintf("%s/%d", s.Name, trial.Number)] = b
		}
	}
	return traces
}

// example is a run of several scenarios with every verdict, three trials each.
func example(t testing.TB) (*reports.Run, shelf) {
	run := reportstest.Many(8, 3)
	run.LeftOut = []reports.LeftOut{{Name: "beam-broken", Title: "Somebody under the boom", Why: "the gate has no beam"}}
	run.Files[0].Text = "name: virtual # <&> \u2028 h\u00f6her\n"
	return run, equip(t, run, 20)
}

// keys are throwaway keys, each the same throughout a run of the tests.
var keys = [...]func() *seal.Key{sync.OnceValue(newKey), sync.OnceValue(newKey)}

func newKey() *seal.Key {
	k, err := seal.New()
	if err != nil {
		panic(err)
	}
	return k
}

// key gives key 1 or 2.
func key(n int) (seal.Public, *seal.Key) {
	k := keys[n-1]()
	return k.Public(), k
}

// written gives the record of a run.
func written(t testing.TB, run *reports.Run, traces evidence.Traces, sign evidence.Signer) []byte {
	t.Helper()
	var b bytes.Buffer
	h, err := evidence.Write(&b, run, traces, sign)
	require.NoError(t, err)
	require.Equal(t, run.ID, h.Run)
	return b.Bytes()
}

// signed gives the example's record, signed with key 1.
func signed(t testing.TB) ([]byte, evidence.Verifier) {
	run, traces := example(t)
	public, private := key(1)
	return written(t, run, traces, evidence.SignWith(private)), evidence.VerifyWith(public)
}

// check opens and checks a record all through.
func check(b []byte, verify evidence.Verifier) error {
	rec, err := evidence.Open(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		return err
	}
	return rec.Check(verify)
}

// whole puts a record back together.
func whole(t testing.TB, rec *evidence.Record) (*reports.Run, shelf) {
	t.Helper()
	run := *rec.Run()
	run.Scenarios = append([]reports.Scenario(nil), run.Scenarios...)
	traces := shelf{}
	for p, err := range rec.Trials() {
		require.NoError(t, err)
		s := &run.Scenarios[p.Index]
		require.Equal(t, s.Name, p.Scenario)
		s.Trials = append(s.Trials, *p.Trial)
		if p.Trace != nil {
			traces[fmt.Sprintf("%s/%d", p.Scenario, p.Trial.Number)] = p.Trace
		}
	}
	return &run, traces
}
