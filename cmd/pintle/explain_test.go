package main

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every word of every table is explained in whole sentences, and each kind is there.
func TestEveryWordIsExplained(t *testing.T) {
	all, err := terms()
	require.NoError(t, err)
	kinds := map[string]int{}
	for _, w := range all {
		kinds[w.kind]++
		require.NotEmpty(t, w.means, w.word)
		require.NotEmpty(t, w.word)
		for _, text := range w.means {
			assert.Regexp(t, `^[A-Z].*[.?]$`, strings.ReplaceAll(strings.TrimSpace(text), "\n", " "), "%s %s", w.kind, w.word)
		}
		var out bytes.Buffer
		require.NoError(t, (&app{out: &out}).explain(all, []string{w.word}))
		for _, line := range strings.Split(out.String(), "\n") {
			assert.LessOrEqual(t, utf8.RuneCountInString(line), 80, line)
		}
	}
	for kind, least := range map[string]int{"word": 15, "verdict": 5, "rule": 16, "fault": 15, "claim": 19, "line": 18, "scenario": 70, "decision rule": 4,
		"source of uncertainty": 20, "unit": 20, "defect": 45, "exit status": 6, "kind of sensor": 4, "bench": 2, "protocol of a meter": 3,
		"decision of a value": 2, "key of bench.yaml": 60, "key of gate.yaml": 40, "key of controller.yaml": 15, "key of a scenario": 30} {
		assert.GreaterOrEqual(t, kinds[kind], least, kind)
	}
	assert.Len(t, kinds, 20)
	for _, word := range []string{"margin", "risk", "finding", "uncertainty", "four-way", "four-way statement", "conditional pass", "guard band", "swing", "press", "await", "within", "hazard", "keeps", "wheel", "has"} {
		assert.True(t, isTerm(all, word), word)
	}
}
