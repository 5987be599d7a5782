package seal

import (
	"bytes"
	"crypto"
	"crypto/ed25519"
	"encoding/base64"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"aead.dev/minisign"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// fromSeed makes a key out of a published seed.
func fromSeed(t testing.TB, seed string) *Key {
	t.Helper()
	raw, err := hex.DecodeString(seed)
	require.NoError(t, err)
	b := make([]byte, privateSize)
	binary.LittleEndian.PutUint16(b, signsBy)
	binary.LittleEndian.PutUint16(b[4:], checksBy)
	copy(b[secretAt:], "number01")
	copy(b[secretAt+8:], ed25519.NewKeyFromSeed(raw))
	k := &Key{}
	require.NoError(t, k.key.UnmarshalText(fmt.Appendf(nil, "%s%s", privateComment, base64.StdEncoding.EncodeToString(b))))
	return k
}

// published are tests 1 and 2 of RFC 8032, section 7.1.
var published = []struct{ seed, public, message, signature string }{
	{"9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
		"d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a", "",
		"e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"},
	{"4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
		"3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c", "72",
		"92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"},
}

// A seed gives the published public key and signature, and Verify takes the published
// signature in minisign's dress. Minisign signs a message as it is (Ed), as published, or
// its BLAKE2b digest (ED), as it does by default.
func TestPublishedVectors(t *testing.T) {
	for _, v := range published {
		k := fromSeed(t, v.seed)
		line, err := base64.StdEncoding.DecodeString(k.Public().String())
		require.NoError(t, err)
		require.Equal(t, v.public, hex.EncodeToString(line[10:]))

		message, err := hex.DecodeString(v.message)
		require.NoError(t, err)
		text, err := k.key.Sign(nil, message, crypto.Hash(0))
		require.NoError(t, err)
		var s minisign.Signature
		require.NoError(t, s.UnmarshalText(text))
		require.Equal(t, v.signature, hex.EncodeToString(s.Signature[:]))
		_, err = Verify(k.Public(), message, text)
		require.NoError(t, err)
		_, err = Verify(k.Public(), append(message, 0), text)
		require.ErrorIs(t, err, ErrForged)
	}
}

func TestSignAndVerify(t *testing.T) {
	k, other := fromSeed(t, published[0].seed), must(New())(t)
	message := []byte(`{"format":"pintle record 1"}`)
	text, err := k.Sign(message, "pintle record 1 00ff")
	require.NoError(t, err)
	said, err := Verify(k.Public(), message, text)
	require.NoError(t, err)
	require.Equal(t, Signature{k.ID(), "pintle record 1 00ff", Untrusted}, said)

	_, err = Verify(other.Public(), message, text)
	require.ErrorIs(t, err, ErrOtherKey)
	require.ErrorContains(t, err, other.ID())
	_, err = k.Sign(message, "two\nlines")
	require.ErrorContains(t, err, "more than one line")
	for _, none := range []string{"", "untrusted comment: x\n", strings.Repeat("x", mostText+1)} {
		_, err = Verify(k.Public(), message, []byte(none))
		require.ErrorIs(t, err, ErrForm)
	}
	crlf := strings.ReplaceAll(string(text), "\n", "\r\n")
	_, err = Verify(k.Public(), message, []byte(crlf))
	require.ErrorIs(t, err, ErrForm, "no byte of a signature is free")
}

// No byte of a signature can be changed but those of the untrusted comment, which is
// reported, and no bit of the message.
func TestNoByteIsFree(t *testing.T) {
	k := fromSeed(t, published[1].seed)
	message := []byte("what was measured")
	text, err := k.Sign(message, "pintle record")
	require.NoError(t, err)
	for i := range text {
		for _, c := range []byte{text[i] ^ 1, text[i] ^ 0x20, ' ', '\n', 'A', '='} {
			if c == text[i] {
				continue
			}
			bent := bytes.Clone(text)
			bent[i] = c
			if said, err := Verify(k.Public(), message, bent); err == nil {
				require.NotEqual(t, Untrusted, said.Untrusted, "byte %d as %q", i, c)
			}
		}
	}
	for i := range 8 * len(message) {
		bent := bytes.Clone(message)
		bent[i/8] ^= 1 << (i % 8)
		_, err := Verify(k.Public(), bent, text)
		require.ErrorIs(t, err, ErrForged)
	}
}

func TestPublicKeyGoesRound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := hex.EncodeToString(rapid.SliceOfN(rapid.Byte(), 32, 32).Draw(t, "seed"))
		p := fromSeed(&testing.T{}, seed).Public()
		for _, text := range []string{p.String(), string(p.File()), strings.ReplaceAll(string(p.File()), "\n", "\r\n")} {
			again, err := ParsePublic(text)
			if err != nil || !p.Equal(again) || again.ID() != p.ID() {
				t.Fatalf("%q came back as %v: %v", text, again, err)
			}
		}
	})
}

func TestFindPublic(t *testing.T) {
	p := fromSeed(t, published[0].seed).Public()
	file := filepath.Join(t.TempDir(), "a.pub")
	require.NoError(t, os.WriteFile(file, p.File(), 0o644))
	for _, given := range []string{file, p.String(), string(p.File())} {
		got, err := FindPublic(given)
		require.NoError(t, err)
		require.True(t, p.Equal(got))
	}
	_, err := FindPublic("nowhere.pub")
	require.ErrorContains(t, err, "neither a file nor a public key")
	require.NoError(t, os.WriteFile(file, []byte("RWQ"), 0o644))
	_, err = FindPublic(file)
	require.ErrorContains(t, err, file)
	require.NoError(t, os.WriteFile(file, make([]byte, mostText+1), 0o644))
	_, err = FindPublic(file)
	require.ErrorContains(t, err, "too many")
}

func must[T any](v T, err error) func(testing.TB) T {
	return func(t testing.TB) T {
		t.Helper()
		require.NoError(t, err)
		return v
	}
}

func FuzzSignature(f *testing.F) {
	k := fromSeed(f, published[0].seed)
	text, err := k.Sign([]byte("m"), "c")
	require.NoError(f, err)
	f.Add(text)
	f.Add([]byte("untrusted comment: \n\ntrusted comment: \n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		said, err := Verify(k.Public(), []byte("m"), text)
		if err == nil && said.Trusted != "c" {
			t.Fatalf("accepted %q", text)
		}
	})
}
