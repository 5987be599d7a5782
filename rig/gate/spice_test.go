package gate

import (
	"bufio"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig/motion"
	"pintle/rig/need"
)

// netlist is the machine as a circuit: the winding as it is, the rotor as a
// capacitor whose voltage is the speed, viscous friction as a resistor, the gate's
// place as the integral of the speed, the load and the dry friction as currents that the
// place and the way set; the friction turns round over some hundredths of a radian per
// second. The supply is turned round in mid-travel.
func netlist(d *Drive, turn float64) string {
	motor, s := d.machine.Motor, d.segments[1]
	return fmt.Sprintf(`motor of a gate, mechanics by analogy
V1 supply 0 PWL(0 %.12g %.12g %.12g %.12g %.12g)
R1 supply a %.12g
L1 a b %.12g IC=0
Bemf b sense V=%.12g*V(speed)
Vsense sense 0 0
Bmotor 0 speed I=%.12g*I(Vsense)
Cinertia speed 0 %.12g IC=0
Rviscous speed 0 %.12g
Bload speed 0 I=%.12g+%.12g*V(place)+%.12g*tanh(V(speed)*100)
Bplace 0 place I=V(speed)*%.12g
Cplace place 0 1 IC=0
.options reltol=1e-6 abstol=1e-9 vntol=1e-9 method=gear
.tran 50u 2 0 50u uic
.control
set numdgt=12
set filetype=ascii
run
wrdata OUT i(Vsense) v(speed) v(place)
quit
.endc
.end
`, d.volts, turn, d.volts, turn+1e-9, -d.volts, d.ohms, motor.Inductance, motor.Constant, motor.Constant,
		d.inertia, 1/d.viscous, s.c, s.k, d.coulomb, 1/d.span)
}

// The same circuit in ngspice, an independent solver (Debian package ngspice): without
// dry friction, where all is linear, and with the friction and the imbalance of a barrier.
func TestAgreesWithSpice(t *testing.T) {
	tool := need.Tool(t, "ngspice", "apt-get install ngspice")
	for name, c := range map[string]struct {
		friction Friction
		load     []LoadPoint
	}{
		"viscous friction": {Friction{Viscous: 200}, []LoadPoint{{0, 0}, {1, 600}}},
		"dry friction":     {Friction{Static: 620, Coulomb: 620, Viscous: 200}, []LoadPoint{{0, 340}, {1, 60}}},
	} {
		t.Run(name, func(t *testing.T) {
			machine := lift()
			machine.Friction, machine.Load = c.friction, c.load
			agreesWithSpice(t, tool, machine)
		})
	}
}

func agreesWithSpice(t *testing.T, tool string, machine *Machine) {
	m := moved(t, machined(machine), StartAt(0))
	m.Motor(motion.Opening, 0)
	const turn = 1.2
	dir := t.TempDir()
	out := filepath.Join(dir, "out.data")
	file := filepath.Join(dir, "motor.cir")
	require.NoError(t, os.WriteFile(file, []byte(strings.ReplaceAll(netlist(m.mover.d, turn), "OUT", out)), 0o600))
	text, err := exec.Command(tool, "-b", file).CombinedOutput()
	require.NoError(t, err, "ngspice: %s", text)

	f, err := os.Open(out)
	require.NoError(t, err, "ngspice: %s", text)
	defer f.Close()
	compared, turned := 0, false
	for lines := bufio.NewScanner(f); lines.Scan(); {
		var at, i, w, x, again float64
		if n, _ := fmt.Sscan(lines.Text(), &at, &i, &again, &w, &again, &x); n < 6 {
			continue
		}
		if at >= turn && !turned {
			turned = true
			m.Motor(motion.Closing, from(turn))
		}
		if at > turn && at < turn+1e-6 {
			continue // the supply turns in a nanosecond there, at once here
		}
		got := m.mover.state(time.Duration(at*1e9) - m.mover.nodes[0].at - time.Duration(m.base))
		require.InDelta(t, i, got[0], 1e-3*29.77, "current at %v s", at)
		require.InDelta(t, w, got[1], 1e-3*450, "speed at %v s", at)
		require.InDelta(t, x, got[2], 1e-3, "place at %v s", at)
		compared++
	}
	require.Greater(t, compared, 10_000)
	require.True(t, turned)
}
