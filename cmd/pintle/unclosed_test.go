package main

import (
	"bytes"
	"errors"
	"io"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/rig"
)

// stuck is a bench whose supply cannot be taken off.
type stuck struct{ rig.Bench }

func (s stuck) Close() error {
	return errors.Join(errors.New("take the supply off by hand"), s.Bench.Close())
}

// That a supply may be on is told also where the logbook can keep nothing any more, as on
// a full disk.
func TestASupplyThatMayBeOnIsToldWhateverElseFails(t *testing.T) {
	job, err := loadJob("")
	require.NoError(t, err)
	chosen, err := choose(job, []string{"normal-cycle"})
	require.NoError(t, err)
	var errs bytes.Buffer
	a := &app{out: io.Discard, err: &errs, raw: io.Discard}
	o := runOptions{trials: 1, workers: 1, log: filepath.Join(t.TempDir(), "log.db"), shows: demonstration{trials: 1}}
	p, err := a.prepare(job, chosen, o)
	require.NoError(t, err)
	open := p.plan.Open
	p.plan.Open = func() (rig.Bench, rig.Facts, error) {
		b, f, err := open()
		return stuck{b}, f, err
	}
	require.NoError(t, p.log.Close())
	require.ErrorContains(t, a.conclude(t.Context(), p, o), "finish the run")
	require.Contains(t, errs.String(), "take the supply off by hand")
}
