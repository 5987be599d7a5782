package seal

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"

	"aead.dev/minisign"
)

// mostText is more than any key file or signature has; what is longer is none.
const mostText = 4096

// A Public key tells whether a signature was made with the private key that belongs to it.
type Public struct{ key minisign.PublicKey }

// ParsePublic reads a public key: the line of the key alone, or the text of a key file.
func ParsePublic(text string) (Public, error) {
	var p Public
	if len(text) > mostText {
		return p, fmt.Errorf("read a public key: %d bytes are too many for one", len(text))
	}
	if err := p.key.UnmarshalText([]byte(strings.TrimSpace(text))); err != nil {
		return Public{}, fmt.Errorf("read a public key: %w", err)
	}
	return p, nil
}

// LoadPublic reads the file of a public key.
func LoadPublic(file string) (Public, error) {
	text, err := readSmall(file)
	if err != nil {
		return Public{}, fmt.Errorf("read the public key: %w", err)
	}
	p, err := ParsePublic(string(text))
	if err != nil {
		return Public{}, fmt.Errorf("%s: %w", file, err)
	}
	return p, nil
}

// FindPublic takes what somebody gave as a public key: the name of a file, or the key itself.
func FindPublic(given string) (Public, error) {
	p, err := LoadPublic(given)
	if err == nil {
		return p, nil
	}
	if !errors.Is(err, fs.ErrNotExist) {
		return Public{}, err
	}
	if p, bad := ParsePublic(given); bad == nil {
		return p, nil
	}
	return Public{}, fmt.Errorf("%q is neither a file nor a public key, which is a line of 56 characters that begins with RW, as pintle key show prints it; a key's number alone checks nothing", given)
}

// ID is the number of the key, 16 hexadecimal digits. It helps to find a key and proves nothing.
func (p Public) ID() string { return keyID(p.key.ID()) }

// String is the key in one line of text, as it is given to others.
func (p Public) String() string { return p.key.String() }

// File is the text of the key's file. As in those that minisign writes, the number in its
// comment has no zeros before it.
func (p Public) File() []byte {
	return fmt.Appendf(nil, "untrusted comment: minisign public key %X\n%s\n", p.key.ID(), p)
}

// Equal says whether two public keys are the same.
func (p Public) Equal(other Public) bool { return p.key.Equal(other.key) }

func keyID(id uint64) string { return fmt.Sprintf("%016X", id) }

// readSmall reads a file that holds a key.
func readSmall(file string) ([]byte, error) {
	info, err := os.Stat(file)
	if err != nil {
		return nil, err
	}
	if info.Size() > mostText {
		return nil, fmt.Errorf("%s has %d bytes, too many for a key", file, info.Size())
	}
	return os.ReadFile(file)
}
