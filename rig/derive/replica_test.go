package derive

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/signal"
	"pintle/rig/thermal"
)

// The sheet works with the figures that it shows, so that a pocket calculator comes
// to the same; to the digits shown that is what the replica says that judges trials.
func TestTheSheetAgreesWithTheReplica(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := Rating{Continuous: signal.Current(rapid.IntRange(1, 99).Draw(t, "continuous")) * signal.Ampere,
			Stands: time.Duration(rapid.IntRange(1, 300).Draw(t, "stands")) * time.Second}
		r.Short = r.Continuous * signal.Current(rapid.IntRange(11, 50).Draw(t, "tenths")) / 10
		c, err := thermal.Fit(r.Continuous, r.Short, r.Stands)
		require.NoError(t, err)
		require.InEpsilon(t, c.Constant.Seconds(), r.tau(), 1e-3)
		before := r.Continuous / 2
		want, ok := c.ToLimit(r.Short, c.Steady(before))
		require.True(t, ok)
		require.InEpsilon(t, want.Seconds(), r.tau()*math.Log(ratio(amperes(r.Short), amperes(before), amperes(r.Continuous))), 2e-3)
	})
}
