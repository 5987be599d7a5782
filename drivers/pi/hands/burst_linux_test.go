package hands

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/rig/signal"
)

func TestStaysAwakeInABurstAndNotForLong(t *testing.T) {
	const latest = int64(1e9)
	for name, c := range map[string]struct {
		now, next int64
		awake     bool
	}{
		"just after, next is close":      {latest, latest + burstGap, true},
		"next is a tick too far":         {latest, latest + burstGap + 1, false},
		"the latest is as old as it may": {latest + burstGap, latest + burstGap + 1, true},
		"the latest is a tick too old":   {latest + burstGap + 1, latest + burstGap + 2, false},
		"there is no next":               {latest, int64(signal.Never), false},
	} {
		b := burst{latest: latest}
		require.Equal(t, c.awake, b.goesOn(c.now, c.next), name)
		b = burst{latest: latest, alone: true}
		require.False(t, b.goesOn(c.now, c.next), "%s: with one processor", name)
	}
	b := burst{latest: latest}
	require.True(t, b.goesOn(latest, latest+1))
	b.latest = latest + burstAwake
	require.True(t, b.goesOn(latest+burstAwake, latest+burstAwake+1))
	b.latest++
	require.False(t, b.goesOn(latest+burstAwake+1, latest+burstAwake+2), "long enough")
	require.False(t, b.goesOn(latest+burstAwake+burstGap+2, latest+burstAwake+burstGap+3), "it is over")
	b.latest = latest + 2*burstAwake
	require.True(t, b.goesOn(b.latest, b.latest+1), "another one")
}
