package evidence_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"

	"aead.dev/minisign"
	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/reports/evidence"
	"pintle/reports/record"
	"pintle/rig/reliability"
	"pintle/rig/rule"
)

// partsOf takes a record apart, with the reader of the standard library.
func partsOf(t testing.TB, b []byte) []evidence.Part {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(b), int64(len(b)))
	require.NoError(t, err)
	var all []evidence.Part
	for _, f := range z.File {
		r, err := f.Open()
		require.NoError(t, err)
		data, err := io.ReadAll(r)
		require.NoError(t, err)
		all = append(all, evidence.Part{Name: f.Name, Data: data})
	}
	require.Equal(t, b, evidence.Pack(all), "the tests pack as the program does")
	return all
}

// at gives the index of a part.
func at(t testing.TB, parts []evidence.Part, name string) int {
	t.Helper()
	i := slices.IndexFunc(parts, func(p evidence.Part) bool { return p.Name == name })
	require.GreaterOrEqual(t, i, 0, name)
	return i
}

// Trials that the forgeries are made of: all of them are in the example.
const (
	first  = "trials/001-normal-cycle/0001.json"
	second = "trials/001-normal-cycle/0002.json"
	third  = "trials/001-normal-cycle/0003.json"
)

func traceName(trial string) string { return strings.TrimSuffix(trial, ".json") + ".parquet" }

// without takes parts out.
func without(t testing.TB, parts []evidence.Part, names ...string) []evidence.Part {
	for _, name := range names {
		i := at(t, parts, name)
		parts = slices.Delete(slices.Clone(parts), i, i+1)
	}
	return parts
}

// swap lets two parts change their bytes.
func swap(t testing.TB, parts []evidence.Part, a, b string) []evidence.Part {
	parts = slices.Clone(parts)
	i, j := at(t, parts, a), at(t, parts, b)
	parts[i].Data, parts[j].Data = parts[j].Data, parts[i].Data
	return parts
}

// exchange lets two parts change their places.
func exchange(t testing.TB, parts []evidence.Part, a, b string) []evidence.Part {
	parts = slices.Clone(parts)
	i, j := at(t, parts, a), at(t, parts, b)
	parts[i], parts[j] = parts[j], parts[i]
	return parts
}

// insert puts a part behind another.
func insert(t testing.TB, parts []evidence.Part, behind string, p evidence.Part) []evidence.Part {
	return slices.Insert(slices.Clone(parts), at(t, parts, behind)+1, p)
}

// edit changes a part's text.
func edit(t testing.TB, parts []evidence.Part, name, old, new string) []evidence.Part {
	parts = slices.Clone(parts)
	i := at(t, parts, name)
	require.Contains(t, string(parts[i].Data), old)
	parts[i].Data = []byte(strings.Replace(string(parts[i].Data), old, new, 1))
	return parts
}

