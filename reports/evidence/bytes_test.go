package evidence_test

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/reports/evidence"
	"pintle/reports/seal"
)

// Nothing compressed is read, nor anything beyond what an entry may be.
func TestBombs(t *testing.T) {
	b, _ := signed(t)
	for _, part := range partsOf(t, b) {
		h := bytes.Index(b, append([]byte{byte(len(part.Name)), 0, 0, 0}, part.Name...)) - 26
		require.Equal(t, "PK\x03\x04", string(b[h:h+4]))
		deflated := slices.Clone(b)
		deflated[h+8] = 8
		require.ErrorIs(t, check(deflated, nil), evidence.ErrBomb, part.Name)
		grows := slices.Clone(b)
		binary.LittleEndian.PutUint32(grows[h+22:], 1<<31)
		require.ErrorIs(t, check(grows, nil), evidence.ErrBomb, part.Name)
		huge := slices.Clone(b)
		binary.LittleEndian.PutUint32(huge[h+18:], 1<<30)
		binary.LittleEndian.PutUint32(huge[h+22:], 1<<30)
		require.ErrorIs(t, check(huge, nil), evidence.ErrBomb, part.Name)
	}
}

// A text that would take up hundreds of times its own room is not read at all.
func TestDenseTexts(t *testing.T) {
	b, _ := signed(t)
	honest := partsOf(t, b)
	for name, texts := range map[string][2]string{"run.json": {`{"scenarios":[`, `]}`}, first: {`{"findings":[`, `]}`}} {
		for _, item := range []string{"{},", "null,", "[],{},"} {
			parts := slices.Clone(honest)
			parts[at(t, parts, name)].Data = []byte(texts[0] + strings.Repeat(item, 100_000) + item[:len(item)-1] + texts[1])
			file := evidence.Pack(evidence.Resum(parts, nil, nil))
			before := allocated()
			require.ErrorIs(t, check(file, nil), evidence.ErrBomb, "%s of %s", name, item)
			require.Less(t, allocated()-before, uint64(4<<20), "%s of %s", name, item)
		}
	}
}

// allocated is all that was ever allocated, in bytes.
func allocated() uint64 {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.TotalAlloc
}

// One byte changed at each of a thousand places, by a bit or altogether: none is taken.
func TestNoByteIsFree(t *testing.T) {
	b, verify := signed(t)
	require.NoError(t, check(b, verify))
	rec, err := evidence.Open(bytes.NewReader(b), int64(len(b)))
	require.NoError(t, err)
	var out bytes.Buffer
	require.NoError(t, evidence.Excerpt(&out, rec, "normal-cycle", 2))
	require.NoError(t, check(out.Bytes(), verify))
	for name, b := range map[string][]byte{"record": b, "excerpt": out.Bytes()} {
		random := rand.New(rand.NewPCG(6, 1000))
		for range 1000 {
			i, mask := random.IntN(len(b)), byte(1+random.IntN(255))
			b[i] ^= mask
			require.Error(t, check(b, verify), "%s: byte %d changed by %02x", name, i, mask)
			b[i] ^= mask
		}
		require.NoError(t, check(b, verify), "all is as it was")
	}
}

// Every byte of the front, where a signature could be written in another way.
func TestNoByteOfTheFrontIsFree(t *testing.T) {
	b, verify := signed(t)
	end := bytes.Index(b, []byte("SHA256SUMS")) - 30
	for i := range end {
		for _, mask := range []byte{1, 0x20, 0x80} {
			b[i] ^= mask
			require.Error(t, check(b, verify), "byte %d of %d changed by %02x", i, end, mask)
			b[i] ^= mask
		}
	}
}

// A signature can be written in one way only.
func TestSignatureIsNotMalleable(t *testing.T) {
	b, verify := signed(t)
	honest := partsOf(t, b)
	public, _ := key(1)
	lines := strings.SplitAfter(string(honest[1].Data), "\n")
	raw, err := base64.StdEncoding.DecodeString(strings.TrimSpace(lines[1]))
	require.NoError(t, err)
	require.Len(t, raw, 74)
	loose := []byte(lines[1]) // 74 bytes leave 4 bits of the last digit unused
	loose[98] ^= 1
	for name, text := range map[string]string{
		"another first line":    strings.Replace(string(honest[1].Data), seal.Untrusted, "signature from a friend", 1),
		"CR before LF":          strings.Replace(string(honest[1].Data), "\n", "\r\n", 1),
		"no line end":           strings.TrimSuffix(string(honest[1].Data), "\n"),
		"one line end more":     string(honest[1].Data) + "\n",
		"a line end in base64":  lines[0] + lines[1] + lines[2] + lines[3][:20] + "\n" + lines[3][20:],
		"CR in base64":          lines[0] + lines[1][:20] + "\r" + lines[1][20:] + lines[2] + lines[3],
		"blank in the comment":  strings.Replace(string(honest[1].Data), "pintle record ", "pintle record  ", 1),
		"comment of other runs": strings.Replace(string(honest[1].Data), "pintle record many", "pintle record some", 1),
		"loose bits in base64":  lines[0] + string(loose) + lines[2] + lines[3],
	} {
		parts := slices.Clone(honest)
		require.NotEqual(t, string(honest[1].Data), text, name)
		parts[1].Data = []byte(text)
		require.ErrorIs(t, check(evidence.Pack(parts), verify), evidence.ErrSignature, name)
	}
	// The signature alone is as good with another first line: the check above is not idle.
	_, err = seal.Verify(public, honest[0].Data, []byte(strings.Replace(string(honest[1].Data), seal.Untrusted, "x", 1)))
	require.NoError(t, err)
}

func TestTruncated(t *testing.T) {
	b, verify := signed(t)
	for i := 0; i < len(b); i += 1 + i/200 {
		require.ErrorIs(t, check(b[:i], verify), evidence.ErrTruncated, "%d bytes of %d", i, len(b))
	}
	for i := len(b) - 60; i < len(b); i++ {
		require.ErrorIs(t, check(b[:i], verify), evidence.ErrTruncated, "%d bytes of %d", i, len(b))
	}
	require.ErrorIs(t, check(append(slices.Clone(b), 0), verify), evidence.ErrAdded)
	require.ErrorIs(t, check(append([]byte("#!"), b...), verify), evidence.ErrNotRecord)
	require.ErrorIs(t, check([]byte("something else altogether"), nil), evidence.ErrNotRecord)
	require.ErrorIs(t, check(evidence.Pack(nil), nil), evidence.ErrNotRecord)
	require.ErrorIs(t, check(evidence.Pack([]evidence.Part{{Name: "run.json", Data: []byte("{}")}}), nil), evidence.ErrNotRecord)
}
