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

// beside is the path of such a file.
func (f *file) beside(base string) string {
	return filepath.Join(filepath.Dir(f.path), base)
}

// live makes and locks this process's file, once.
func (f *file) live() (string, error) {
	if f.alive != nil {
		return filepath.Base(f.alive.file.Name()), nil
	}
	base := fmt.Sprintf("%s.alive-%s", filepath.Base(f.path), rand.Text())
	a, err := os.OpenFile(f.beside(base), os.O_CREATE|os.O_EXCL|os.O_RDWR, 0o600)
	if err != nil {
		return "", err
	}
	// Nobody looks for the file before a run that names it is in the logbook.
	if err := lock(a); err != nil {
		return "", errors.Join(fmt.Errorf("lock %s: %w", a.Name(), err), a.Close(), os.Remove(a.Name()))
	}
	f.alive = &alive{a}
	return base, nil
}

// release lets go of the file and removes it. It stays where runs are left that
// somebody must still mark void: either way they will be, but a file that is there
// and not locked says it with no doubt.
func (f *file) release(keep bool) error {
	if f.alive == nil {
		return nil
	}
	var err error
	if !keep {
		err = os.Remove(f.alive.file.Name())
	}
	err = errors.Join(err, f.alive.file.Close())
	f.alive = nil
	return err
}

// gone says whether the process that held a file is gone, and removes the file if
// so.
func (f *file) gone(base string) (bool, error) {
	if base == "" || base != filepath.Base(base) {
		return true, nil // nobody can hold that
	}
	a, err := os.OpenFile(f.beside(base), os.O_RDWR, 0)
	if errors.Is(err, fs.ErrNotExist) {
		return true, nil
	}
	if err != nil {
		return false, err
	}
	return takeAway(a)
}
