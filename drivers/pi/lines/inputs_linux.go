package lines

import (
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"time"
	"unsafe"

	"golang.org/x/sys/unix"
)

// batch is how many edges are taken from the kernel in one call.
const batch = 64

// Inputs are sensed lines that belong together. One goroutine waits and takes; any
// may close.
type Inputs struct {
	mu      sync.Mutex // held while a call uses the descriptors
	fd      int        // -1 when closed
	wake    int        // an eventfd that ends a wait
	closing atomic.Bool
	chip    string
	offsets []uint32
	buffer  int
	counter counter
	polled  [2]unix.PollFd
	raw     [batch]unix.GPIOV2LineEvent
	next, n int // what of raw has not been given yet
	values  unix.GPIOV2LineValues
}

// Inputs takes lines and senses both edges of each. The kernel keeps buffer edges
// until they are taken, at most MostBuffered and rounded up to a power of two; 0 is
// the most. When it is full, the oldest are lost, which Take reports.
func (c *Chip) Inputs(consumer string, buffer int, inputs ...Input) (*Inputs, error) {
	w, err := wantInputs(consumer, inputs, buffer)
	if err != nil {
		return nil, fmt.Errorf("inputs of %v: %w", c, err)
	}
	wake, err := unix.Eventfd(0, unix.EFD_CLOEXEC|unix.EFD_NONBLOCK)
	if err != nil {
		return nil, fmt.Errorf("inputs of %v: make what ends a wait: %w", c, err)
	}
	fd, err := c.request(w)
	if err != nil {
		_ = unix.Close(wake)
		return nil, fmt.Errorf("inputs: %w", err)
	}
	i := &Inputs{fd: fd, wake: wake, chip: c.String(), offsets: w.offsets, buffer: buffered(w.buffer)}
	i.polled = [2]unix.PollFd{{Fd: int32(fd), Events: unix.POLLIN}, {Fd: int32(wake), Events: unix.POLLIN}}
	return i, nil
}

// Buffer is how many edges the kernel keeps until they are taken.
func (i *Inputs) Buffer() int { return i.buffer }

// Levels reads the lines; bit n stands for the n-th input.
func (i *Inputs) Levels() (uint64, error) {
	i.mu.Lock()
	defer i.mu.Unlock()
	if i.fd < 0 {
		return 0, ErrClosed
	}
	i.values = unix.GPIOV2LineValues{Mask: all(len(i.offsets))}
	_, _, errno := unix.Syscall(unix.SYS_IOCTL, uintptr(i.fd), unix.GPIO_V2_LINE_GET_VALUES_IOCTL, uintptr(unsafe.Pointer(&i.values)))
	if errno != 0 {
		return 0, fmt.Errorf("read inputs of %s: %w", i.chip, errno)
	}
	return i.values.Bits, nil
}

// Take gives the next edge, without waiting; ok is false where there is none yet.
func (i *Inputs) Take(e *Edge) (ok bool, err error) {
	i.mu.Lock()
	defer i.mu.Unlock()
	if i.fd < 0 || i.closing.Load() {
		return false, ErrClosed
	}
	if i.next == i.n {
		if err := i.fill(); err != nil || i.n == 0 {
			return false, err
		}
	}
	raw := &i.raw[i.next]
	i.next++
	*e = Edge{
		Line: i.index(raw.Offset), Level: raw.Id == unix.GPIO_V2_LINE_EVENT_RISING_EDGE,
		At: int64(raw.Timestamp_ns), Seq: raw.Seqno, Own: raw.Line_seqno, Lost: i.counter.lost(raw.Seqno),
	}
	return true, nil
}

func (i *Inputs) fill() error {
	i.next, i.n = 0, 0
	n, err := unix.Read(i.fd, unsafe.Slice((*byte)(unsafe.Pointer(&i.raw)), unsafe.Sizeof(i.raw)))
	switch {
	case errors.Is(err, unix.EAGAIN), errors.Is(err, unix.EINTR):
		return nil
	case err != nil:
		return fmt.Errorf("take edges of %s: %w", i.chip, err)
	case n == 0:
		return fmt.Errorf("take edges of %s: the kernel gives no more: the chip is gone", i.chip)
	}
	i.n = n / int(unsafe.Sizeof(i.raw[0]))
	return nil
}

func (i *Inputs) index(offset uint32) int {
	for n, o := range i.offsets {
		if o == offset {
			return n
		}
	}
	return -1
}

// Wait waits until there is an edge to take, for at most this long (to the next
// whole millisecond; negative: for ever). A call of Close ends it with ErrClosed.
func (i *Inputs) Wait(most time.Duration) (there bool, err error) {
	i.mu.Lock()
	defer i.mu.Unlock()
	if i.fd < 0 || i.closing.Load() {
		return false, ErrClosed
	}
	if i.next < i.n {
		return true, nil
	}
	ms := -1
	if most >= 0 {
		ms = int((most + time.Millisecond - 1) / time.Millisecond)
	}
	_, err = unix.Poll(i.polled[:], ms)
	switch {
	case i.closing.Load():
		return false, ErrClosed
	case errors.Is(err, unix.EINTR):
		return false, nil
	case err != nil:
		return false, fmt.Errorf("wait for edges of %s: %w", i.chip, err)
	case i.polled[0].Revents&(unix.POLLERR|unix.POLLHUP|unix.POLLNVAL) != 0:
		return false, fmt.Errorf("wait for edges of %s: the chip is gone", i.chip)
	}
	return i.polled[0].Revents&unix.POLLIN != 0, nil
}

// Close ends a wait and gives the lines back. It may be called more than once.
func (i *Inputs) Close() error {
	if i.closing.Swap(true) {
		return nil
	}
	_, _ = unix.Write(i.wake, []byte{1, 0, 0, 0, 0, 0, 0, 1})
	i.mu.Lock()
	defer i.mu.Unlock()
	fd := i.fd
	i.fd = -1
	if err := errors.Join(unix.Close(fd), unix.Close(i.wake)); err != nil {
		return fmt.Errorf("give back inputs of %s: %w", i.chip, err)
	}
	return nil
}
