package proof

import (
	"bytes"
	"encoding/json"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/rule"
)

// valid holds a text against the published schema, as an independent library
// understands it.
func valid(t *testing.T, text []byte) error {
	schema, err := Schema()
	require.NoError(t, err)
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(schema))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	require.NoError(t, c.AddResource("proof.json", doc))
	s, err := c.Compile("proof.json")
	require.NoError(t, err)
	told, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	require.NoError(t, err)
	return s.Validate(told)
}

// Names of fields are promised, and everything is told by its name.
func TestTell(t *testing.T) {
	p := of("..?", "X. ", "?X!", "...")
	p.Scenarios[0].Group, p.Sound[2].Reason, p.Rows[1].Pair = "people", "it could not be told", true
	text, err := json.Marshal(p.Tell())
	require.NoError(t, err)
	require.NoError(t, valid(t, text))
	assert.JSONEq(t, `{
	"format": "pintle proof 1", "holds": false, "caught": 2, "escaped": ["defect 3"],
	"scenarios": [
		{"name": "scenario-1", "group": "people", "took_ns": 1000000000, "sound": "pass", "only": ["defect 1"]},
		{"name": "scenario-2", "group": "", "took_ns": 2000000000, "sound": "pass", "only": ["defect 2"]},
		{"name": "scenario-3", "group": "", "took_ns": 3000000000, "sound": "inconclusive", "sound_reason": "it could not be told", "only": []}],
	"defects": [
		{"name": "defect 1", "means": "is wrong", "cheapest": "scenario-1", "caught_by": ["scenario-1"], "not_performed": ["scenario-3"],
			"verdicts": [{"scenario": "scenario-1", "verdict": "fail"}, {"scenario": "scenario-2", "verdict": "pass"}]},
		{"name": "defect 2", "means": "is wrong", "pair": true, "cheapest": "scenario-2", "caught_by": ["scenario-2"], "not_performed": [],
			"verdicts": [{"scenario": "scenario-1", "verdict": "inconclusive"}, {"scenario": "scenario-2", "verdict": "fail"}, {"scenario": "scenario-3", "verdict": "void"}]},
		{"name": "defect 3", "means": "is wrong", "caught_by": [], "not_performed": [],
			"verdicts": [{"scenario": "scenario-1", "verdict": "pass"}, {"scenario": "scenario-2", "verdict": "pass"}, {"scenario": "scenario-3", "verdict": "pass"}]}],
	"shortest": {"scenarios": ["scenario-1", "scenario-2"], "took_ns": 3000000000, "smallest": true}}`, string(text))
}

// The schema knows every verdict there is, and nothing beside what is told.
func TestTheSchemaIsStrict(t *testing.T) {
	p := of(".")
	for _, v := range rule.Verdicts {
		p.Rows = append(p.Rows, Row{Name: v.Name, Cells: []Cell{{Verdict: v.Verdict}}})
	}
	text, err := json.Marshal(p.Tell())
	require.NoError(t, err)
	require.NoError(t, valid(t, text))
	require.Error(t, valid(t, bytes.Replace(text, []byte(`"pass"`), []byte(`1`), 1)))
	require.Error(t, valid(t, bytes.Replace(text, []byte(`"took_ns"`), []byte(`"Took"`), 1)))
	require.Error(t, valid(t, bytes.Replace(text, []byte(`"verdict":"fail"`), []byte(`"verdict":"broken"`), 1)))
	nothing, err := json.Marshal((&Proof{Scenarios: []Scenario{}, Rows: nil}).Tell())
	require.NoError(t, err)
	require.NoError(t, valid(t, nothing))
	assert.NotContains(t, string(nothing), "null")
	assert.Equal(t, time.Duration(0), (&Proof{}).Tell().Shortest.Took)
}
