package pi

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/drivers/pi/hands"
	"pintle/rig"
)

// Whatever the guard acts on is told by a name and words of its own; what is the
// controller's own doing has the names that a conductor does not void a trial for.
func TestEveryTripIsTold(t *testing.T) {
	seen := map[string]bool{}
	for trip := hands.NoTrip + 1; trip <= hands.LinesFailed; trip++ {
		code, text := tripText(trip)
		require.NotEqual(t, "guard", code, "trip %d", trip)
		require.NotEmpty(t, text)
		require.False(t, seen[code], code)
		seen[code] = true
	}
	current, _ := tripText(hands.TooMuchCurrent)
	drive, _ := tripText(hands.TooLongDrive)
	require.Equal(t, []string{rig.GuardCurrent, rig.GuardDrive}, []string{current, drive})
	code, text := tripText(hands.LinesFailed + 1)
	require.Equal(t, "guard", code)
	require.Contains(t, text, "gives as 7")
}
