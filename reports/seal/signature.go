package seal

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"

	"aead.dev/minisign"
)

// Untrusted is the untrusted comment of every signature made here, that of a record. It is fixed because
// nothing protects it.
const Untrusted = "signature of head.json in a pintle record"

// Reasons why a signature is not accepted.
var (
	ErrForm     = errors.New("this is no signature in minisign's format")
	ErrOtherKey = errors.New("the signature was made with another key")
	ErrForged   = errors.New("the signature does not belong to what is signed, or it was changed")
)

// A Signature is what a signature says of itself. Only [Verify] makes it worth anything.
type Signature struct {
	KeyID     string // of the key that it claims to be made with
	Trusted   string // the comment that is signed along
	Untrusted string // the comment that is not
}

// Sign signs a message, with a comment of one line that is signed along.
func (k *Key) Sign(message []byte, trusted string) ([]byte, error) {
	if strings.ContainsAny(trusted, "\r\n") {
		return nil, fmt.Errorf("sign: the trusted comment %q has more than one line", trusted)
	}
	r := minisign.NewReader(bytes.NewReader(message))
	if _, err := io.Copy(io.Discard, r); err != nil {
		return nil, fmt.Errorf("sign: %w", err)
	}
	return r.SignWithComments(k.key, trusted, Untrusted), nil
}

// Parse reads what a signature says of itself, without proving it. Only the one way of
// writing a signature is accepted in which no byte is free.
func Parse(signature []byte) (Signature, error) {
	s, err := parse(signature)
	return Signature{keyID(s.KeyID), s.TrustedComment, s.UntrustedComment}, err
}

func parse(text []byte) (s minisign.Signature, err error) {
	if len(text) > mostText {
		return s, fmt.Errorf("%w: it has %d bytes", ErrForm, len(text))
	}
	if err := s.UnmarshalText(text); err != nil {
		return minisign.Signature{}, fmt.Errorf("%w: %w", ErrForm, err)
	}
	if again, err := s.MarshalText(); err != nil || !bytes.Equal(again, text) {
		return minisign.Signature{}, fmt.Errorf("%w: it is not written as that format writes it", ErrForm)
	}
	return s, nil
}

// Verify holds a signature against the key and the message. The error is, or wraps,
// ErrForm, ErrOtherKey or ErrForged.
func Verify(p Public, message, signature []byte) (Signature, error) {
	said, err := Parse(signature)
	if err != nil {
		return Signature{}, err
	}
	if said.KeyID != p.ID() {
		return said, fmt.Errorf("%w: it names key %s, and this is key %s", ErrOtherKey, said.KeyID, p.ID())
	}
	if !minisign.Verify(p.key, message, signature) {
		return said, ErrForged
	}
	return said, nil
}
