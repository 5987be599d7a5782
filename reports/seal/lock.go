package seal

import (
	"bytes"
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"encoding/binary"
	"errors"
	"fmt"

	"aead.dev/minisign"
	"golang.org/x/crypto/blake2b"
	"golang.org/x/crypto/scrypt"
)

// The file of a private key, as minisign lays it out: a comment line, then in base64 the
// algorithms (signature, stretching of the passphrase, checksum), the salt, the two figures
// that set the cost, and, under the key stream, key number, private and public key and the
// checksum of all of them.
const (
	privateComment = "untrusted comment: minisign encrypted secret key\n"
	signsBy        = 0x6445 // "Ed"
	stretchesBy    = 0x6353 // "Sc"
	checksBy       = 0x3242 // "B2"
	saltAt         = 6
	opsAt          = 38
	memoryAt       = 46
	secretAt       = 54
	checksumAt     = secretAt + 72
	privateSize    = checksumAt + blake2b.Size256
)

// The cost of a passphrase in the file's own figures. They stand for scrypt with N = 65536,
// r = 8, p = 2: 64 MiB of memory.
const (
	lockOps    = 1 << 22
	lockMemory = 1 << 26
	lockN      = 1 << 16
	lockR      = 8
	lockP      = 2
)

// Reasons why a private key cannot be taken up.
var (
	ErrPassphrase = errors.New("the passphrase is wrong")
	ErrNoKey      = errors.New("this is no private key in minisign's format")
	ErrUnlocked   = errors.New("the private key is not protected by a passphrase")
)

// Lock gives the text of the key's file, enciphered under the passphrase.
func (k *Key) Lock(passphrase string) ([]byte, error) {
	if passphrase == "" {
		return nil, errors.New("lock the private key: there is no passphrase")
	}
	plain, err := k.key.MarshalText()
	if err != nil {
		return nil, fmt.Errorf("lock the private key: %w", err)
	}
	b, err := decodePrivate(plain)
	if err != nil {
		return nil, fmt.Errorf("lock the private key: %w", err)
	}
	if _, err := rand.Read(b[saltAt:opsAt]); err != nil {
		return nil, fmt.Errorf("lock the private key: %w", err)
	}
	binary.LittleEndian.PutUint16(b[2:], stretchesBy)
	binary.LittleEndian.PutUint64(b[opsAt:], lockOps)
	binary.LittleEndian.PutUint64(b[memoryAt:], lockMemory)
	checksum := blake2b.Sum256(append(b[:2:2], b[secretAt:checksumAt]...))
	copy(b[checksumAt:], checksum[:])
	stream, err := scrypt.Key([]byte(passphrase), b[saltAt:opsAt], lockN, lockR, lockP, privateSize-secretAt)
	if err != nil {
		return nil, fmt.Errorf("lock the private key: %w", err)
	}
	subtle.XORBytes(b[secretAt:], b[secretAt:], stream)
	return fmt.Appendf(nil, "%s%s\n", privateComment, base64.StdEncoding.EncodeToString(b)), nil
}

// Unlock reads the text of a private key's file. Where the file was made with minisign's
// own setting it takes 1 GiB of memory. The error wraps ErrPassphrase, ErrNoKey or
// ErrUnlocked.
func Unlock(text []byte, passphrase string) (*Key, error) {
	if _, err := parseLocked(text); err != nil {
		return nil, err
	}
	// The header is as it must be, so what can still be wrong is the passphrase.
	key, err := minisign.DecryptKey(passphrase, bytes.TrimSpace(text))
	if err != nil {
		return nil, ErrPassphrase
	}
	return &Key{key}, nil
}

// parseLocked reads the file of a private key as far as it can be read without the passphrase.
func parseLocked(text []byte) ([]byte, error) {
	b, err := decodePrivate(text)
	if err != nil {
		return nil, err
	}
	ops, memory := binary.LittleEndian.Uint64(b[opsAt:]), binary.LittleEndian.Uint64(b[memoryAt:])
	switch {
	case binary.LittleEndian.Uint16(b) != signsBy || binary.LittleEndian.Uint16(b[4:]) != checksBy:
		return nil, fmt.Errorf("%w: its algorithms are unknown", ErrNoKey)
	case binary.LittleEndian.Uint16(b[2:]) == 0:
		return nil, ErrUnlocked
	case binary.LittleEndian.Uint16(b[2:]) != stretchesBy:
		return nil, fmt.Errorf("%w: its passphrase is stretched in an unknown way", ErrNoKey)
	case ops > 1<<25 || memory > 1<<30:
		return nil, fmt.Errorf("%w: its passphrase costs more than minisign allows", ErrNoKey)
	}
	return b, nil
}

func decodePrivate(text []byte) ([]byte, error) {
	lines := bytes.Split(bytes.TrimSpace(text), []byte("\n"))
	b, err := base64.StdEncoding.DecodeString(string(lines[len(lines)-1]))
	if err != nil || len(b) != privateSize || len(lines) > 2 {
		return nil, ErrNoKey
	}
	return b, nil
}
