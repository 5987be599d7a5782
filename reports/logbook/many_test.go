package logbook

import (
	"errors"
	"fmt"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
)

func testManyWritersAtOnce(t *testing.T, at place) {
	l := fresh(t, at)
	second, err := Open(l.path)
	require.NoError(t, err)
	defer second.Close()
	var all sync.WaitGroup
	failed := make(chan error, 8)
	for w, book := range []*Logbook{l, l, second, second} {
		all.Go(func() {
			failed <- func() error {
				run := job(fmt.Sprintf("run-%d", w), 10, "normal-cycle")
				if err := book.Begin(run); err != nil {
					return err
				}
				for n := 1; n <= 10; n++ {
					trial, trace := performed(n)
					if err := book.Trial(run.ID, "normal-cycle", trial, trace); err != nil {
						return err
					}
					if _, err := book.Run(run.ID); err != nil {
						return err
					}
				}
				run.Ended = began
				return book.Finish(run)
			}()
		})
	}
	all.Wait()
	close(failed)
	for err := range failed {
		require.NoError(t, err)
	}
	entries, err := l.Runs()
	require.NoError(t, err)
	require.Len(t, entries, 4)
	for _, e := range entries {
		require.Equal(t, 10, e.Trials)
		require.False(t, e.UnderWay)
	}
	require.NoError(t, l.Check())
}

func testManyOpenAtOnce(t *testing.T, at place) {
	path := at(t)
	var all sync.WaitGroup
	errs := make([]error, 8)
	for i := range errs {
		all.Go(func() {
			l, err := Open(path)
			if err == nil {
				err = l.Close()
			}
			errs[i] = err
		})
	}
	all.Wait()
	require.NoError(t, errors.Join(errs...))
}
