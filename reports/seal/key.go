package seal

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"aead.dev/minisign"

	"pintle/rig/atomicfile"
)

// A Key makes signatures.
type Key struct{ key minisign.PrivateKey }

// ErrOpen says that others than the owner can read a private key.
var ErrOpen = errors.New("others can read the private key")

// New makes a key out of the chance of the operating system.
func New() (*Key, error) {
	_, private, err := minisign.GenerateKey(rand.Reader)
	if err != nil {
		return nil, fmt.Errorf("make a key: %w", err)
	}
	return &Key{private}, nil
}

// ID is the number of the key, 16 hexadecimal digits.
func (k *Key) ID() string { return keyID(k.key.ID()) }

// Public is the key that others check signatures with.
func (k *Key) Public() Public { return Public{k.key.Public().(minisign.PublicKey)} }

// Format keeps the key out of every print.
func (k *Key) Format(f fmt.State, _ rune) { fmt.Fprintf(f, "private key %s", k.ID()) }

// Save keeps the key in a new file that only its owner can read, enciphered under the
// passphrase. A file that is there already stays as it is, with an error that wraps
// fs.ErrExist.
func (k *Key) Save(file, passphrase string) (err error) {
	text, err := k.Lock(passphrase)
	if err != nil {
		return err
	}
	err = atomicfile.WriteNew(file, 0o600, func(w io.Writer) error {
		_, err := w.Write(text)
		return err
	})
	if err != nil {
		return fmt.Errorf("keep the private key: %w", err)
	}
	return nil
}

// Load takes a key up from its file. It refuses a file that others can read, with an error
// that wraps ErrOpen.
func Load(file, passphrase string) (*Key, error) {
	text, err := readPrivate(file)
	if err != nil {
		return nil, err
	}
	k, err := Unlock(text, passphrase)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	return k, nil
}

// CheckPrivate says what is wrong with the file of a private key, before anybody is asked
// for a passphrase: it is not there, others can read it, or it holds no key.
func CheckPrivate(file string) error {
	text, err := readPrivate(file)
	if err != nil {
		return err
	}
	if _, err := parseLocked(text); err != nil {
		return fmt.Errorf("%s: %w", file, err)
	}
	return nil
}

func readPrivate(file string) ([]byte, error) {
	info, err := os.Stat(file)
	if err != nil {
		return nil, fmt.Errorf("read the private key: %w", err)
	}
	if mode := info.Mode().Perm(); mode&0o077 != 0 {
		return nil, fmt.Errorf("%w %s (its mode is %s): take them off it with: chmod 600 %s", ErrOpen, file, octal(mode), file)
	}
	text, err := readSmall(file)
	if err != nil {
		return nil, fmt.Errorf("read the private key: %w", err)
	}
	return text, nil
}

func octal(mode fs.FileMode) string { return fmt.Sprintf("%04o", uint32(mode)) }
