package main

import (
	"context"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestProve(t *testing.T) {
	a := &app{out: os.Stdout, err: os.Stderr}
	require.NoError(t, a.prove(context.Background(), "", proveOptions{trials: 1, seed: 1}))
}
