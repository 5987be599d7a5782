package atomicfile

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// Prefix and Suffix enclose the random part of a temporary file's name. One that
// a killed program left behind can be removed once no writer is alive.
const (
	Prefix = ".unfinished-"
	Suffix = ".tmp"
)

// IsTemporary says whether a file's base name is that of an unfinished write.
func IsTemporary(base string) bool {
	return strings.HasPrefix(base, Prefix) && strings.HasSuffix(base, Suffix)
}

// Write puts what the function writes under a name, with the given permissions.
// After an error the name still has what it had before, and the temporary file is
// gone; only a failure to sync the folder is reported after the name has changed.
//
// What is no ordinary file, such as /dev/null, /dev/stdout or a named pipe, is written into
// as it is: it must not be replaced by a file.
func Write(name string, perm fs.FileMode, write func(io.Writer) error) error {
	if f, err := straight(name); f != nil || err != nil {
		return pour(f, name, write, err)
	}
	return put(name, perm, write, os.Rename)
}

// straight opens what a name stands for where that is no ordinary file. Nil: it is one, or a
// folder, or nothing yet. A standard stream of this program is given as it stands, since
// what it has written already must stay in front.
func straight(name string) (*os.File, error) {
	info, err := os.Stat(name)
	if err != nil || info.IsDir() {
		return nil, nil
	}
	for _, own := range []*os.File{os.Stdout, os.Stderr} {
		if its, err := own.Stat(); err == nil && os.SameFile(its, info) && linked(name) {
			return own, nil
		}
	}
	if info.Mode().IsRegular() {
		return nil, nil
	}
	return os.OpenFile(name, os.O_WRONLY, 0)
}

// linked says that a name stands for a file by a link, as /dev/stdout does.
func linked(name string) bool {
	info, err := os.Lstat(name)
	return err == nil && info.Mode()&fs.ModeSymlink != 0
}

// pour writes into what was opened, and closes it unless it is a standard stream.
func pour(f *os.File, name string, write func(io.Writer) error, err error) error {
	if err == nil {
		err = write(f)
		if f != os.Stdout && f != os.Stderr {
			err = errors.Join(err, f.Close())
		}
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", name, err)
	}
	return nil
}

// WriteNew is Write for a name that nothing has yet. Where something has it, that stays
// as it is, and the error wraps fs.ErrExist.
func WriteNew(name string, perm fs.FileMode, write func(io.Writer) error) error {
	return put(name, perm, write, settle)
}

// settle renames unless the new name is taken. Sticks and cards have file systems that
// know no second name for a file: there a name taken in the very moment is overwritten.
func settle(from, to string) error {
	err := os.Link(from, to)
	if err == nil {
		return os.Remove(from)
	}
	if _, taken := os.Lstat(to); taken == nil || errors.Is(err, fs.ErrExist) {
		return &fs.PathError{Op: "create", Path: to, Err: fs.ErrExist}
	}
	return os.Rename(from, to)
}

func put(name string, perm fs.FileMode, write func(io.Writer) error, place func(from, to string) error) (err error) {
	if info, err := os.Stat(name); err == nil && info.IsDir() {
		return fmt.Errorf("write %s: it is a folder; name a file in it", name)
	}
	dir := filepath.Dir(name)
	f, err := os.CreateTemp(dir, Prefix+"*"+Suffix)
	if err != nil {
		return fmt.Errorf("write %s: make a temporary file beside it: %w", name, err)
	}
	// A panic in the function must not leave the temporary file either.
	named := false
	defer func() {
		if !named {
			f.Close() // a second Close does no harm
			os.Remove(f.Name())
		}
	}()
	if err := fill(f, perm, write); err != nil {
		return fmt.Errorf("write %s: %w", name, err)
	}
	if err := place(f.Name(), name); err != nil {
		return fmt.Errorf("write %s: put the finished file in its place: %w", name, err)
	}
	named = true
	if err := SyncDir(dir); err != nil {
		return fmt.Errorf("write %s: %w", name, err)
	}
	return nil
}

// fill writes, syncs and closes the temporary file.
func fill(f *os.File, perm fs.FileMode, write func(io.Writer) error) error {
	if err := write(f); err != nil {
		return err
	}
	if err := errors.Join(f.Chmod(perm), f.Sync()); err != nil {
		return err
	}
	return f.Close()
}

// SyncDir makes the names in a folder durable.
func SyncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return fmt.Errorf("sync folder: %w", err)
	}
	if err := errors.Join(d.Sync(), d.Close()); err != nil {
		return fmt.Errorf("sync folder %s: %w", dir, err)
	}
	return nil
}
