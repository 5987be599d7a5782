package main

import (
	"bytes"
	"context"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/reports/proof"
	"pintle/scenarios"
)

// The built-in scenarios catch all that can be seeded, and the sound controller passes them.
func TestProve(t *testing.T) {
	if testing.Short() {
		t.Skip("takes some 5 s; run without -short")
	}
	job, err := scenarios.Demo(equipment())
	require.NoError(t, err)
	p, err := prove(context.Background(), job, job.Applicable(), proveOptions{trials: 1, seed: 1})
	require.NoError(t, err)
	var told bytes.Buffer
	require.NoError(t, p.Print(&told, 80))
	require.True(t, p.Holds(), told.String())
	assert.Contains(t, told.String(), "(100 %)\nthe sound controller passes ")
	singles := 0
	for _, r := range p.Rows {
		if !r.Pair {
			singles++
		}
	}
	assert.GreaterOrEqual(t, singles, 40)
	assert.GreaterOrEqual(t, len(p.Scenarios), 45)
	earnsItsPlace(t, p)
	asPublished(t, "proof", p.Tell())
	t.Run("the smallest part", func(t *testing.T) { smallestByProgram(t, p) })
}

// asPublished holds what programs are given against the schema that they are told of.
func asPublished(t *testing.T, kind string, told any) {
	text, err := schemaOf(kind)
	require.NoError(t, err)
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	require.NoError(t, c.AddResource(kind+".json", doc))
	s, err := c.Compile(kind + ".json")
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, reports.WriteJSON(&b, told))
	doc, err = jsonschema.UnmarshalJSON(&b)
	require.NoError(t, err)
	assert.NoError(t, s.Validate(doc))
}

// earnsItsPlace holds every scenario to being the cheapest that catches some defect, or
// one of few that do: what nothing but the grossest defect breaks may be hollow.
func earnsItsPlace(t *testing.T, p *proof.Proof) {
	few := len(p.Scenarios) / 6
	earns := make([]bool, len(p.Scenarios))
	for i := range p.Rows {
		by := p.Rows[i].By()
		if cheapest, ok := p.Cheapest(i); ok && !p.Rows[i].Pair {
			earns[cheapest] = true
		}
		for _, s := range by {
			earns[s] = earns[s] || len(by) <= few && !p.Rows[i].Pair
		}
	}
	for i, s := range p.Scenarios {
		assert.Truef(t, earns[i], "%s catches no defect at the least cost, and none that at most %d scenarios catch", s.Name, few)
	}
}
