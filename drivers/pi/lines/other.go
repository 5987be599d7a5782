//go:build !linux

package lines

import (
	"fmt"
	"runtime"
	"time"
)

// A Chip is there on Linux only.
type Chip struct {
	Name, Label string
	Lines       int
}

// Outputs are there on Linux only.
type Outputs struct{}

// Inputs are there on Linux only.
type Inputs struct{}

// Info is what the kernel says of a line.
type Info struct {
	Name, Holder string
	Used, Output bool
}

func errOther() error {
	return fmt.Errorf("%w: its lines need Linux 5.10 or later, as on a Raspberry Pi, and this is %s", ErrNoGPIO, runtime.GOOS)
}

// Open says that there is no chip.
func Open(string) (*Chip, error) { return nil, errOther() }

// Find says that there is no chip.
func Find(...string) (*Chip, error) { return nil, errOther() }

// String is empty.
func (*Chip) String() string { return "" }

// Close does nothing.
func (*Chip) Close() error { return nil }

// Info says that there is no chip.
func (*Chip) Info(uint32) (Info, error) { return Info{}, errOther() }

// Outputs says that there is no chip.
func (*Chip) Outputs(string, ...Output) (*Outputs, error) { return nil, errOther() }

// Inputs says that there is no chip.
func (*Chip) Inputs(string, int, ...Input) (*Inputs, error) { return nil, errOther() }

// Set says that there is no chip.
func (*Outputs) Set(_, _ uint64) error { return errOther() }

// Get says that there is no chip.
func (*Outputs) Get() (uint64, error) { return 0, errOther() }

// Close does nothing.
func (*Outputs) Close() error { return nil }

// Buffer is 0.
func (*Inputs) Buffer() int { return 0 }

// Levels says that there is no chip.
func (*Inputs) Levels() (uint64, error) { return 0, errOther() }

// Take says that there is no chip.
func (*Inputs) Take(*Edge) (bool, error) { return false, errOther() }

// Wait says that there is no chip.
func (*Inputs) Wait(time.Duration) (bool, error) { return false, errOther() }

// Close does nothing.
func (*Inputs) Close() error { return nil }
