package pi

import (
	"bufio"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
	"golang.org/x/term"

	"pintle/drivers/meter"
	"pintle/drivers/pi/hands"
	"pintle/rig/signal"
)

// answers is a meter that is asked.
func answers(f *os.File) {
	for in := bufio.NewScanner(f); in.Scan(); {
		switch q := strings.TrimSpace(in.Text()); {
		case q == "*IDN?":
			fmt.Fprintln(f, "BOATYARD,M7,0,1.2")
		case strings.HasPrefix(q, "SYST:ERR"):
			fmt.Fprintln(f, `0,"No error"`)
		case strings.HasSuffix(q, "?"):
			fmt.Fprintln(f, "0.001")
		}
	}
}

// What the meter says of itself comes from the hands to the bench.
func TestTheMeterSaysWhatItIs(t *testing.T) {
	master, slave, err := pty.Open()
	require.NoError(t, err)
	defer func() { slave.Close(); master.Close() }()
	_, err = term.MakeRaw(int(slave.Fd()))
	require.NoError(t, err)
	go answers(master)
	m := meter.Config{Port: slave.Name(), Protocol: "scpi", Interval: 50 * time.Millisecond, Most: 40 * time.Millisecond,
		Resolution: 1000, Range: 60 * signal.Ampere, Silence: patient}
	m.SCPI.Query = "MEAS:CURR?"
	b, facts, ready, err := New(Config{Name: "quay", Meter: m.Facts(), Hands: hands.Config{Chip: "none", Meter: &m,
		Outputs: []hands.Wire{{Line: signal.Supply, Offset: 1}}}})
	require.NoError(t, err)
	require.Equal(t, "BOATYARD, M7, 0, 1.2", facts.Meter.Says)
	require.Equal(t, (Config{}).late(ready.Lost), facts.Late)
	require.NoError(t, b.Close())
}

// A bench to which a real-time priority was refused allows its edges more, unless its file
// says how much.
func TestWhatIsRefusedAllowsForMore(t *testing.T) {
	require.Equal(t, time.Millisecond, Config{}.late(nil))
	require.Equal(t, 10*time.Millisecond, Config{}.late([]string{"priority"}))
	require.Equal(t, 2*time.Millisecond, Config{Late: 2 * time.Millisecond}.late([]string{"priority"}))
}
