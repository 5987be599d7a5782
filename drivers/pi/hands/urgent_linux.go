package hands

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"time"
	"unsafe"

	"golang.org/x/sys/unix"
)

const fifo = 1 // SCHED_FIFO

// mostMemory is when the hands collect garbage after all. Readings of some meters leave a
// few bytes each; in a run of days they must not fill the memory, all of which is locked.
const mostMemory = 64 << 20

// settle makes the process one that does not collect garbage, as long as there is little,
// and does not wait for the disk. It gives what was refused, and what that costs.
func settle() (lost []string) {
	debug.SetGCPercent(-1)
	debug.SetMemoryLimit(mostMemory)
	if err := unix.Mlockall(unix.MCL_CURRENT | unix.MCL_FUTURE); err != nil {
		lost = append(lost, fmt.Sprintf("memory could not be locked (%v): an edge may be late by some milliseconds when the system swaps; allow it by a memlock limit", err))
	}
	return lost
}

// urgent gives the present thread, which must be locked, a real-time priority.
func urgent(priority uint32) (lost []string) {
	_ = unix.Prctl(unix.PR_SET_TIMERSLACK, 1, 0, 0, 0)
	attr := unix.SchedAttr{Size: uint32(unsafe.Sizeof(unix.SchedAttr{})), Policy: fifo, Priority: priority}
	if err := unix.SchedSetAttr(0, &attr, 0); err != nil {
		lost = append(lost, fmt.Sprintf("real-time priority was refused (%v): edges may be late by milliseconds on a busy machine; allow it by an rtprio limit of %d", err, priority))
	}
	return lost
}

// stepAside leaves the first of the processors that the present thread may use, which must
// be locked, to others. It is the one on which a kernel serves interrupts unless it is told
// otherwise, and the kernel's thread that hands a sensed edge on is bound to it and of less
// priority: it would wait for as long as this thread stays awake, and a reading of later
// could come before the edge. Where there is but one, nothing is to be done.
func stepAside() {
	var may unix.CPUSet
	if err := unix.SchedGetaffinity(0, &may); err != nil || may.Count() < 2 {
		return
	}
	may.Clear(first(&may))
	_ = unix.SchedSetaffinity(0, &may) // refused, it is as it was
}

// first is the lowest processor of a set that is not empty.
func first(set *unix.CPUSet) (cpu int) {
	for !set.IsSet(cpu) {
		cpu++
	}
	return cpu
}

// drowse is by how much the threads of the hands that are not urgent may oversleep. One
// of the runtime's own looks after every thread that waits in the kernel, each 20 µs as
// it means to; left alone it costs more than all the rest of the hands.
const drowse = 10 * time.Millisecond

// drowsily starts a process whose threads may oversleep, until they are urgent. What a
// process may oversleep it has from the thread that starts it.
func drowsily(start func() error) error {
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	had, err := unix.PrctlRetInt(unix.PR_GET_TIMERSLACK, 0, 0, 0, 0)
	if err == nil {
		_ = unix.Prctl(unix.PR_SET_TIMERSLACK, uintptr(drowse), 0, 0, 0)
		defer func() { _ = unix.Prctl(unix.PR_SET_TIMERSLACK, uintptr(had), 0, 0, 0) }()
	}
	return start()
}
