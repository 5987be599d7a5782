package benchtest

import (
	"github.com/stretchr/testify/require"

	"pintle/rig"
	"pintle/rig/signal"
)

// safeReleases makes every line, leaves more planned, and calls Safe. Whether
// the bench also reports the releases as edges is its own affair, but it must
// not report anything else.
func safeReleases(w *watch) {
	lines := w.driven()
	at, more := w.ahead(5), w.ahead(40)
	for _, l := range lines {
		w.plan(l, signal.Edge{At: at, Level: signal.Made}, signal.Edge{At: more, Level: signal.Broken})
	}
	require.Len(w.T, w.gather(at, len(lines)), len(lines), "all lines made")
	require.NoError(w.T, w.Safe())
	require.NoError(w.T, w.Safe(), "a second time")
	w.onlyReleases(w.until(max(more, w.ahead(0)).Add(3 * w.step())))
	w.released("after safe")
	w.show(signal.Supply, "after safe the supply can be switched on again")
}

func (w *watch) onlyReleases(got []rig.Observation) {
	w.T.Helper()
	var done signal.LineSet
	for _, o := range got {
		require.Equalf(w.T, signal.Broken, o.Level, "safe makes %v", o.Line)
		require.Falsef(w.T, done.Has(o.Line), "safe releases %v twice", o.Line)
		done |= signal.SetOf(o.Line)
	}
}

func safeAnyTime(w *watch) {
	require.NoError(w.T, w.Safe(), "before anything else")
	w.show(signal.Supply, "after safe")
	require.NoError(w.T, w.Close())
	require.NoError(w.T, w.Safe(), "after close")
	require.NoError(w.T, w.Safe(), "after close, again")
}

func closeEnds(w *watch) {
	at := w.ahead(5)
	w.plan(w.one(), signal.Edge{At: at, Level: signal.Made})
	w.tick()
	require.NoError(w.T, w.Close())
	require.NoError(w.T, w.Close(), "a second time")
	_, err := w.Next(at)
	require.Error(w.T, err, "next after close")
	require.Error(w.T, w.Plan(w.one(), nil), "plan after close")
	w.tick()
}
