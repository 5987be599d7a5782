package main

import (
	"context"
	"io"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestProve(t *testing.T) {
	if testing.Short() {
		t.Skip("takes some 5 s; run without -short")
	}
	a := &app{out: io.Discard, err: os.Stderr}
	require.NoError(t, a.prove(context.Background(), "", proveOptions{trials: 1, seed: 1}))
}
