package record_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/reports/record"
	"pintle/reports/reportstest"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

func TestComparableLeavesOutOnlyWhatMayDiffer(t *testing.T) {
	one := &reports.Run{ID: "a", Began: time.Unix(1, 0).UTC(), Ended: time.Unix(2, 0).UTC(), Job: "spring check", Seed: 1<<63 + 1}
	other := *one
	other.ID, other.Began, other.Ended = "b", time.Unix(5, 0).UTC(), time.Unix(9, 0).UTC()
	x, err := record.Comparable(one)
	require.NoError(t, err)
	y, err := record.Comparable(&other)
	require.NoError(t, err)
	assert.Equal(t, string(x), string(y))
	assert.True(t, bytes.Contains(x, []byte(`"seed":"9223372036854775809"`)), "a seed keeps all its digits")

	other.Seed++
	y, err = record.Comparable(&other)
	require.NoError(t, err)
	assert.NotEqual(t, string(x), string(y))

	d1, err := record.Digest(one)
	require.NoError(t, err)
	d2, err := record.Digest(&other)
	require.NoError(t, err)
	assert.NotEqual(t, d1, d2)
}

// What is left out is exactly what is named, so that nobody has to trust a list.
func TestComparableIsCanonicalWithoutTheNamedFields(t *testing.T) {
	run := reportstest.Mixed()
	old, err := record.Comparable(run)
	require.NoError(t, err)
	run.Digest, run.Environment = "ab", &reports.Environment{System: "linux", Processors: 4}
	whole, err := record.Canonical(run)
	require.NoError(t, err)
	rest, err := record.Comparable(run)
	require.NoError(t, err)
	require.Equal(t, string(old), string(rest), "an older run did not tell everything that may differ")
	var a, b map[string]json.RawMessage
	require.NoError(t, json.Unmarshal(whole, &a))
	require.NoError(t, json.Unmarshal(rest, &b))
	require.Len(t, b, len(a)-len(record.Differing))
	for _, name := range record.Differing {
		require.Contains(t, a, name)
		require.NotContains(t, b, name)
	}
	for name := range b {
		require.Equal(t, string(a[name]), string(b[name]))
	}
}

func TestCanonicalReadsBack(t *testing.T) {
	run := reportstest.Mixed()
	first, err := record.Canonical(run)
	require.NoError(t, err)
	var again reports.Run
	require.NoError(t, json.Unmarshal(first, &again))
	second, err := record.Canonical(&again)
	require.NoError(t, err)
	require.Equal(t, string(first), string(second))
}

// A number that a double cannot hold would come out as another one, and a text
// that is not UTF-8 as one with marks of replacement.
func TestWhatCannotBeWrittenExactlyIsRefused(t *testing.T) {
	run := func(most int64, at signal.Instant, reason string) *reports.Run {
		return &reports.Run{ID: "a", Scenarios: []reports.Scenario{{Trials: []reports.Trial{{Seed: math.MaxUint64, Findings: []rule.Finding{{
			Reason: reason, Value: rule.Interval{Most: most}, Decided: []signal.Span{signal.At(at)}}}}}}}}
	}
	const edge = 1 << 53
	for _, n := range []int64{edge, -edge} {
		text, err := record.Canonical(run(n, signal.Instant(n), "höher"))
		require.NoError(t, err)
		require.Contains(t, string(text), fmt.Sprintf(`"Most":%d`, n))
	}
	for want, r := range map[string]*reports.Run{
		"scenarios[0].trials[0].findings[0].Value.Most: 9007199254740993 is beyond 2^53":         run(edge+1, 0, ""),
		"scenarios[0].trials[0].findings[0].Value.Most: -9007199254740993 is beyond 2^53":        run(-edge-1, 0, ""),
		"scenarios[0].trials[0].findings[0].Decided[0].Late: 9223372036854775807 is beyond 2^53": run(0, signal.Never, ""),
		`scenarios[0].trials[0].findings[0].Reason: "a\xff" is not UTF-8`:                        run(0, 0, "a\xff"),
	} {
		_, err := record.Canonical(r)
		require.ErrorContains(t, err, want)
		_, err = record.Comparable(r)
		require.ErrorContains(t, err, want)
		_, err = record.Digest(r)
		require.ErrorContains(t, err, want)
	}
}

// BenchmarkCanonical: the yardstick is encoding/json of the same run.
func BenchmarkCanonical(b *testing.B) {
	run := reportstest.Many(60, 59)
	b.Run("plain", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := json.Marshal(run); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("canonical", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := record.Canonical(run); err != nil {
				b.Fatal(err)
			}
		}
	})
}
