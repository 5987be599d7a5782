package summary

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/reports"
	"pintle/reports/reportstest"
	"pintle/rig/rule"
)

var update = flag.Bool("update", false, "write the golden files anew")

func written(t testing.TB, run *reports.Run, o Options) string {
	var b strings.Builder
	require.NoError(t, Write(&b, run, o))
	return b.String()
}

func TestGolden(t *testing.T) {
	var detail strings.Builder
	mixed := reportstest.Mixed()
	for i := range mixed.Scenarios {
		s := &mixed.Scenarios[i]
		require.NoError(t, Detail(&detail, mixed, s, &s.Trials[0], Options{}))
		detail.WriteString("\n")
	}
	golden := map[string]string{
		"mixed.txt":  written(t, reportstest.Mixed(), Options{}),
		"sound.txt":  written(t, reportstest.Sound(), Options{}),
		"narrow.txt": written(t, reportstest.Mixed(), Options{Columns: 48}),
		"detail.txt": detail.String(),
	}
	for name, got := range golden {
		path := filepath.Join("testdata", name)
		if *update {
			require.NoError(t, os.MkdirAll("testdata", 0o755))
			require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
		}
		want, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Equal(t, string(want), got, name)
	}
	files, err := filepath.Glob("testdata/*.txt")
	require.NoError(t, err)
	require.Len(t, files, len(golden))
}

func TestEveryScenarioHasItsVerdictWord(t *testing.T) {
	run := reportstest.Mixed()
	for _, s := range run.Scenarios {
		line := ""
		for l := range strings.Lines(written(t, run, Options{})) {
			if strings.Contains(l, " "+s.Name+" ") {
				line = l
			}
		}
		assert.Equal(t, s.Verdict.String(), strings.Fields(line + "?")[0], s.Name)
	}
	assert.Contains(t, written(t, run, Options{Columns: 120}), "7 scenarios: 3 pass, 1 fail, 2 inconclusive, 1 void")
}

func TestNothingLooksLikeAPassThatIsNone(t *testing.T) {
	run := &reports.Run{ID: "empty"}
	assert.Equal(t, "unsettled    run empty  no scenarios\n", written(t, run, Options{}))
	run.Scenarios = []reports.Scenario{{Name: "a"}, {Name: "b", Trials: []reports.Trial{{Findings: []rule.Finding{{}}}}}}
	got := written(t, run, Options{})
	assert.NotContains(t, got, "pass")
	assert.Contains(t, got, "unsettled    a  no trial was judged (no trials)")
	assert.Contains(t, got, "unsettled    b  no reason was given")
}

func TestNothingMovesTheTerminal(t *testing.T) {
	run := reportstest.Mixed()
	run.Scenarios[0].Name = "evil\x1b[2Jname"
	assert.NotContains(t, written(t, run, Options{}), "\x1b")
}

func TestLinesFit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		run := reportstest.Mixed()
		run.Scenarios[1].Reason = rapid.StringMatching(`([a-z]{1,12} ){0,30}`).Draw(t, "reason")
		run.Scenarios[2].Name = rapid.StringMatching(`[a-z-]{1,24}`).Draw(t, "name")
		columns := rapid.IntRange(48, 160).Draw(t, "columns")
		var b strings.Builder
		if err := Write(&b, run, Options{Columns: columns}); err != nil {
			t.Fatal(err)
		}
		for l := range strings.Lines(b.String()) {
			if n := utf8.RuneCountInString(strings.TrimSuffix(l, "\n")); n > columns {
				t.Fatalf("%d of %d columns: %q", n, columns, l)
			}
		}
	})
}
