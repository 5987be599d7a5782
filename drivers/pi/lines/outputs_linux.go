package lines

import (
	"fmt"
	"sync"
	"unsafe"

	"golang.org/x/sys/unix"
)

// Outputs are driven lines that belong together. Methods may be called from several
// goroutines; who emits on time should be alone.
type Outputs struct {
	mu     sync.Mutex // a descriptor must not be closed and used anew under a call
	fd     int        // -1 when closed
	chip   string
	count  int
	values unix.GPIOV2LineValues // here, so that no call allocates
}

// Outputs takes lines and drives them at their initial levels, with no edge between.
// The consumer is who the kernel says holds them, at most 31 bytes.
func (c *Chip) Outputs(consumer string, outputs ...Output) (*Outputs, error) {
	w, err := wantOutputs(consumer, outputs)
	if err != nil {
		return nil, fmt.Errorf("outputs of %v: %w", c, err)
	}
	fd, err := c.request(w)
	if err != nil {
		return nil, fmt.Errorf("outputs: %w", err)
	}
	return &Outputs{fd: fd, chip: c.String(), count: len(outputs)}, nil
}

// Set drives the lines of the mask at the levels in bits; bit n of both stands for
// the n-th output that was asked for.
func (o *Outputs) Set(mask, bits uint64) error {
	return o.do(unix.GPIO_V2_LINE_SET_VALUES_IOCTL, mask, bits, "set", nil)
}

// Get reads the levels back from the chip.
func (o *Outputs) Get() (bits uint64, err error) {
	err = o.do(unix.GPIO_V2_LINE_GET_VALUES_IOCTL, all(o.count), 0, "read back", &bits)
	return bits, err
}

func (o *Outputs) do(request uint, mask, bits uint64, verb string, got *uint64) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.fd < 0 {
		return ErrClosed
	}
	o.values = unix.GPIOV2LineValues{Bits: bits, Mask: mask}
	_, _, errno := unix.Syscall(unix.SYS_IOCTL, uintptr(o.fd), uintptr(request), uintptr(unsafe.Pointer(&o.values)))
	if errno != 0 {
		return fmt.Errorf("%s outputs of %s, mask %#x: %w", verb, o.chip, mask, errno)
	}
	if got != nil {
		*got = o.values.Bits
	}
	return nil
}

// Close gives the lines back. What they do then is the kernel's affair: some leave
// them driven, others make them inputs. It may be called more than once.
func (o *Outputs) Close() error {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.fd < 0 {
		return nil
	}
	fd := o.fd
	o.fd = -1
	if err := unix.Close(fd); err != nil {
		return fmt.Errorf("give back outputs of %s: %w", o.chip, err)
	}
	return nil
}

// all is the mask of the first n lines.
func all(n int) uint64 { return ^uint64(0) >> (MostLines - n) }