// Each forgery is told apart: with the digests left as they were, and with all of
// them made anew by somebody who has not the key.
func TestForgeries(t *testing.T) {
	b, verify := signed(t)
	honest := partsOf(t, b)
	fourth := func(trial, trace bool) []evidence.Part {
		parts := honest
		p := at(t, honest, third)
		if trace {
			parts = insert(t, parts, traceName(third), evidence.Part{Name: "trials/001-normal-cycle/0004.parquet", Data: honest[p+1].Data})
		}
		if trial {
			data := bytes.Replace(honest[p].Data, []byte(`"number":3`), []byte(`"number":4`), 1)
			parts = insert(t, parts, traceName(third), evidence.Part{Name: "trials/001-normal-cycle/0004.json", Data: data})
		}
		return parts
	}
	for _, c := range []struct {
		name   string
		parts  []evidence.Part
		bare   error // with the digests as they were
		resums error // with the digests made anew and no, or another's, signature; nil: only the key can tell
	}{
		{"trial changed", edit(t, honest, first, `"verdict":1`, `"verdict":2`), evidence.ErrChanged, nil},
		{"run changed", edit(t, honest, "run.json", "Gullhaven", "Gallhaven"), evidence.ErrChanged, nil},
		{"trial removed", without(t, honest, second, traceName(second)), evidence.ErrRemoved, evidence.ErrRemoved},
		{"last trial removed", without(t, honest, third, traceName(third)), evidence.ErrRemoved, evidence.ErrRemoved},
		{"trial without its trace", without(t, honest, second), evidence.ErrRemoved, evidence.ErrRemoved},
		{"trace removed", without(t, honest, traceName(second)), evidence.ErrRemoved, evidence.ErrRemoved},
		{"run removed", without(t, honest, "run.json"), evidence.ErrRemoved, evidence.ErrForm},
		{"trial added", fourth(true, true), evidence.ErrAdded, evidence.ErrAdded},
		{"trace added", fourth(false, true), evidence.ErrAdded, evidence.ErrRemoved},
		{"trials exchanged", exchange(t, honest, first, second), evidence.ErrReordered, evidence.ErrReordered},
		{"traces exchanged", exchange(t, honest, traceName(first), traceName(second)), evidence.ErrReordered, evidence.ErrReordered},
		{"trials under each other's names", swap(t, honest, first, second), evidence.ErrChanged, evidence.ErrReordered},
		{"traces under each other's names", swap(t, honest, traceName(first), traceName(second)), evidence.ErrSwapped, evidence.ErrSwapped},
		{"trace of another run", func() []evidence.Part {
			parts := slices.Clone(honest)
			parts[at(t, parts, traceName(first))].Data = traceOf(t, 999, 20)
			return parts
		}(), evidence.ErrChanged, evidence.ErrSwapped},
		{"two of one name", insert(t, honest, first, honest[at(t, honest, first)]), evidence.ErrDuplicate, evidence.ErrDuplicate},
		{"two traces of one name, far apart", insert(t, honest, traceName(third), honest[at(t, honest, traceName(first))]), evidence.ErrDuplicate, evidence.ErrDuplicate},
		{"trial with a field more", edit(t, honest, first, `"number":1`, `"number":1,"oddly":0`), evidence.ErrChanged, evidence.ErrForm},
		{"trial with a blank more", edit(t, honest, first, `"number":1`, `"number": 1`), evidence.ErrChanged, evidence.ErrForm},
		{"trial with a field twice", edit(t, honest, first, `"number":1`, `"number":2,"number":1`), evidence.ErrChanged, evidence.ErrForm},
		{"trial with a field in capitals", edit(t, honest, first, `"number":1`, `"Number":1`), evidence.ErrChanged, evidence.ErrForm},
		{"trial with two values", edit(t, honest, first, `{`, `{}{`), evidence.ErrChanged, evidence.ErrForm},
		{"run with a field more", edit(t, honest, "run.json", `"job":`, `"jobs":1,"job":`), evidence.ErrChanged, evidence.ErrForm},
		{"run with trials in it", edit(t, honest, "run.json", `"trials":null`, `"trials":[]`), evidence.ErrChanged, evidence.ErrForm},
		{"run of another name", edit(t, honest, "run.json", `"id":"many`, `"id":"some`), evidence.ErrChanged, evidence.ErrContradiction},
		{"scenario of another name", edit(t, honest, "run.json", `"name":"normal-cycle"`, `"name":"normal-cycles"`), evidence.ErrChanged, evidence.ErrContradiction},
		{"two scenarios of one name", edit(t, honest, "run.json", `"name":"normal-cycle-2"`, `"name":"normal-cycle"`), evidence.ErrChanged, evidence.ErrContradiction},
		{"trial that says it has no trace", edit(t, honest, first, `,"trace":"`+traceDigest(t, honest, first)+`"`, ``), evidence.ErrChanged, evidence.ErrAdded},
	} {
		t.Run(c.name, func(t *testing.T) {
			err := check(evidence.Pack(c.parts), verify)
			require.ErrorIs(t, err, c.bare)
			t.Log(err)

			err = check(evidence.Pack(evidence.Resum(c.parts, nil, nil)), nil)
			if c.resums != nil {
				require.ErrorIs(t, err, c.resums)
				t.Log(err)
			} else {
				require.NoError(t, err)
			}
			if c.resums != nil {
				return
			}
			_, private := key(2)
			require.ErrorIs(t, check(evidence.Pack(evidence.Resum(c.parts, evidence.SignWith(private), nil)), verify), evidence.ErrOtherKey)
			require.ErrorIs(t, check(evidence.Pack(evidence.Resum(c.parts, nil, nil)), verify), evidence.ErrUnsigned)
			old := func([]byte, string) ([]byte, error) { return honest[1].Data, nil }
			require.ErrorIs(t, check(evidence.Pack(evidence.Resum(c.parts, old, nil)), verify), evidence.ErrSignature)
			// The old signature with its comment put right.
			patched := func(_ []byte, comment string) ([]byte, error) {
				var s minisign.Signature
				require.NoError(t, s.UnmarshalText(honest[1].Data))
				s.TrustedComment = comment
				return s.MarshalText()
			}
			require.ErrorIs(t, check(evidence.Pack(evidence.Resum(c.parts, patched, nil)), verify), evidence.ErrSignature)
		})
	}
}

