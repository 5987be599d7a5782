package outline

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/reports"
	"pintle/reports/reportstest"
	"pintle/rig/rule"
)

var update = flag.Bool("update", false, "write the golden files anew")

func written(t require.TestingT, run *reports.Run) []byte {
	var b bytes.Buffer
	require.NoError(t, Write(&b, run, Options{}))
	return b.Bytes()
}

// Names of fields are promised, so both the schema and what is written are kept.
func TestGolden(t *testing.T) {
	text, err := Schema()
	require.NoError(t, err)
	for name, got := range map[string][]byte{"summary.schema.json": text, "mixed.json": written(t, reportstest.Mixed()), "sound.json": written(t, reportstest.Sound())} {
		path := filepath.Join("testdata", name)
		if *update {
			require.NoError(t, os.MkdirAll("testdata", 0o755))
			require.NoError(t, os.WriteFile(path, got, 0o644))
		}
		want, err := os.ReadFile(path)
		require.NoError(t, err, "-update writes it")
		assert.Equal(t, string(want), string(got), name)
	}
	files, err := filepath.Glob("testdata/*.json")
	require.NoError(t, err)
	require.Len(t, files, 3)
}

// compiled is the schema as an independent library understands it, which checks it
// against the metaschema of draft 2020-12 as well.
func compiled(t require.TestingT) *jsonschema.Schema {
	text, err := Schema()
	require.NoError(t, err)
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	require.NoError(t, c.AddResource("summary.json", doc))
	s, err := c.Compile("summary.json")
	require.NoError(t, err)
	return s
}

func valid(t require.TestingT, s *jsonschema.Schema, text []byte) error {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	require.NoError(t, err)
	return s.Validate(doc)
}

func TestWhatIsWrittenIsAsThePublishedSchemaSays(t *testing.T) {
	s := compiled(t)
	for name, run := range map[string]*reports.Run{"mixed": reportstest.Mixed(), "sound": reportstest.Sound(), "many": reportstest.Many(20, 3), "empty": {}} {
		assert.NoError(t, valid(t, s, written(t, run)), name)
	}
	text := string(written(t, reportstest.Mixed()))
	for what, change := range map[string][2]string{
		"a field that is not there": {`"verdict": "fail"`, `"verdickt": "fail"`},
		"a verdict of no meaning":   {`"verdict": "fail"`, `"verdict": "passed"`},
		"another format":            {`"pintle summary 1"`, `"pintle summary 2"`},
		"a number as a text":        {`"rules": 1`, `"rules": "1"`},
	} {
		wrong := strings.Replace(text, change[0], change[1], 1)
		require.NotEqual(t, text, wrong, what)
		assert.Error(t, valid(t, s, []byte(wrong)), what)
	}
}

func TestOnlyAPassSaysSo(t *testing.T) {
	for _, v := range []rule.Verdict{rule.Unsettled, rule.Fail, rule.Inconclusive, rule.Void, 99} {
		run := &reports.Run{Verdict: v, Controller: reports.Controller{Claims: []reports.Claim{{Name: "x"}, {Name: "y"}}},
			Scenarios: []reports.Scenario{{Name: "s", Verdict: v, Rules: []reports.Rule{{Name: "r", Claims: []string{"y"}}}}}}
		text := string(written(t, run))
		assert.NotContains(t, text, `"verdict": "pass"`, v)
		assert.NotContains(t, text, `"pass": 1`, v)
	}
}

// Figures stand under a name with their unit, and a void trial has none.
func TestFigures(t *testing.T) {
	o, err := Of(reportstest.Mixed(), Options{})
	require.NoError(t, err)
	late := o.Performed[1].Findings[0]
	assert.Equal(t, "fail", late.Verdict)
	assert.Equal(t, int64(16_240_000_000), late.Time.Value)
	assert.Equal(t, int64(-1_242_000_000), *late.Time.Margin)
	assert.Equal(t, "at most", late.Time.Side)
	assert.Nil(t, late.Current)
	under := o.Performed[4].Findings[0]
	assert.Equal(t, int64(12_000_000), *under.Current.Limit)
	for _, f := range o.Performed[6].Findings {
		assert.Equal(t, "void", f.Verdict)
		assert.Nil(t, f.Time)
	}
	run := reportstest.Mixed()
	run.Scenarios[1].Trials[0].Findings[0].Appraisal = &rule.Appraisal{Value: 1, Beyond: true}
	o, err = Of(run, Options{})
	require.NoError(t, err)
	assert.True(t, o.Performed[1].Findings[0].Time.Beyond)
	assert.Equal(t, int64(1_000_000), *o.Performed[1].Findings[0].Broken)
}

// Nothing is lost on the way through another reader of JSON.
func TestRoundTrip(t *testing.T) {
	s := compiled(t)
	rapid.Check(t, func(t *rapid.T) {
		run := reportstest.Mixed()
		run.Job, run.Reason, run.Seed = rapid.String().Draw(t, "job"), rapid.String().Draw(t, "reason"), rapid.Uint64().Draw(t, "seed")
		run.Scenarios[0].Rules[0].Name, run.Verdict = rapid.String().Draw(t, "rule"), rule.Verdict(rapid.Uint8().Draw(t, "verdict"))
		want, err := Of(run, Options{})
		if err != nil {
			return // a text that no record can hold
		}
		text := written(t, run)
		require.NoError(t, valid(t, s, text))
		var got Outline
		require.NoError(t, json.Unmarshal(text, &got))
		require.Equal(t, *want, got)
	})
}
