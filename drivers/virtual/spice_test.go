package virtual

import (
	"bufio"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/rig/need"
	"pintle/rig/signal"
)

// netlist is the motor on its brake as a circuit: the rotor as a capacitor whose voltage
// is the speed, the drag as a resistor, the brake as a current of one strength either way,
// which turns round over some hundredths of a radian per second.
func netlist(c MotorConfig, b BatteryConfig, turn float64, out string) string {
	return fmt.Sprintf(`motor on a brake, mechanics by analogy
V1 supply 0 PWL(0 %.12g %.12g %.12g %.12g %.12g)
R1 supply a %.12g
L1 a b %.12g IC=0
Bemf b sense V=%.12g*V(speed)
Vsense sense 0 0
Bmotor 0 speed I=%.12g*I(Vsense)
Cinertia speed 0 %.12g IC=0
Rviscous speed 0 %.12g
Bbrake speed 0 I=tanh(V(speed)*100)*(%.12g+%.12g*tanh(V(speed)*100))
.options reltol=1e-6 abstol=1e-9 vntol=1e-9 method=gear
.tran 50u 1 0 50u uic
.control
set numdgt=12
set filetype=ascii
run
wrdata %s i(Vsense) v(speed)
quit
.endc
.end
`, b.OpenCircuit, turn, b.OpenCircuit, turn+1e-9, -b.OpenCircuit, c.Resistance+b.Resistance, c.Inductance, c.Constant, c.Constant,
		c.Inertia, 1/c.Viscous, (c.OpeningLoad+c.ClosingLoad)/2, (c.OpeningLoad-c.ClosingLoad)/2, out)
}

// The current that the virtual bench's meter would read of an ideal start, and of the
// motor turned round at full speed, is that of the same circuit in ngspice, an independent
// solver (Debian package ngspice), to a thousandth of the largest.
func TestAgreesWithSpice(t *testing.T) {
	tool := need.Tool(t, "ngspice", "apt-get install ngspice")
	const turn = 0.6
	c := DefaultConfig()
	dir := t.TempDir()
	out, file := filepath.Join(dir, "out.data"), filepath.Join(dir, "motor.cir")
	require.NoError(t, os.WriteFile(file, []byte(netlist(c.Motor, c.Battery, turn, out)), 0o600))
	text, err := exec.Command(tool, "-b", file).CombinedOutput()
	require.NoError(t, err, "ngspice: %s", text)
	f, err := os.Open(out)
	require.NoError(t, err, "ngspice: %s", text)
	defer f.Close()

	meter := newMeter(c.Meter)
	m := newMotor(c.Motor, c.Battery, meter.stretches())
	m.reset()
	m.drive(0, c.Battery.OpenCircuit)
	most := 2 * c.Battery.OpenCircuit / (c.Motor.Resistance + c.Battery.Resistance)
	compared, turned := 0, false
	for lines := bufio.NewScanner(f); lines.Scan(); {
		var at, i, w, again float64
		if n, _ := fmt.Sscan(lines.Text(), &at, &i, &again, &w); n < 4 {
			continue
		}
		if at >= turn && !turned {
			turned = true
			m.drive(signal.Instant(turn*1e9), -c.Battery.OpenCircuit)
		}
		if at > turn && at < turn+1e-6 {
			continue // the supply turns in a nanosecond there, at once here
		}
		m.bring(signal.Instant(at * 1e9))
		require.InDelta(t, i, m.current(), 1e-3*most/2, "current at %v s", at)
		require.InDelta(t, w, m.speed(), 1e-3*250, "speed at %v s", at)
		compared++
	}
	require.Greater(t, compared, 10_000)
	require.True(t, turned)
}
