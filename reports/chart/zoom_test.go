package chart

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/reports/reportstest"
	"pintle/rig/motion"
	"pintle/rig/signal"
)

// However far one goes in, the labels of time differ, do not touch, and both ends say
// that they were cut.
func TestZoom(t *testing.T) {
	trace, err := reportstest.Source{}.Trace("", "missed-closed-limit", 1)
	require.NoError(t, err)
	from := signal.Instant(12_345_678_912)
	for width := signal.Instant(4_000_000_000); width >= 20; width /= 3 {
		var b strings.Builder
		c := New(trace, Options{From: from, To: from + width})
		require.NoError(t, c.Text(&b, 80, false))
		seen, rows := map[string]bool{}, strings.Split(b.String(), "\n")
		for _, row := range rows {
			rest, ok := strings.CutPrefix(row, "seconds")
			if !ok {
				continue
			}
			for _, label := range strings.Fields(rest) {
				assert.False(t, seen[label], "%s stands twice at a width of %d ns", label, width)
				assert.LessOrEqual(t, strings.Count(label, "."), 1, "labels touch at a width of %d ns: %s", width, row)
				seen[label] = true
			}
		}
		assert.GreaterOrEqual(t, len(seen), 1, "at a width of %d ns", width)
		lane := rows[1]
		assert.Equal(t, 2, strings.Count(lane, "/"), lane)
	}
}

// A whole trial has no end that was cut.
func TestWholeIsNotCut(t *testing.T) {
	trace, err := reportstest.Source{}.Trace("", "missed-closed-limit", 1)
	require.NoError(t, err)
	var b strings.Builder
	require.NoError(t, New(trace, Options{From: 0, To: trace.End}).Text(&b, 80, false))
	assert.NotContains(t, b.String(), "/")
}

// What the motor did before the part shown is where its lane begins.
func TestMotorBeforeTheZoom(t *testing.T) {
	trace, err := reportstest.Source{}.Trace("", "missed-closed-limit", 1)
	require.NoError(t, err)
	changes := []motion.Change{{Is: motion.Stopped}, {Was: motion.Stopped, Is: motion.Closing, Span: signal.At(1_139_000_000)},
		{Was: motion.Closing, Is: motion.Stopped, Span: signal.At(17_379_000_000)}}
	var all, late strings.Builder
	from := signal.Instant(16_000_000_000)
	require.NoError(t, New(trace, Options{From: from, To: 18_000_000_000, Motor: changes}).Text(&all, 80, true))
	require.NoError(t, New(trace, Options{From: from, To: 18_000_000_000, Motor: []motion.Change{{Was: motion.Closing, Is: motion.Stopped, Span: changes[2].Span}}}).Text(&late, 80, true))
	assert.Equal(t, late.String(), all.String())
}
