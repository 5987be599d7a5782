package wording_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/rig/wording"
)

func TestCount(t *testing.T) {
	for n, want := range map[int]string{0: "no trials", 1: "1 trial", 2: "2 trials", 3490: "3490 trials", -1: "-1 trials"} {
		require.Equal(t, want, wording.Count(n, "trial"))
	}
	for n, want := range map[int]string{0: "no entries", 1: "1 entry", 2: "2 entries"} {
		require.Equal(t, want, wording.Count(n, "entry", "entries"))
	}
}

func TestTimes(t *testing.T) {
	for n, want := range map[int]string{0: "never", 1: "once", 2: "2 times"} {
		require.Equal(t, want, wording.Times(n))
	}
}

func TestUpper(t *testing.T) {
	for text, want := range map[string]string{"": "", "a": "A", "the gate": "The gate", "The gate": "The gate", "ärger": "Ärger",
		"µA": "µA", "5 s": "5 s", "ß": "ß", "\xff": "\xff"} {
		require.Equal(t, want, wording.Upper(text))
	}
}

func TestClause(t *testing.T) {
	for text, want := range map[string]string{
		"What is named never holds.": "what is named never holds",
		"DC motors hum.":             "DC motors hum",
		"already one":                "already one",
		"A line stays.":              "a line stays",
		"Ärger.":                     "ärger",
		"":                           "",
	} {
		require.Equal(t, want, wording.Clause(text))
	}
}
