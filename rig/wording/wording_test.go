package wording_test

import (
	"testing"
	"time"

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

func TestTime(t *testing.T) {
	for d, want := range map[time.Duration]string{
		0: "0 s", 1: "1 ns", 2500: "2.5 µs", 2_602_000: "2.602 ms", -20 * time.Millisecond: "-20 ms", time.Second: "1 s",
		90 * time.Second: "1 min 30 s", time.Hour: "1 h", -time.Hour - 500*time.Millisecond: "-1 h 0.5 s",
		time.Hour + 13*time.Minute + 22*time.Second: "1 h 13 min 22 s", 2*time.Minute + 250*time.Millisecond: "2 min 0.25 s",
	} {
		require.Equal(t, want, wording.Time(d), "%v", d)
	}
}
