// Package guest is what tests inside the virtual machine use to play the outside
// world.
//
// A Chip is a chip of the kernel's own gpio-sim driver, whose lines a test sees and
// drives as wires do. A Witness is the kernel's trace of every change of a line,
// which knows nothing of the program under test.
package guest

import (
	"os"
	"testing"
)

// Env is set to 1 for programs that run in the virtual machine.
const Env = "PINTLE_GUEST"

// Inside says whether this program runs in the virtual machine.
func Inside() bool { return os.Getenv(Env) == "1" }

// Only skips a test outside the virtual machine.
func Only(t testing.TB) {
	t.Helper()
	if !Inside() {
		t.Skip("this test runs inside the virtual machine, which another test of this package boots")
	}
}
