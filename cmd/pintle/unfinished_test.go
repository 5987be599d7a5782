package main

import (
	"bytes"
	"context"
	"testing"

	"github.com/stretchr/testify/require"
)

// A call that is stopped has not proved anything, and is no wrong call either.
func TestACallThatIsStopped(t *testing.T) {
	ctx, stop := context.WithCancel(t.Context())
	stop()
	var out, errs bytes.Buffer
	require.Equal(t, statusVoid, pintle(ctx, []string{"prove"}, &out, &errs), errs.String())
	require.Contains(t, errs.String(), "it was not performed to its end")
	require.NotContains(t, errs.String(), "--help")
}
