package header

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// The table is held to that of periph.io/x/host/v3 v3.8.5, rpi/rpi.go (P1_1 to
// P1_40), taken from its source.
func TestPinsAgainstPeriph(t *testing.T) {
	b, err := os.ReadFile("testdata/periph-host-v3.8.5.tsv")
	require.NoError(t, err)
	names := map[string]string{"GROUND": "GND", "V3_3": "3V3", "V5": "5V"}
	n := 0
	for line := range strings.Lines(string(b)) {
		n++
		number, want, _ := strings.Cut(strings.TrimSpace(line), "\t")
		require.Equal(t, fmt.Sprint(n), number)
		if short, ok := names[want]; ok {
			want = short
		}
		p, err := At(n)
		require.NoError(t, err)
		require.Equal(t, n, p.Number)
		require.Equal(t, want, p.Name(), "pin %d", n)
	}
	require.Equal(t, Pins, n)
}

func TestFind(t *testing.T) {
	for name, want := range map[string]string{
		"GPIO17": "pin 11 (GPIO17)", "gpio2": "pin 3 (GPIO2)", "11": "pin 11 (GPIO17)", " 40 ": "pin 40 (GPIO21)", "GPIO27": "pin 13 (GPIO27)",
	} {
		p, err := Find(name)
		require.NoError(t, err, name)
		require.Equal(t, want, p.String())
	}
	for name, want := range map[string]string{
		"GPIO28": "does not come to the connector", "0": "no pin 0", "41": "no pin 41", "GPIO0": "kept by the board", "28": "kept by the board",
		"6": "pin 6 (GND) is no line", "1": "(3V3)", "2": "(5V)", "": "is no pin", "GPIO": "is no pin", "-1": "is no pin", "BEAM": "is no pin", "300": "is no pin",
	} {
		_, err := Find(name)
		require.ErrorContains(t, err, want, name)
	}
}

// The pulls at power-on are held to those of periph.io/x/host, bcm283x/gpio.go
// (cpuPins, defaultPull), which has them of the maker's data sheet.
func TestPullsAtPowerOn(t *testing.T) {
	pulls := "UUUUUUUUUDDDDDDDDDDDDDDDDDDD" // of GPIO0 to GPIO27
	seen := 0
	for _, p := range table {
		if p.Kind != GPIO && p.Kind != Reserved {
			require.False(t, p.StartsUp(), p.String())
			continue
		}
		seen++
		require.Equal(t, pulls[p.Line] == 'U', p.StartsUp(), p.String())
	}
	require.Equal(t, 28, seen)
}

// Each part of the board has the pins that its own standard function needs.
func TestBuses(t *testing.T) {
	lines := map[Bus][]uint32{}
	for _, p := range table {
		if p.Bus != "" {
			lines[p.Bus] = append(lines[p.Bus], p.Line)
		}
		require.Equal(t, p.Shared != "", p.Bus != "", p.String())
		require.Equal(t, p.FixedPull(), p.Kind == GPIO && (p.Line == 2 || p.Line == 3), p.String())
	}
	require.ElementsMatch(t, []uint32{2, 3}, lines[I2C])
	require.ElementsMatch(t, []uint32{4}, lines[OneWire])
	require.ElementsMatch(t, []uint32{14, 15}, lines[Serial])
	require.ElementsMatch(t, []uint32{7, 8, 9, 10, 11}, lines[SPI])
	require.ElementsMatch(t, []uint32{18, 19, 20, 21}, lines[I2S])
}

func FuzzFind(f *testing.F) {
	f.Add("GPIO17")
	f.Add("11")
	f.Fuzz(func(t *testing.T, name string) {
		p, err := Find(name)
		if err != nil {
			return
		}
		if p.Kind != GPIO || p.Line < 2 || p.Line > 27 || table[p.Number-1] != p {
			t.Fatalf("%q gives %v", name, p)
		}
	})
}
