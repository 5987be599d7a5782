package seal

import (
	"encoding/binary"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"aead.dev/minisign"
	"github.com/stretchr/testify/require"
	"golang.org/x/crypto/scrypt"

	"pintle/rig/need"
)

const passphrase = "rope, oar, tide"

func TestKeyFile(t *testing.T) {
	k := must(New())(t)
	file := filepath.Join(t.TempDir(), "pintle.key")
	require.NoError(t, k.Save(file, passphrase))
	info, err := os.Stat(file)
	require.NoError(t, err)
	require.Equal(t, fs.FileMode(0o600), info.Mode())
	require.NoError(t, CheckPrivate(file))

	again, err := Load(file, passphrase)
	require.NoError(t, err)
	require.True(t, k.Public().Equal(again.Public()))
	_, err = Load(file, passphrase+" ")
	require.ErrorIs(t, err, ErrPassphrase)
	require.ErrorIs(t, must(New())(t).Save(file, passphrase), fs.ErrExist, "a key is never overwritten")
	for _, mode := range []fs.FileMode{0o640, 0o604, 0o601, 0o610} {
		require.NoError(t, os.Chmod(file, mode))
		_, err = Load(file, passphrase)
		require.ErrorIs(t, err, ErrOpen)
		require.ErrorContains(t, err, "chmod 600 "+file)
	}
	_, err = Load(filepath.Join(t.TempDir(), "none"), passphrase)
	require.ErrorIs(t, err, fs.ErrNotExist)
}

func TestKeyIsNotPrinted(t *testing.T) {
	k := fromSeed(t, published[0].seed)
	for _, verb := range []string{"%v", "%+v", "%#v", "%s", "%x", "%d"} {
		require.Equal(t, "private key "+k.ID(), fmt.Sprintf(verb, k))
	}
}

func TestUnlockRefuses(t *testing.T) {
	k := fromSeed(t, published[0].seed)
	text, err := k.Lock(passphrase)
	require.NoError(t, err)
	_, err = k.Lock("")
	require.ErrorContains(t, err, "no passphrase")
	plain, err := k.key.MarshalText()
	require.NoError(t, err)
	_, err = Unlock(plain, passphrase)
	require.ErrorIs(t, err, ErrUnlocked)
	for _, none := range []string{"", "a\nb\nc", string(text[:len(text)-8]), strings.Replace(string(text), "RWRTY0Iy", "RWRTY0Iz", 1),
		strings.Replace(string(text), "RWRTY0Iy", "RWRTZEIy", 1), k.Public().String()} {
		_, err = Unlock([]byte(none), passphrase)
		require.ErrorIs(t, err, ErrNoKey, none)
	}
}

// The cost that a key file states stands for what this package stretches with: minisign's
// own reckoning of N, r and p (libsodium's) opens it, and so does the module's.
func TestCostIsAsStated(t *testing.T) {
	text, err := fromSeed(t, published[0].seed).Lock(passphrase)
	require.NoError(t, err)
	b, err := decodePrivate(text)
	require.NoError(t, err)
	require.EqualValues(t, lockOps, binary.LittleEndian.Uint64(b[opsAt:]))
	require.EqualValues(t, lockMemory, binary.LittleEndian.Uint64(b[memoryAt:]))
	require.Equal(t, lockMemory, 128*lockN*lockR)
	require.Equal(t, lockOps, 4*lockN*lockR*lockP)
	_, err = minisign.DecryptKey(passphrase, text[:len(text)-1])
	require.NoError(t, err)
}

// Debian's minisign signs with our enciphered key and takes our signatures; we take up the
// key that it made, and its signatures.
func TestMinisign(t *testing.T) {
	tool := need.Tool(t, "minisign", "apt-get install minisign")
	dir := t.TempDir()
	message := filepath.Join(dir, "head.json")
	require.NoError(t, os.WriteFile(message, []byte("a head"), 0o644))
	at := func(name string) string { return filepath.Join(dir, name) }
	call := func(stdin string, args ...string) string {
		t.Helper()
		c := exec.Command(tool, args...)
		c.Stdin = strings.NewReader(stdin)
		out, err := c.CombinedOutput()
		require.NoError(t, err, string(out))
		return string(out)
	}

	k := must(New())(t)
	require.NoError(t, k.Save(at("our.key"), passphrase))
	require.NoError(t, os.WriteFile(at("our.pub"), k.Public().File(), 0o644))
	ours, err := k.Sign([]byte("a head"), "pintle record 7 ab")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(at("ours.minisig"), ours, 0o644))
	require.Contains(t, call("", "-V", "-m", message, "-p", at("our.pub"), "-x", at("ours.minisig")), "Trusted comment: pintle record 7 ab")
	call(passphrase+"\n", "-S", "-s", at("our.key"), "-m", message, "-t", "by minisign", "-x", at("theirs.minisig"))
	theirs, err := os.ReadFile(at("theirs.minisig"))
	require.NoError(t, err)
	said, err := Verify(k.Public(), []byte("a head"), theirs)
	require.NoError(t, err)
	require.Equal(t, "by minisign", said.Trusted)

	if testing.Short() {
		t.Skip("left out of short runs: a key of minisign's own takes 1 GiB and seconds")
	}
	call(passphrase+"\n"+passphrase+"\n", "-G", "-s", at("their.key"), "-p", at("their.pub"))
	their, err := Load(at("their.key"), passphrase)
	require.NoError(t, err)
	p, err := LoadPublic(at("their.pub"))
	require.NoError(t, err)
	require.True(t, p.Equal(their.Public()))
	text, err := os.ReadFile(at("their.pub"))
	require.NoError(t, err)
	require.Equal(t, string(text), string(p.File()), "a public key file is written as minisign writes it")
	signed, err := their.Sign([]byte("a head"), "by us")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(at("b.minisig"), signed, 0o644))
	require.Contains(t, call("", "-V", "-m", message, "-p", at("their.pub"), "-x", at("b.minisig")), "by us")
}

// What a passphrase costs with the figures of this package, and with minisign's own.
func BenchmarkStretch(b *testing.B) {
	for _, cost := range []struct {
		name string
		n, p int
	}{{"ours", lockN, lockP}, {"minisign's own", 1 << 20, 1}} {
		b.Run(cost.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_, err := scrypt.Key([]byte(passphrase), []byte("salt"), cost.n, lockR, cost.p, 104)
				require.NoError(b, err)
				runtime.GC()
			}
		})
	}
}

// Minisign writes the number of a key without zeros before it.
func TestPublicKeyFileOfASmallNumber(t *testing.T) {
	line := "RWT52/ZFfIhuARkm/LRdQ0Yw8//72fU1N13i8Xnl+4AbN3mhH1O/rQ0A" // of a key that Debian's minisign 0.11 made
	p, err := ParsePublic(line)
	require.NoError(t, err)
	require.Equal(t, "016E887C45F6DBF9", p.ID())
	require.Equal(t, "untrusted comment: minisign public key 16E887C45F6DBF9\n"+line+"\n", string(p.File()))
}
