package evidence_test

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/reports/evidence"
	"pintle/reports/record"
	"pintle/rig/rule"
)

func TestWhatIsWrittenIsRead(t *testing.T) {
	run, traces := example(t)
	b, verify := signed(t)
	rec, err := evidence.Open(bytes.NewReader(b), int64(len(b)))
	require.NoError(t, err)
	require.NoError(t, rec.Check(verify))
	require.False(t, rec.IsExcerpt())
	require.Equal(t, 24, rec.Len())
	require.Empty(t, rec.Gaps())
	require.Equal(t, "pintle record 1", rec.Head().Format)
	require.Equal(t, run.Verdict.String(), rec.Head().Verdict)
	require.Equal(t, 1+24+len(traces), rec.Head().Leaves)
	require.Less(t, len(traces), 24, "the example has trials without a trace")

	again, found := whole(t, rec)
	require.Equal(t, traces, found)
	want, err := record.Canonical(run)
	require.NoError(t, err)
	got, err := record.Canonical(again)
	require.NoError(t, err)
	require.Equal(t, string(want), string(got))

	second, _ := signed(t)
	require.Equal(t, b, second, "the same run and key, the same bytes")
}

func TestARunWithNothingInIt(t *testing.T) {
	for _, run := range []*reports.Run{
		{ID: "empty", Verdict: rule.Void, Reason: "the run was interrupted"},
		{ID: "stopped", Trials: 3, Verdict: rule.Void, Scenarios: []reports.Scenario{{Name: "normal-cycle", Verdict: rule.Void}, {Name: "", Verdict: rule.Fail}}},
	} {
		b := written(t, run, nil, nil)
		rec, err := evidence.Open(bytes.NewReader(b), int64(len(b)))
		require.NoError(t, err)
		require.NoError(t, rec.Check(nil))
		require.Equal(t, run, rec.Run())
		require.Len(t, rec.Gaps(), len(run.Scenarios))
		_, verify := signed(t)
		require.ErrorIs(t, rec.Check(verify), evidence.ErrUnsigned)
	}
}

func TestExcerpt(t *testing.T) {
	b, verify := signed(t)
	rec, err := evidence.Open(bytes.NewReader(b), int64(len(b)))
	require.NoError(t, err)
	for i := range rec.Len() {
		p, err := rec.At(i)
		require.NoError(t, err)
		var out bytes.Buffer
		require.NoError(t, evidence.Excerpt(&out, rec, p.Scenario, p.Trial.Number))
		part, err := evidence.Open(bytes.NewReader(out.Bytes()), int64(out.Len()))
		require.NoError(t, err)
		require.NoError(t, part.Check(verify))
		require.True(t, part.IsExcerpt())
		require.Equal(t, 1, part.Len())
		require.Equal(t, rec.Head(), part.Head())
		require.Equal(t, rec.Run(), part.Run())
		same, err := part.At(0)
		require.NoError(t, err)
		require.Equal(t, p, same)
		require.ErrorIs(t, evidence.Excerpt(&out, part, p.Scenario, p.Trial.Number), evidence.ErrNoTrial)
	}
	require.ErrorIs(t, evidence.Excerpt(&bytes.Buffer{}, rec, "normal-cycle", 4), evidence.ErrNoTrial)
	require.ErrorIs(t, evidence.Excerpt(&bytes.Buffer{}, rec, "moon", 1), evidence.ErrNoTrial)
}
