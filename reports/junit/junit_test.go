package junit

import (
	"bytes"
	"encoding/xml"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/reports"
	"pintle/reports/reportstest"
	"pintle/rig/need"
	"pintle/rig/rule"
)

var update = flag.Bool("update", false, "write the golden files anew")

func written(t testing.TB, run *reports.Run) []byte {
	var b bytes.Buffer
	require.NoError(t, Write(&b, run))
	return b.Bytes()
}

func read(t testing.TB, page []byte) suites {
	var doc suites
	require.NoError(t, xml.Unmarshal(page, &doc))
	return doc
}

func TestGolden(t *testing.T) {
	for name, run := range map[string]*reports.Run{"mixed.xml": reportstest.Mixed(), "sound.xml": reportstest.Sound()} {
		got, path := written(t, run), filepath.Join("testdata", name)
		if *update {
			require.NoError(t, os.WriteFile(path, got, 0o644))
		}
		want, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Equal(t, string(want), string(got), name)
		assert.Equal(t, got, written(t, run), "written twice")
	}
	files, err := filepath.Glob("testdata/*.xml")
	require.NoError(t, err)
	require.Len(t, files, 2)
}

func TestOnlyAPassLooksLikeOne(t *testing.T) {
	doc := read(t, written(t, reportstest.Mixed()))
	assert.Equal(t, []int{7, 1, 3, 0}, []int{doc.Tests, doc.Failures, doc.Errors, doc.Skipped})
	for _, v := range []rule.Verdict{rule.Unsettled, rule.Pass, rule.Fail, rule.Inconclusive, rule.Void, 99} {
		run := &reports.Run{Verdict: v, Scenarios: []reports.Scenario{{Name: "s", Verdict: v}}}
		c := read(t, written(t, run)).Suite.Cases[0]
		assert.Equal(t, v == rule.Pass, c.Failure == nil && c.Error == nil && c.Skipped == nil, v)
		assert.Equal(t, v == rule.Fail, c.Failure != nil, v)
	}
}

func TestARunThatIsNoPassHasACaseThatSaysSo(t *testing.T) {
	for name, run := range map[string]*reports.Run{
		"nothing performed": {Verdict: rule.Pass},
		"broken off":        {Verdict: rule.Void, Reason: "broken off by the user", Scenarios: []reports.Scenario{{Verdict: rule.Pass}}},
	} {
		assert.Equal(t, 1, read(t, written(t, run)).Errors, name)
	}
	assert.Equal(t, 0, read(t, written(t, reportstest.Sound())).Errors)
}

// short is a run without some scenarios of its job.
func short() *reports.Run {
	return &reports.Run{Verdict: rule.Pass, Scenarios: []reports.Scenario{{Name: "s", Verdict: rule.Pass}},
		LeftOut:      []reports.LeftOut{{Name: "b", Title: "The beam", Why: "the bench has no beam"}},
		NotPerformed: []reports.LeftOut{{Name: "n", Title: "The night", Why: "not asked for"}}}
}

func TestWhatIsNotInTheRunIsSkipped(t *testing.T) {
	text := written(t, short())
	doc := read(t, text)
	assert.Equal(t, []int{3, 2, 0}, []int{doc.Tests, doc.Skipped, doc.Errors})
	assert.Contains(t, string(text), "not applicable: the bench has no beam")
	assert.Contains(t, string(text), "not performed: not asked for")
}

// Cases that are skipped are no ground for a pass.
func TestARunOfWhichAllIsSkippedIsNoPass(t *testing.T) {
	run := short()
	run.Scenarios = nil
	doc := read(t, written(t, run))
	assert.Equal(t, []int{3, 2, 1}, []int{doc.Tests, doc.Skipped, doc.Errors})
}

func TestSeconds(t *testing.T) {
	assert.Equal(t, "0.000", seconds(0))
	assert.Equal(t, "0.001", seconds(time.Millisecond))
	assert.Equal(t, "12345.678", seconds(12345678*time.Millisecond))
}

func TestAnyTextStaysXML(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := func(n string) string { return string(rapid.SliceOf(rapid.Byte()).Draw(t, n)) }
		run := reportstest.Mixed()
		run.Job, run.Controller.Board, run.Decision = text("job"), text("board"), text("decision")
		run.Scenarios[0].Name, run.Scenarios[1].Reason, run.Scenarios[1].Rules[0].Name = text("name"), text("reason"), text("rule")
		var b bytes.Buffer
		if err := Write(&b, run); err != nil {
			t.Fatal(err)
		}
		var doc suites
		if err := xml.Unmarshal(b.Bytes(), &doc); err != nil {
			t.Fatalf("%v\n%s", err, b.Bytes())
		}
	})
}

// libxml2 shares nothing with this project. The schema is written from what the
// schemas in circulation have in common.
func TestAgainstTheCommonSchema(t *testing.T) {
	lint := need.Tool(t, "xmllint", "apt-get install libxml2-utils")
	odd := reportstest.Mixed()
	odd.Job, odd.Scenarios[0].Name, odd.Scenarios[1].Reason = "a\x00b\x1b<&>\"'", "\xff\xfe", "]]>\u2028\ufffe"
	for name, page := range map[string][]byte{
		"mixed": written(t, reportstest.Mixed()), "sound": written(t, reportstest.Sound()), "empty": written(t, &reports.Run{}), "short": written(t, short()), "odd": written(t, odd),
	} {
		path := filepath.Join(t.TempDir(), "r.xml")
		require.NoError(t, os.WriteFile(path, page, 0o644))
		out, err := exec.Command(lint, "--noout", "--schema", "testdata/common.xsd", path).CombinedOutput()
		assert.NoError(t, err, "%s: %s", name, out)
	}
	bad := filepath.Join(t.TempDir(), "bad.xml")
	page := bytes.Replace(written(t, reportstest.Mixed()), []byte(`classname=`), []byte(`class=`), 1)
	require.NoError(t, os.WriteFile(bad, page, 0o644))
	assert.Error(t, exec.Command(lint, "--noout", "--schema", "testdata/common.xsd", bad).Run(), "the schema must refuse something")
}
