package meter

import (
	"math"
	"sync"
	"time"
	"unsafe"

	"golang.org/x/sys/unix"
)

// A waiter is a port whose reader waits for bytes without the runtime's knowledge. To
// the scheduler, a thread that waits in the ordinary way a thousand times a second is
// more work than the bytes themselves; but while this one waits, a collection of garbage
// would have to wait as well. It is for a program that collects none, and that has a
// processor of the runtime's to spare for the reader.
type waiter struct {
	Port
	within time.Duration

	mu     sync.Mutex // a closed descriptor must not be waited at: its number may be another's by then
	ear    int        // the same port once more, only to ask whether there are bytes
	closed bool
}

// slice bounds how long a wait can hold up whoever wants all threads to stop.
const slice = 20 * time.Millisecond

// openWaiting opens a port to be read so. Where it cannot be opened a second time it is
// an ordinary port.
func openWaiting(c Config) (Port, error) {
	// The ear first: the library keeps others out from then on.
	ear, deaf := unix.Open(c.Port, unix.O_RDONLY|unix.O_NOCTTY|unix.O_NONBLOCK|unix.O_CLOEXEC, 0)
	port, err := OpenPort(c)
	switch {
	case deaf != nil:
		return port, err
	case err != nil:
		_ = unix.Close(ear)
		return nil, err
	}
	return &waiter{Port: port, ear: ear, within: math.MaxInt64}, nil
}

func (w *waiter) SetReadTimeout(d time.Duration) error {
	if w.within = d; d < 0 {
		w.within = math.MaxInt64
	}
	return w.Port.SetReadTimeout(0)
}

// Read waits in slices until there is something or the time is over. What there is may
// be the end of the port, which the library knows how to tell.
func (w *waiter) Read(p []byte) (int, error) {
	for left := w.within; ; left -= slice {
		for !w.hear(min(slice, max(0, left))) {
		}
		if n, err := w.Port.Read(p); n > 0 || err != nil || left <= slice {
			return n, err
		}
	}
}

// hear waits for something on the port. It is not ok where a signal cut the wait short.
func (w *waiter) hear(most time.Duration) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.closed {
		return true
	}
	ts := unix.NsecToTimespec(int64(most))
	of := unix.PollFd{Fd: int32(w.ear), Events: unix.POLLIN}
	_, _, errno := unix.RawSyscall6(unix.SYS_PPOLL, uintptr(unsafe.Pointer(&of)), 1, uintptr(unsafe.Pointer(&ts)), 0, 0, 0)
	return errno != unix.EINTR
}

// Close lets go of the port, which ends a Read, and then of the ear.
func (w *waiter) Close() error {
	err := w.Port.Close()
	w.mu.Lock()
	defer w.mu.Unlock()
	if !w.closed {
		w.closed = true
		_ = unix.Close(w.ear)
	}
	return err
}
