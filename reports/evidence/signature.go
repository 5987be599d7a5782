package evidence

import (
	"errors"
	"fmt"

	"pintle/reports/seal"
)

// A Signer gives the signature of head.json, with the comment given signed along.
type Signer func(head []byte, comment string) ([]byte, error)

// A Verifier says whether a signature is that of head.json. Its error may be
// ErrOtherKey, or ErrSignature, which any other is taken for.
type Verifier func(head, signature []byte) error

// SignWith signs with a private key.
func SignWith(key *seal.Key) Signer { return key.Sign }

// VerifyWith verifies with a public key.
func VerifyWith(key seal.Public) Verifier {
	return func(head, signature []byte) error {
		_, err := seal.Verify(key, head, signature)
		if errors.Is(err, seal.ErrOtherKey) {
			return fmt.Errorf("%w: %w", ErrOtherKey, err)
		}
		return err
	}
}

// readSignature checks the form of a signature: there is one way to write it, and its
// comments are those of this head.
func readSignature(h Head, text []byte) error {
	bad := func(err error) error { return fmt.Errorf("%s: %w: %w", signName, ErrSignature, err) }
	s, err := seal.Parse(text)
	switch {
	case err != nil:
		return bad(err)
	case s.Untrusted != seal.Untrusted:
		return bad(fmt.Errorf("its first line is not that of a record: %q", clip(s.Untrusted)))
	case s.Trusted != h.Comment():
		return bad(fmt.Errorf("it is that of %q, and this is %q", clip(s.Trusted), clip(h.Comment())))
	}
	return nil
}

// asSignature takes every error of a verifier for one of the two that there are.
func asSignature(err error) error {
	if errors.Is(err, ErrOtherKey) || errors.Is(err, ErrSignature) {
		return err
	}
	return fmt.Errorf("%w: %w", ErrSignature, err)
}
