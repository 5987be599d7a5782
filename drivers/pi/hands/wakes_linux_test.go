package hands

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Hands that have nothing to do sleep for a millisecond at a time, and say how late they
// were woken each time.
func TestWakesAreTold(t *testing.T) {
	h := start(t, none())
	h.Woke()
	began := h.Now()
	pause(200 * time.Millisecond)
	woke := h.Woke()
	turns := time.Duration(h.Now()-began) / time.Millisecond
	require.NotEmpty(t, woke)
	require.LessOrEqual(t, len(woke), int(turns)+1)
	for _, late := range woke {
		require.GreaterOrEqual(t, late, time.Duration(0))
	}
}

func TestWakesThatFindNoRoom(t *testing.T) {
	var w wakes
	w.put(-1)
	require.Empty(t, w.take())
	for n := range int64(mostWakes + 5) {
		w.put(n)
	}
	late := w.take()
	require.Len(t, late, mostWakes)
	require.EqualValues(t, mostWakes-1, late[mostWakes-1])
	w.put(7)
	require.Equal(t, []time.Duration{7}, w.take())
}
