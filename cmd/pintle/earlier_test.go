package main

import (
	"compress/gzip"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/reports/evidence"
)

// Records that earlier programs made are as good as they were, each named by its day: what a
// program says of a record must not hang on how it words a rule, a fault or a budget. Where a
// mistake in judging was mended, and an old verdict with it, this is the place to say so.
func TestRecordsOfEarlierProgramsStillHold(t *testing.T) {
	all, err := filepath.Glob("testdata/earlier/*.zip.gz")
	require.NoError(t, err)
	require.NotEmpty(t, all)
	for _, name := range all {
		f, err := os.Open(name)
		require.NoError(t, err)
		z, err := gzip.NewReader(f)
		require.NoError(t, err)
		text, err := io.ReadAll(z)
		require.NoError(t, err)
		require.NoError(t, f.Close())
		rec, err := evidence.Open(strings.NewReader(string(text)), int64(len(text)))
		require.NoError(t, err, name)
		v := &verification{}
		require.NoError(t, v.check(rec, nil, ""), name)
		require.NotZero(t, v.Samples, name)
		require.Empty(t, v.Different, name)
	}
}
