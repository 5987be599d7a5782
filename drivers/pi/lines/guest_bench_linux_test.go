package lines

import (
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"pintle/drivers/pi/vm"
	"pintle/drivers/pi/vm/guest"
)

func BenchmarkInTheVirtualMachine(b *testing.B) {
	if guest.Inside() {
		b.Skip("this one boots the machine")
	}
	vm.Benchmarks(b, "pintle/drivers/pi/lines", "^BenchmarkGuest")
}

// The yardstick: a system call that does nothing.
func BenchmarkGuestGetpid(b *testing.B) {
	guest.Only(b)
	for b.Loop() {
		_ = unix.Getpid()
	}
}

func BenchmarkGuestSet(b *testing.B) {
	guest.Only(b)
	guest.NewChip(b, "boatyard", "a")
	c, err := Find("boatyard")
	require.NoError(b, err)
	defer c.Close()
	o, err := c.Outputs("pintle", Output{})
	require.NoError(b, err)
	defer o.Close()
	b.ReportAllocs()
	level := uint64(0)
	for b.Loop() {
		level ^= 1
		if err := o.Set(1, level); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkGuestTakeNothing(b *testing.B) {
	guest.Only(b)
	guest.NewChip(b, "boatyard", "a")
	c, err := Find("boatyard")
	require.NoError(b, err)
	defer c.Close()
	i, err := c.Inputs("pintle", 0, Input{})
	require.NoError(b, err)
	defer i.Close()
	b.ReportAllocs()
	var e Edge
	for b.Loop() {
		if _, err := i.Take(&e); err != nil {
			b.Fatal(err)
		}
	}
}
