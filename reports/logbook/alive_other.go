//go:build !(linux || darwin || freebsd || netbsd || openbsd)

package logbook

import "os"

// lock has nothing to do here: an open file cannot be removed, which says as much.
func lock(*os.File) error { return nil }

// takeAway closes a file, and removes it if no process holds it.
func takeAway(f *os.File) (bool, error) {
	f.Close()
	return os.Remove(f.Name()) == nil, nil
}