func traceDigest(t testing.TB, parts []evidence.Part, trial string) string {
	text := string(parts[at(t, parts, trial)].Data)
	_, rest, ok := strings.Cut(text, `"trace":"`)
	require.True(t, ok)
	return rest[:64]
}

// The digests in SHA256SUMS are those of the bytes, also where a trace has the digest
// that its trial says.
func TestSumsThatAreNotThoseOfTheBytes(t *testing.T) {
	b, _ := signed(t)
	honest := partsOf(t, b)
	require.NoError(t, check(evidence.Pack(evidence.Resign(honest, func(line string) string { return line })), nil))
	for _, name := range []string{"run.json", first, traceName(first)} {
		forged := evidence.Resign(honest, func(line string) string {
			if strings.HasSuffix(line, "  "+name+"\n") {
				return strings.Repeat("ab", 32) + "  " + name + "\n"
			}
			return line
		})
		require.ErrorIs(t, check(evidence.Pack(forged), nil), evidence.ErrChanged, name)
	}
}

// A signature by the right key, of this head, that says it is of another run.
func TestSignatureWithAnotherComment(t *testing.T) {
	b, verify := signed(t)
	honest := partsOf(t, b)
	_, private := key(1)
	for comment, want := range map[string]error{"pintle record moon " + strings.Repeat("0", 64): evidence.ErrSignature, "": evidence.ErrSignature} {
		text, err := private.Sign(honest[0].Data, comment)
		require.NoError(t, err)
		parts := slices.Clone(honest)
		parts[1].Data = text
		require.ErrorIs(t, check(evidence.Pack(parts), verify), want)
		require.ErrorIs(t, check(evidence.Pack(parts), nil), want, "without a key as well")
	}
}

// A trial of a scenario that the run does not have.
func TestScenarioAdded(t *testing.T) {
	b, _ := signed(t)
	honest := partsOf(t, b)
	last := honest[len(honest)-1].Name
	parts := insert(t, honest, last, evidence.Part{Name: "trials/009-ninth/0001.json", Data: honest[at(t, honest, first)].Data})
	require.ErrorIs(t, check(evidence.Pack(evidence.Resum(parts, nil, nil)), nil), evidence.ErrAdded)
}

