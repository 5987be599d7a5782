package evidence_test

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/reports"
	"pintle/reports/evidence"
	"pintle/reports/record"
	"pintle/rig/rule"
)

// FuzzRecord gives the reader files that begin as real records. Whatever it takes, it
// takes whole: written again from what was read, the file has the same bytes.
func FuzzRecord(f *testing.F) {
	b, _ := signed(f)
	f.Add(b)
	rec, err := evidence.Open(bytes.NewReader(b), int64(len(b)))
	require.NoError(f, err)
	for _, number := range []int{1, 3} {
		var part bytes.Buffer
		require.NoError(f, evidence.Excerpt(&part, rec, "normal-cycle", number))
		f.Add(part.Bytes())
	}
	f.Add(written(f, &reports.Run{ID: "empty", Verdict: rule.Void}, nil, nil))
	small := &reports.Run{ID: "small", Trials: 2, Verdict: rule.Void, Scenarios: []reports.Scenario{{Name: "soak", Verdict: rule.Void}}}
	small.Scenarios[0].Trials = []reports.Trial{{Number: 1, Verdict: rule.Void}, {Number: 2, Verdict: rule.Pass}}
	traces := equip(f, small, 2)
	f.Add(written(f, small, traces, nil))
	_, private := key(2)
	f.Add(written(f, small, traces, evidence.SignWith(private)))
	f.Add(b[:len(b)/2])
	f.Fuzz(func(t *testing.T, b []byte) {
		rec, err := evidence.Open(bytes.NewReader(b), int64(len(b)))
		if err != nil || rec.Check(nil) != nil {
			return
		}
		if rec.IsExcerpt() {
			return
		}
		run, traces := whole(t, rec)
		var sign evidence.Signer
		if s := rec.Signature(); s != nil {
			sign = func([]byte, string) ([]byte, error) { return s, nil }
		}
		require.Equal(t, b, written(t, run, traces, sign), "a record can be written in one way only")
	})
}

// FuzzPart puts a text of its own in the place of one entry, with all digests made
// anew, so that it is read.
func FuzzPart(f *testing.F) {
	b, _ := signed(f)
	honest := partsOf(f, b)
	for i, p := range honest[:min(len(honest), 8)] {
		if !strings.HasSuffix(p.Name, ".parquet") {
			f.Add(uint8(i), p.Data)
		}
	}
	f.Fuzz(func(t *testing.T, which uint8, data []byte) {
		i := int(which) % len(honest)
		if int64(len(data)) > evidence.Most(honest[i].Name) {
			t.Skip("it cannot be packed")
		}
		parts := slices.Clone(honest)
		parts[i].Data = data
		file := evidence.Pack(parts)
		if i > 2 {
			file = evidence.Pack(evidence.Resum(parts, nil, nil))
		}
		rec, err := evidence.Open(bytes.NewReader(file), int64(len(file)))
		if err != nil || rec.Check(nil) != nil {
			return
		}
		run, traces := whole(t, rec)
		var sign evidence.Signer
		if s := rec.Signature(); s != nil {
			sign = func([]byte, string) ([]byte, error) { return s, nil }
		}
		require.Equal(t, file, written(t, run, traces, sign), "a record can be written in one way only")
	})
}

// Any run comes back as it was, and its record can be written in one way only.
func TestAnyRunComesBack(t *testing.T) {
	blob := []byte("not a trace, which is no matter here")
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String()
		run := &reports.Run{ID: "any", Job: text.Draw(t, "job"), Trials: rapid.IntRange(0, 5).Draw(t, "asked"), Verdict: rule.Verdict(rapid.IntRange(0, 4).Draw(t, "verdict"))}
		traces := shelf{}
		for i := range rapid.IntRange(0, 4).Draw(t, "scenarios") {
			s := reports.Scenario{Name: fmt.Sprint(text.Draw(t, "name"), i), Verdict: rapid.SampledFrom([]rule.Verdict{rule.Void, rule.Fail, rule.Unsettled}).Draw(t, "verdict")}
			for n := 1; n <= run.Trials; n++ {
				if rapid.Bool().Draw(t, "skipped") {
					continue
				}
				trial := reports.Trial{Number: n, Seed: rapid.Uint64().Draw(t, "seed"), Reason: text.Draw(t, "reason")}
				if rapid.Bool().Draw(t, "traced") {
					b := fmt.Appendf(blob, "%d %d", i, n)
					trial.Trace = digest(b)
					traces[fmt.Sprintf("%s/%d", s.Name, n)] = b
				}
				s.Trials = append(s.Trials, trial)
			}
			run.Scenarios = append(run.Scenarios, s)
		}
		if rapid.Bool().Draw(t, "left out") {
			run.LeftOut = []reports.LeftOut{{Name: text.Draw(t, "left out name")}}
		}
		var b bytes.Buffer
		_, err := evidence.Write(&b, run, traces, nil)
		require.NoError(t, err)
		rec, err := evidence.Open(bytes.NewReader(b.Bytes()), int64(b.Len()))
		require.NoError(t, err)
		again := *rec.Run()
		again.Scenarios = append([]reports.Scenario(nil), again.Scenarios...)
		found := shelf{}
		for p, err := range rec.Trials() {
			require.NoError(t, err)
			again.Scenarios[p.Index].Trials = append(again.Scenarios[p.Index].Trials, *p.Trial)
			if p.Trace != nil {
				found[fmt.Sprintf("%s/%d", p.Scenario, p.Trial.Number)] = p.Trace
			}
		}
		require.Equal(t, traces, found)
		want, err := record.Canonical(run)
		require.NoError(t, err)
		got, err := record.Canonical(&again)
		require.NoError(t, err)
		require.Equal(t, string(want), string(got))
		var second bytes.Buffer
		_, err = evidence.Write(&second, &again, found, nil)
		require.NoError(t, err)
		require.Equal(t, b.Bytes(), second.Bytes())
	})
}
