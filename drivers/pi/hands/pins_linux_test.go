package hands

import (
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig/signal"
)

// What the pins are at comes back by the line, whichever level is its rest.
func TestPinsAreReadBack(t *testing.T) {
	h := start(t, none())
	made, err := h.Pins()
	require.NoError(t, err)
	require.Zero(t, made, "all is at rest, the contact that is closed at rest as well")
	soon := signal.Instant(h.Now() + int64(20*time.Millisecond))
	h.Plan(signal.OpenLimit, []signal.Edge{{At: soon, Level: signal.Made}})
	edges(t, h, 1)
	made, err = h.Pins()
	require.NoError(t, err)
	require.Equal(t, signal.SetOf(signal.OpenLimit), made)
	require.NoError(t, h.Safe())
	made, err = h.Pins()
	require.NoError(t, err)
	require.Zero(t, made)
	require.NoError(t, h.Close())
	_, err = h.Pins()
	require.ErrorContains(t, err, "do not answer")
}

// deaf is a chip that does not read what it drives.
type deaf struct{ noLines }

func (*deaf) Get() (uint64, error) { return 0, errors.New("not supported") }

func TestAChipThatDoesNotReadItsPins(t *testing.T) {
	h, c := both(nil)
	h.outputs = &deaf{}
	c.desk.pinsAsked.Add(1)
	h.readPins()
	require.EqualValues(t, 1, c.desk.pinsDone.Load())
	require.EqualValues(t, 1, c.desk.pinsShut.Load())
}
