package logbook

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// An alive is a file beside the logbook that this process holds locked as long as
// it lives.
type alive struct{ file *os.File }

// aliveName is the path of such a file.
func (l *Logbook) aliveName(base string) string {
	return filepath.Join(filepath.Dir(l.path), base)
}

// live makes and locks this process's file, once.
func (l *Logbook) live() (string, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.alive != nil {
		return filepath.Base(l.alive.file.Name()), nil
	}
	base := fmt.Sprintf("%s.alive-%s", filepath.Base(l.path), rand.Text())
	f, err := os.OpenFile(l.aliveName(base), os.O_CREATE|os.O_EXCL|os.O_RDWR, 0o600)
	if err != nil {
		return "", err
	}
	// Nobody looks for the file before a run that names it is in the logbook.
	if err := lock(f); err != nil {
		return "", errors.Join(fmt.Errorf("lock %s: %w", f.Name(), err), f.Close(), os.Remove(f.Name()))
	}
	l.alive = &alive{f}
	return base, nil
}

// release lets go of the file and removes it. It stays where runs are left that
// somebody must still mark void: either way they will be, but a file that is there
// and not locked says it with no doubt.
func (a *alive) release(keep bool) error {
	var err error
	if !keep {
		err = os.Remove(a.file.Name())
	}
	return errors.Join(err, a.file.Close())
}

// gone says whether the process that held a file is gone, and removes the file if
// so.
func (l *Logbook) gone(base string) (bool, error) {
	if base == "" || base != filepath.Base(base) {
		return true, nil // nobody can hold that
	}
	f, err := os.OpenFile(l.aliveName(base), os.O_RDWR, 0)
	if errors.Is(err, fs.ErrNotExist) {
		return true, nil
	}
	if err != nil {
		return false, err
	}
	return takeAway(f)
}