func TestTwoHeads(t *testing.T) {
	b, verify := signed(t)
	honest := partsOf(t, b)
	for _, behind := range []string{"head.json", "head.json.minisig", "SHA256SUMS", third} {
		require.ErrorIs(t, check(evidence.Pack(insert(t, honest, behind, honest[0])), verify), evidence.ErrDuplicate, behind)
	}
}

// A key that claims another's number signs in vain.
func TestAKeyThatBorrowsANumber(t *testing.T) {
	b, verify := signed(t)
	honest := partsOf(t, b)
	var mine minisign.Signature
	require.NoError(t, mine.UnmarshalText(honest[1].Data))
	_, other := key(2)
	sign := func(head []byte, comment string) ([]byte, error) {
		text, err := evidence.SignWith(other)(head, comment)
		require.NoError(t, err)
		var s minisign.Signature
		require.NoError(t, s.UnmarshalText(text))
		s.KeyID = mine.KeyID
		return s.MarshalText()
	}
	require.ErrorIs(t, check(evidence.Pack(evidence.Resum(honest, sign, nil)), verify), evidence.ErrSignature)
}

func TestHeads(t *testing.T) {
	b, _ := signed(t)
	honest := partsOf(t, b)
	head := func(change func(*evidence.Head)) error {
		return check(evidence.Pack(evidence.Resum(honest, nil, change)), nil)
	}
	require.NoError(t, head(nil))
	require.ErrorIs(t, head(func(h *evidence.Head) { h.Format = "pintle record 2" }), evidence.ErrNewer)
	require.ErrorContains(t, head(func(h *evidence.Head) { h.Format = "pintle record 2" }), "newer program")
	for _, form := range []string{"", "pintle record", "pintle record 0", "pintle record 01", "pintle record -2", "pintle record 1 ", "other record 1", "pintle record 99999999999999999999"} {
		require.ErrorIs(t, head(func(h *evidence.Head) { h.Format = form }), evidence.ErrNotRecord, form)
	}
	require.ErrorIs(t, head(func(h *evidence.Head) { h.Verdict = "pass" }), evidence.ErrContradiction)
	require.ErrorIs(t, head(func(h *evidence.Head) { h.Controller.Serial = "0018" }), evidence.ErrContradiction)
	require.ErrorIs(t, head(func(h *evidence.Head) { h.Leaves-- }), evidence.ErrAdded)
	require.ErrorIs(t, head(func(h *evidence.Head) { h.Leaves++ }), evidence.ErrRemoved)
	require.ErrorIs(t, head(func(h *evidence.Head) { h.Leaves = 0 }), evidence.ErrForm)
	require.ErrorIs(t, head(func(h *evidence.Head) { h.Root = h.Sums }), evidence.ErrContradiction)
	require.ErrorIs(t, head(func(h *evidence.Head) { h.Sums = h.Root }), evidence.ErrChanged)
	require.ErrorIs(t, head(func(h *evidence.Head) { h.Root = strings.ToUpper(h.Root) }), evidence.ErrForm)
	// A newer form may have any other fields, and anything after them.
	newer := []evidence.Part{{Name: "head.json", Data: []byte(`{"format":"pintle record 7","moon":[1]}`)}, {Name: "head.json.minisig", Data: []byte("?")}}
	require.ErrorIs(t, check(evidence.Pack(newer), nil), evidence.ErrNewer)
}

