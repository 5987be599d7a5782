package record_test

import (
	"crypto/sha256"
	"encoding/hex"
	"math"
	"strconv"
	"testing"

	"github.com/gowebpki/jcs"
	"github.com/stretchr/testify/require"
)

// The library that a record rests on is held to what was published with RFC 8785:
// the test data of its author (github.com/cyberphone/json-canonicalization,
// testdata), of which the digests are of the canonical bytes, and the numbers of
// the RFC's Appendix B.
func TestPublishedTestData(t *testing.T) {
	for name, c := range map[string]struct{ in, sum string }{
		"values": {`{
  "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
  "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
  "literals": [null, true, false]
}`, "2d5e01a318d0f0879ab568c4be289c8b1f64ef8921a53c6277d5e069978baacb"},
		"arrays": {`[
  56,
  {
    "d": true,
    "10": null,
    "1": [ ]
  }
]
`, "099601b171cafed97c333f8878d68e7f8c8f795412adb34b2fdcf0e7c7beac42"},
		"structures": {`{
  "1": {"f": {"f": "hi","F": 5} ,"\n": 56.0},
  "10": { },
  "": "empty",
  "a": { },
  "111": [ {"e": "yes","E": "no" } ],
  "A": { }
}`, "605f65004ec2db7692522a0852c22f1c989e036d547e88963d1a3143cf3195d5"},
		"french": {`{
  "peach": "This sorting order",
  "péché": "is wrong according to French",
  "pêche": "but canonicalization MUST",
  "sin":   "ignore locale"
}
`, "d99d0ebdcb0033cb858cfa830ae46bc0fb3309413b271f1da828c89901a27ed5"},
		"unicode": {`{
  "Unnormalized Unicode":"A\u030a"
}
`, "0d99aad92a125196ff887876643fd3206786a84ddce2cee52ba4ad256d2381d3"},
		"weird": {`{
  "\u20ac": "Euro Sign",
  "\r": "Carriage Return",
  "\u000a": "Newline",
  "1": "One",
  "\u0080": "Control\u007f",
  "\ud83d\ude02": "Smiley",
  "\u00f6": "Latin Small Letter O With Diaeresis",
  "\ufb33": "Hebrew Letter Dalet With Dagesh",
  "</script>": "Browser Challenge"
}
`, "6af595a9aa80110b964b4de3f82a05fa6ae7423005019bacfa2620dddc4e94d1"},
	} {
		got, err := jcs.Transform([]byte(c.in))
		require.NoError(t, err, name)
		sum := sha256.Sum256(got)
		require.Equal(t, c.sum, hex.EncodeToString(sum[:]), "%s: %s", name, got)
	}
}

func TestPublishedNumbers(t *testing.T) {
	for bits, want := range map[uint64]string{
		0x0000000000000000: "0",
		0x8000000000000000: "0",
		0x0000000000000001: "5e-324",
		0x8000000000000001: "-5e-324",
		0x7fefffffffffffff: "1.7976931348623157e+308",
		0xffefffffffffffff: "-1.7976931348623157e+308",
		0x4340000000000000: "9007199254740992",
		0xc340000000000000: "-9007199254740992",
		0x4430000000000000: "295147905179352830000",
		0x44b52d02c7e14af5: "9.999999999999997e+22",
		0x44b52d02c7e14af6: "1e+23",
		0x44b52d02c7e14af7: "1.0000000000000001e+23",
		0x444b1ae4d6e2ef4e: "999999999999999700000",
		0x444b1ae4d6e2ef4f: "999999999999999900000",
		0x444b1ae4d6e2ef50: "1e+21",
		0x3eb0c6f7a0b5ed8c: "9.999999999999997e-7",
		0x3eb0c6f7a0b5ed8d: "0.000001",
		0x41b3de4355555553: "333333333.3333332",
		0x41b3de4355555554: "333333333.33333325",
		0x41b3de4355555555: "333333333.3333333",
		0x41b3de4355555556: "333333333.3333334",
		0x41b3de4355555557: "333333333.33333343",
		0xbecbf647612f3696: "-0.0000033333333333333333",
		0x43143ff3c1cb0959: "1424953923781206.2",
	} {
		// Seventeen digits say any double; the library has to read and write it.
		in := strconv.FormatFloat(math.Float64frombits(bits), 'e', 16, 64)
		got, err := jcs.Transform([]byte("[" + in + "]"))
		require.NoError(t, err)
		require.Equal(t, "["+want+"]", string(got), "%016x", bits)
	}
}

// What RFC 8785 has no canonical form for is an error.
func TestNoCanonicalForm(t *testing.T) {
	for _, in := range []string{`[NaN]`, `[Infinity]`, `[1e400]`, `["\ud800"]`, `["\udc00 "]`, `{"a":1,"a":2}`, `[1`, ``} {
		_, err := jcs.Transform([]byte(in))
		require.Error(t, err, in)
	}
}
