package diagnosis

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// Whatever can be said of a line is heard as the level that it comes to.
func TestEveryWordOfALineIsHeard(t *testing.T) {
	for _, info := range signal.Lines {
		for level, all := range map[signal.Level][]string{signal.Made: {info.Made, info.Makes, "makes", "made"}, signal.Broken: {info.Broken, info.Breaks, "breaks", "broken"}} {
			for _, words := range all {
				h, ok := read(info.Name + " " + words)
				require.True(t, ok, "%s %s", info.Name, words)
				require.Equal(t, heard{line: info.Line, level: level}, h, "%s %s", info.Name, words)
				h, ok = read("not " + info.Name + " " + words)
				require.True(t, ok)
				require.Equal(t, level.Not(), h.level, "not %s %s", info.Name, words)
			}
		}
	}
	_, ok := read("supply sings")
	require.False(t, ok)
	h, ok := read("motor starts closing")
	require.True(t, ok)
	require.Equal(t, heard{state: motion.Closing}, h)
}

// A limit is called by its claim where it is the claim, whatever unit its figure has.
func TestALimitIsCalledByItsClaim(t *testing.T) {
	for written, want := range map[string]string{
		"claim run-time cut-out (2min)": "the run-time cut-out of ", "claim run-time cut-out": "the run-time cut-out of ",
		"claim run-time cut-out * 2 (4min)": "the limit of ", "120s": "the limit of ",
	} {
		y := &story{r: reports.Rule{Limit: written, Claims: []string{"run-time cut-out"}}, f: &rule.Finding{Unit: rule.Nanoseconds, Limit: 120e9}}
		require.Regexp(t, "^"+want, y.limit(), written)
	}
}