func TestOddNames(t *testing.T) {
	b, _ := signed(t)
	honest := partsOf(t, b)
	for _, name := range []string{"", "x", "/run.json", "../run.json", "RUN.JSON", "run.json/", "run.json\x00", "trials/001-normal-cycle/0001.JSON",
		"trials/001-normal-cycle/1.json", "trials/1-normal-cycle/0001.json", "trials/001-normal-cycle/00001.json", "trials/000-normal-cycle/0001.json",
		"trials/001-normal-cycle/0000.json", "trials/001-normal-cycle/-001.json", "trials/001-Normal-cycle/0001.json", "trials/001-/0001.json",
		"trials/001-a/../0001.json", "trials\\001-normal-cycle\\0001.json", "trials/001-normal-cycle/0001.csv", "trials/+01-normal-cycle/0001.json",
		"trials/001-normal cycle/0001.json", "trials/001-" + strings.Repeat("a", 61) + "/0001.json", "trials/001-größe/0001.json"} {
		parts := insert(t, honest, first, evidence.Part{Name: name, Data: []byte("x")})
		require.ErrorIs(t, check(evidence.Pack(parts), nil), evidence.ErrName, "%q", name)
		if name != "" && !strings.Contains(name, "\x00") {
			require.ErrorIs(t, check(evidence.Pack(evidence.Resum(parts, nil, nil)), nil), evidence.ErrName, "%q, digests made anew", name)
		}
	}
}

// A sequence that was decided needs no more trials, and has those it was decided by.
func TestDecidedSequence(t *testing.T) {
	write := func(shown, performed int, state reliability.State) error {
		run, traces := example(t)
		run.Demonstration = &reports.Demonstration{Sequential: true}
		s := &run.Scenarios[0]
		s.Trials, s.Shown = s.Trials[:performed], &reports.Shown{Trials: shown, State: state}
		_, err := evidence.Write(io.Discard, run, traces, nil)
		return err
	}
	require.NoError(t, write(2, 2, reliability.Accept))
	require.NoError(t, write(3, 3, reliability.Continue))
	require.ErrorIs(t, write(2, 1, reliability.Accept), evidence.ErrRemoved)
	require.ErrorIs(t, write(2, 3, reliability.Accept), evidence.ErrAdded)
	require.ErrorIs(t, write(2, 2, reliability.Continue), evidence.ErrRemoved)
}

// Trials may lack only where the verdict owns up to it.
func TestTrialsThatLack(t *testing.T) {
	for verdict, want := range map[rule.Verdict]error{rule.Pass: evidence.ErrRemoved, rule.Inconclusive: evidence.ErrRemoved, rule.Void: nil, rule.Fail: nil} {
		run, traces := example(t)
		s := &run.Scenarios[0]
		s.Verdict, s.Trials = verdict, s.Trials[:2]
		var b bytes.Buffer
		_, err := evidence.Write(&b, run, traces, nil)
		if want != nil {
			require.ErrorIs(t, err, want)
			continue
		}
		require.NoError(t, err)
		rec, err := evidence.Open(bytes.NewReader(b.Bytes()), int64(b.Len()))
		require.NoError(t, err)
		require.Equal(t, []evidence.Gap{{Scenario: s.Name, Asked: 3, Performed: 2}}, rec.Gaps())
	}
}

func TestWhatIsNotWritten(t *testing.T) {
	write := func(change func(*reports.Run, shelf)) error {
		run, traces := example(t)
		change(run, traces)
		_, err := evidence.Write(io.Discard, run, traces, nil)
		return err
	}
	require.NoError(t, write(func(*reports.Run, shelf) {}))
	require.ErrorIs(t, write(func(r *reports.Run, _ shelf) { r.Scenarios[0].Trials[2].Number = 2 }), evidence.ErrReordered)
	require.ErrorIs(t, write(func(r *reports.Run, _ shelf) { r.Scenarios[0].Trials[2].Number = 4 }), evidence.ErrAdded)
	require.ErrorIs(t, write(func(r *reports.Run, _ shelf) { r.Scenarios[0].Trials[0].Number = 0 }), evidence.ErrReordered)
	require.ErrorIs(t, write(func(r *reports.Run, _ shelf) { r.Scenarios[6].Name = r.Scenarios[0].Name }), evidence.ErrContradiction)
	require.ErrorIs(t, write(func(r *reports.Run, _ shelf) { r.Scenarios[0].Shown = &reports.Shown{Trials: 4} }), evidence.ErrRemoved)
	require.ErrorIs(t, write(func(r *reports.Run, _ shelf) { r.Scenarios[0].Shown = &reports.Shown{Trials: 2} }), evidence.ErrAdded)
	require.ErrorIs(t, write(func(_ *reports.Run, s shelf) { s["normal-cycle/2"] = s["normal-cycle/1"] }), evidence.ErrSwapped)
	require.ErrorContains(t, write(func(_ *reports.Run, s shelf) { delete(s, "normal-cycle/2") }), "no trace of normal-cycle/2")
	require.ErrorContains(t, write(func(r *reports.Run, _ shelf) { r.Scenarios[0].Trials[1].Reason = "\xff" }), "not UTF-8")
	run, traces := example(t)
	_, err := evidence.Write(io.Discard, run, traces, func([]byte, string) ([]byte, error) { return []byte("no"), nil })
	require.ErrorIs(t, err, evidence.ErrSignature)
	_, err = record.Value(run)
	require.NoError(t, err)
	_, err = evidence.Write(io.Discard, run, traces, func([]byte, string) ([]byte, error) { return nil, fmt.Errorf("no key") })
	require.ErrorContains(t, err, "no key")
}

