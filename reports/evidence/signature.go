package evidence

import (
	"bytes"
	"errors"
	"fmt"

	"aead.dev/minisign"
)

// Remark is the untrusted comment of every record's signature. Nothing protects that
// comment, so the reader takes no other: no byte of a record is free.
const Remark = "signature of head.json in a pintle record"

// A Signer gives the signature of head.json, as the text of a file of minisign whose
// trusted comment is the one given and whose untrusted one is Remark.
type Signer func(head []byte, comment string) ([]byte, error)

// A Verifier says whether a signature is that of head.json. Its error may be
// ErrOtherKey, or ErrSignature, which any other is taken for.
type Verifier func(head, signature []byte) error

// SignWith signs with a private key.
func SignWith(key minisign.PrivateKey) Signer {
	return func(head []byte, comment string) ([]byte, error) {
		r := minisign.NewReader(bytes.NewReader(head))
		if _, err := r.Read(make([]byte, len(head))); err != nil && len(head) > 0 {
			return nil, err
		}
		return r.SignWithComments(key, comment, Remark), nil
	}
}

// VerifyWith verifies with a public key.
func VerifyWith(key minisign.PublicKey) Verifier {
	return func(head, signature []byte) error {
		var s minisign.Signature
		if err := s.UnmarshalText(signature); err != nil {
			return fmt.Errorf("%w: %w", ErrSignature, err)
		}
		if s.KeyID != key.ID() {
			return fmt.Errorf("%w: it was signed with key %016X, and the one given is %016X", ErrOtherKey, s.KeyID, key.ID())
		}
		if !minisign.Verify(key, head, signature) {
			return fmt.Errorf("%w: key %016X did not sign it", ErrSignature, key.ID())
		}
		return nil
	}
}

// readSignature checks the form of a signature: there is one way to write it.
func readSignature(h Head, text []byte) error {
	bad := func(err error) error { return fmt.Errorf("%s: %w: %w", signName, ErrSignature, err) }
	var s minisign.Signature
	if err := s.UnmarshalText(text); err != nil {
		return bad(err)
	}
	again, err := s.MarshalText()
	switch {
	case err != nil:
		return bad(err)
	case !bytes.Equal(again, text):
		return bad(errors.New("it is not written as minisign writes it"))
	case s.UntrustedComment != Remark:
		return bad(fmt.Errorf("its first line is not that of a record: %q", clip(s.UntrustedComment)))
	case s.TrustedComment != h.Comment():
		return bad(fmt.Errorf("it is that of %q, and this is %q", clip(s.TrustedComment), clip(h.Comment())))
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
