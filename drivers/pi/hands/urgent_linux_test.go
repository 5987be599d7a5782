package hands

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"runtime"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"pintle/rig/need"
)

// Threads that are not urgent may oversleep, those of the lines may not; nor may the
// conductor's from then on.
func TestOnlyWhatIsNotUrgentOversleeps(t *testing.T) {
	h := start(t, none())
	slack := slacks(t, h.PID())
	require.Contains(t, slack, int(drowse))
	require.LessOrEqual(t, slices.Min(slack), 1, "the thread of the lines oversleeps: %v", slack)
	require.NotContains(t, slacks(t, os.Getpid()), int(drowse))
}

// The thread of the lines leaves the first processor to the kernel's own, and no other
// thread does.
func TestTheLinesStepAside(t *testing.T) {
	var may unix.CPUSet
	require.NoError(t, unix.SchedGetaffinity(0, &may))
	if may.Count() < 2 {
		t.Skip("there is one processor only")
	}
	h := start(t, none())
	aside := 0
	for _, mask := range masks(t, h.PID()) {
		switch {
		case mask.IsSet(first(&may)):
			require.Equal(t, may, mask)
		default:
			require.Equal(t, may.Count()-1, mask.Count())
			aside++
		}
	}
	require.Equal(t, 1, aside)
}

// masks is which processors each thread of a process may use.
func masks(t *testing.T, pid int) (all []unix.CPUSet) {
	t.Helper()
	threads, err := os.ReadDir(fmt.Sprintf("/proc/%d/task", pid))
	require.NoError(t, err)
	for _, thread := range threads {
		id, err := strconv.Atoi(thread.Name())
		require.NoError(t, err)
		var mask unix.CPUSet
		if err := unix.SchedGetaffinity(id, &mask); !errors.Is(err, syscall.ESRCH) { // it has ended meanwhile
			require.NoError(t, err)
			all = append(all, mask)
		}
	}
	return all
}

// slacks is by how much each thread of a process may oversleep, in nanoseconds.
func slacks(t *testing.T, pid int) (all []int) {
	t.Helper()
	threads, err := os.ReadDir(fmt.Sprintf("/proc/%d/task", pid))
	require.NoError(t, err)
	for _, thread := range threads {
		text, err := os.ReadFile("/proc/" + thread.Name() + "/timerslack_ns")
		if errors.Is(err, fs.ErrNotExist) || errors.Is(err, syscall.ESRCH) {
			continue // it has ended meanwhile
		}
		if errors.Is(err, fs.ErrPermission) || errors.Is(err, syscall.EPERM) {
			need.Missing(t, "the right to see by how much a thread of another process oversleeps", "run the tests as root")
		}
		require.NoError(t, err)
		n, err := strconv.Atoi(strings.TrimSpace(string(text)))
		require.NoError(t, err)
		all = append(all, n)
	}
	return all
}

// What little garbage the hands make does not fill the memory in a run of days.
func TestGarbageIsBounded(t *testing.T) {
	percent, limit := debug.SetGCPercent(100), debug.SetMemoryLimit(-1)
	defer func() { debug.SetGCPercent(percent); debug.SetMemoryLimit(limit); _ = unix.Munlockall() }()
	settle()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	for range 6 * mostMemory / len(waste) {
		waste = make([]byte, len(waste))
	}
	runtime.ReadMemStats(&after)
	require.Less(t, after.HeapSys, before.HeapSys+2*mostMemory)
}

var waste = make([]byte, 64<<10)

// Hands have a thread of real-time priority for the lines and one below it for the meter,
// or they say that it was refused: nothing between.
func TestPriorityIsHadOrMissed(t *testing.T) {
	w := wire(t, patient)
	refused := slices.ContainsFunc(w.Ready.Lost, func(s string) bool { return strings.Contains(s, "real-time priority") })
	threads, err := os.ReadDir(fmt.Sprintf("/proc/%d/task", w.PID()))
	require.NoError(t, err)
	var urgent []uint32
	for _, thread := range threads {
		tid, err := strconv.Atoi(thread.Name())
		require.NoError(t, err)
		attr, err := unix.SchedGetAttr(tid, 0)
		if errors.Is(err, syscall.ESRCH) {
			continue // it has ended meanwhile
		}
		require.NoError(t, err)
		if attr.Policy == fifo {
			urgent = append(urgent, attr.Priority)
		}
	}
	slices.Sort(urgent)
	t.Logf("refused: %v; urgent: %v", refused, urgent)
	if refused {
		require.Empty(t, urgent)
		return
	}
	require.Equal(t, []uint32{readPri, linePri}, urgent)
}
