//go:build linux || darwin || freebsd || netbsd || openbsd

package logbook

import (
	"os"
	"syscall"
)

// lock takes the file for this process, or fails at once where another has it.
// The kernel lets go when the last descriptor closes, at the latest with the
// process. Descriptors of Go close on exec, so no child keeps it.
func lock(f *os.File) error {
	return syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
}

// takeAway closes a file, and removes it if no process holds it.
func takeAway(f *os.File) (bool, error) {
	defer f.Close()
	if lock(f) != nil {
		return false, nil
	}
	return true, os.Remove(f.Name())
}
