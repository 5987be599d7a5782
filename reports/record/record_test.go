package record_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"testing"
	"time"

	"github.com/gowebpki/jcs"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/reports/record"
)

// TestCanonicalForm checks the library that the record rests on with the test
// data that the author of RFC 8785 published beside it (values and arrays).
func TestCanonicalForm(t *testing.T) {
	for name, c := range map[string]struct{ in, want, digest string }{
		"values": {
			`{"numbers":[333333333.33333329,1E30,4.50,2e-3,0.000000000000000000000000001],"string":"\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/","literals":[null,true,false]}`,
			`{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],"string":"€$\u000f\nA'B\"\\\\\"/"}`,
			"2d5e01a318d0f0879ab568c4be289c8b1f64ef8921a53c6277d5e069978baacb",
		},
		"arrays": {
			`[56,{"d":true,"10":null,"1":[]}]`, `[56,{"1":[],"10":null,"d":true}]`,
			"099601b171cafed97c333f8878d68e7f8c8f795412adb34b2fdcf0e7c7beac42",
		},
	} {
		got, err := jcs.Transform([]byte(c.in))
		require.NoError(t, err, name)
		assert.Equal(t, c.want, string(got), name)
		sum := sha256.Sum256(got)
		assert.Equal(t, c.digest, hex.EncodeToString(sum[:]), name)
	}
}

func TestComparableLeavesOutOnlyWhatMayDiffer(t *testing.T) {
	one := &reports.Run{ID: "a", Began: time.Unix(1, 0).UTC(), Ended: time.Unix(2, 0).UTC(), Job: "spring check", Seed: 1<<63 + 1}
	other := *one
	other.ID, other.Began, other.Ended = "b", time.Unix(5, 0).UTC(), time.Unix(9, 0).UTC()
	x, err := record.Comparable(one)
	require.NoError(t, err)
	y, err := record.Comparable(&other)
	require.NoError(t, err)
	assert.Equal(t, string(x), string(y))
	assert.True(t, bytes.Contains(x, []byte(`"seed":"9223372036854775809"`)), "a seed keeps all its digits")

	other.Seed++
	y, err = record.Comparable(&other)
	require.NoError(t, err)
	assert.NotEqual(t, string(x), string(y))

	d1, err := record.Digest(one)
	require.NoError(t, err)
	d2, err := record.Digest(&other)
	require.NoError(t, err)
	assert.NotEqual(t, d1, d2)
}
