package board

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/pin"
	"periph.io/x/host/v3/rpi"

	"pintle/rig/header"
)

func TestModel(t *testing.T) {
	dir := t.TempDir()
	for text, isPi := range map[string]bool{"Raspberry Pi 4 Model B Rev 1.4\x00": true, "Raspberry Pie\x00": false, "": false} {
		file := filepath.Join(dir, "model")
		require.NoError(t, os.WriteFile(file, []byte(text), 0o600))
		model, got, err := read(file)
		require.NoError(t, err)
		require.Equal(t, isPi, got, model)
		require.NotContains(t, model, "\x00")
	}
	_, isPi, err := read(filepath.Join(dir, "none"))
	require.NoError(t, err)
	require.False(t, isPi)
	_, _, err = read(dir)
	require.ErrorContains(t, err, "which board this is")
}

// The connector's lines are those of periph.io/x/host/v3/rpi, pin by pin.
func TestTheConnectorAgainstPeriph(t *testing.T) {
	for number, theirs := range map[int]pin.Pin{3: rpi.P1_3, 8: rpi.P1_8, 11: rpi.P1_11, 13: rpi.P1_13, 16: rpi.P1_16, 22: rpi.P1_22,
		29: rpi.P1_29, 32: rpi.P1_32, 36: rpi.P1_36, 40: rpi.P1_40} {
		ours, err := header.At(number)
		require.NoError(t, err)
		require.Equal(t, theirs.Name(), ours.Name(), "pin %d", number)
		require.EqualValues(t, theirs.(gpio.PinIO).Number(), ours.Line)
	}
}