// An excerpt is held to its proof.
func TestForgedExcerpts(t *testing.T) {
	b, verify := signed(t)
	rec, err := evidence.Open(bytes.NewReader(b), int64(len(b)))
	require.NoError(t, err)
	var out, two bytes.Buffer
	require.NoError(t, evidence.Excerpt(&out, rec, "normal-cycle", 1))
	require.NoError(t, evidence.Excerpt(&two, rec, "normal-cycle", 2))
	honest, other := partsOf(t, out.Bytes()), partsOf(t, two.Bytes())
	whole := partsOf(t, b)
	for name, c := range map[string]struct {
		parts []evidence.Part
		want  error
	}{
		"trial changed":         {edit(t, honest, first, `"verdict":1`, `"verdict":2`), evidence.ErrChanged},
		"run changed":           {edit(t, honest, "run.json", "Gullhaven", "Gallhaven"), evidence.ErrChanged},
		"trace removed":         {without(t, honest, traceName(first)), evidence.ErrContradiction},
		"trial removed":         {without(t, honest, first, traceName(first)), evidence.ErrRemoved},
		"trial without trace":   {without(t, honest, first), evidence.ErrRemoved},
		"proof removed":         {without(t, honest, "proof.json"), evidence.ErrRemoved},
		"run removed":           {without(t, honest, "run.json"), evidence.ErrRemoved},
		"proof of another":      {append(slices.Clone(honest[:len(honest)-1]), other[len(other)-1]), evidence.ErrContradiction},
		"another leaf":          {edit(t, honest, "proof.json", `"leaf":1`, `"leaf":2`), evidence.ErrChanged},
		"a field more":          {edit(t, honest, "proof.json", `"leaf":1`, `"leaf":1,"x":1`), evidence.ErrForm},
		"two trials":            {insert(t, honest, traceName(first), whole[at(t, whole, second)]), evidence.ErrAdded},
		"sums as well":          {insert(t, honest, "run.json", whole[at(t, whole, "SHA256SUMS")]), evidence.ErrReordered},
		"two runs":              {insert(t, honest, "run.json", honest[at(t, honest, "run.json")]), evidence.ErrDuplicate},
		"something after proof": {insert(t, honest, "proof.json", whole[at(t, whole, second)]), evidence.ErrAdded},
		"odd name":              {insert(t, honest, "run.json", evidence.Part{Name: "x", Data: nil}), evidence.ErrName},
	} {
		err := check(evidence.Pack(c.parts), verify)
		require.ErrorIs(t, err, c.want, name)
	}
	for i := 0; i < out.Len(); i += 1 + out.Len()/500 {
		require.ErrorIs(t, check(out.Bytes()[:i], verify), evidence.ErrTruncated, "%d bytes", i)
	}
}
