package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/require"
)

// Whoever tells does not wait for whoever reads, and all of it arrives in order.
func TestEventsNeverWait(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		slow, in := io.Pipe()
		e := newEvents(in)
		for n := 1; n <= 1000; n++ { // nobody reads yet
			e.tell(event{Event: "trial begins", Trial: n})
		}
		var got bytes.Buffer
		read := make(chan error)
		go func() { _, err := io.Copy(&got, slow); read <- err }()
		require.NoError(t, e.end())
		require.NoError(t, in.Close())
		require.NoError(t, <-read)
		lines := strings.Split(strings.TrimSpace(got.String()), "\n")
		require.Len(t, lines, 1000)
		for n, line := range lines {
			var one event
			require.NoError(t, json.Unmarshal([]byte(line), &one))
			require.Equal(t, n+1, one.Trial)
		}
	})
}

// What happens is printed as it happens: it can be read before anything else does.
func TestEventsComeAsTheyHappen(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		out, in := io.Pipe()
		e := newEvents(in)
		lines := bufio.NewScanner(out)
		for n := 1; n <= 3; n++ {
			e.tell(event{Event: "trial begins", Trial: n})
			require.True(t, lines.Scan()) // nothing more is told until it is read: kept back, it would hang here
			require.Contains(t, lines.Text(), fmt.Sprintf(`"trial":%d`, n))
		}
		require.NoError(t, e.end())
	})
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errors.New("no room") }

// A reader that is gone is told of at the end, and holds nothing up before.
func TestEventsToNobody(t *testing.T) {
	e := newEvents(broken{})
	for range 3 {
		e.tell(event{Event: "trial begins"})
	}
	require.ErrorContains(t, e.end(), "no room")
	e.tell(event{})
}
