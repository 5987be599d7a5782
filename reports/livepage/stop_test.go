package livepage

import (
	"context"
	"io"
	"net/http"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/rig"
)

// A start that was asked for before somebody stopped does not come true after it: not one
// that the stop overtook, nor one that is sent once more.
func TestAStopComesBeforeAStartThatIsOnItsWay(t *testing.T) {
	s := stand(t, nil)
	l := s.look("")
	asked := func() *http.Request {
		return s.request("POST", "/api/start", one, func(r *http.Request) { r.Header.Set(pageHeader, l.secret) })
	}
	overtaken := asked()
	status, _ := l.act("/api/stop", "")
	require.Equal(t, http.StatusConflict, status, "nothing is performed yet")
	status, text := s.ask(overtaken)
	assert.Equal(t, http.StatusConflict, status)
	assert.Contains(t, text, errStale.Error())

	good, again := asked(), asked()
	status, text = s.ask(good)
	require.Equal(t, http.StatusOK, status, text)
	<-s.bench.begun
	status, _ = l.act("/api/stop", "")
	require.Equal(t, http.StatusOK, status)
	l.until(func(st state) bool { return st.Phase == "idle" })
	status, text = s.ask(again)
	assert.Equal(t, http.StatusConflict, status)
	assert.Contains(t, text, errStale.Error())

	bare := asked()
	bare.Header.Del(turnHeader)
	status, _ = s.ask(bare)
	assert.Equal(t, http.StatusBadRequest, status)
	assert.EqualValues(t, 1, s.bench.started.Load())
}

// A stop that ended a run is never answered as if nothing had been performed, however soon
// the run is over.
func TestAStopThatStoppedSaysSo(t *testing.T) {
	begun := make(chan struct{})
	h := newHub(&House{Scenarios: []Scenario{{Name: "one"}}, AnyPace: true, Check: func() Check { return Check{} },
		Perform: func(ctx context.Context, _ Choice, _ func() rig.Witness) (Result, error) {
			close(begun)
			<-ctx.Done()
			return Result{ID: "x"}, ctx.Err()
		}}, NewClock())
	p, _, _, ok := h.enter("")
	require.True(t, ok)
	require.NoError(t, h.start(p, Choice{Scenarios: []string{"one"}, Trials: 1, Pace: 1}, h.state(p).Turn))
	<-begun
	r := h.under.Load()
	cancel := r.cancel
	r.cancel = func() { // the run is over before whoever stops it goes on
		cancel()
		for over := false; !over; {
			h.mu.Lock()
			over = h.run == nil
			h.mu.Unlock()
		}
	}
	require.NoError(t, h.stop())
	h.runs.Wait()
	require.ErrorIs(t, h.stop(), errIdle)
}

// A stop reaches the bench whoever holds what the pages share.
func TestAStopWaitsForNoLock(t *testing.T) {
	s := stand(t, nil)
	l := s.look("")
	status, _ := l.act("/api/start", one)
	require.Equal(t, http.StatusOK, status)
	<-s.bench.begun
	s.hub.mu.Lock()
	stopped := make(chan error)
	go func() { stopped <- s.hub.stop() }()
	select {
	case <-s.bench.safe:
	case <-time.After(10 * time.Second):
		t.Error("the stop waits for the lock")
	}
	s.hub.mu.Unlock()
	<-stopped
}

// However many papers are asked for at once, few are written at a time, and a stop comes
// through meanwhile.
func TestPapersAreWrittenByTurns(t *testing.T) {
	begun, goOn := make(chan struct{}, 100), make(chan struct{})
	s := stand(t, func(h *House, _ *Door) {
		h.Papers[0].Write = func(io.Writer, *reports.Run) error { begun <- struct{}{}; <-goOn; return nil }
	})
	l := s.look("")
	status, _ := l.act("/api/start", one)
	require.Equal(t, http.StatusOK, status)
	<-s.bench.begun
	var papers sync.WaitGroup
	for range 4 * papersAtOnce {
		papers.Go(func() {
			status, _ := s.ask(s.request("GET", "/api/certificate?run="+s.house.Log.(shelf).runs[0].ID, "", nil))
			assert.Equal(t, http.StatusOK, status)
		})
	}
	for range papersAtOnce {
		<-begun
	}
	status, _ = l.act("/api/stop", "")
	assert.Equal(t, http.StatusOK, status)
	<-s.bench.safe
	assert.Empty(t, begun, "no more than so many at a time")
	close(goOn)
	papers.Wait()
	assert.Len(t, begun, 3*papersAtOnce)
}
