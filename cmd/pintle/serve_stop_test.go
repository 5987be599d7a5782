package main

import (
	"context"
	"io"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/drivers/live"
	"pintle/drivers/virtual"
	"pintle/reports/livepage"
	"pintle/reports/logbook"
	"pintle/rig"
	"pintle/rig/need"
	"pintle/rig/signal"

	"net"
)

// A watched bench notes when it was made safe. Its meter may be slow: between two
// readings nothing wakes the conductor but its own patience.
type watched struct {
	rig.Bench
	made atomic.Bool  // the supply is planned on
	safe atomic.Int64 // when it was last made safe after that, on the clock
	now  func() signal.Instant
}

func (w *watched) Plan(l signal.Line, future []signal.Edge) error {
	if l == signal.Supply {
		w.made.Store(true)
	}
	return w.Bench.Plan(l, future)
}

func (w *watched) Safe() error {
	err := w.Bench.Safe()
	if w.made.Load() {
		w.safe.Store(int64(w.now()))
	}
	return err
}

func (w *watched) Unwrap() rig.Bench { return w.Bench }

// TestStopReachesTheBench presses STOP, by a request as the page makes it, and holds the
// time until the bench is safe to 50 ms: of a meter of 1 kHz and of one that says
// something five times a second.
func TestStopReachesTheBench(t *testing.T) {
	for name, interval := range map[string]time.Duration{"a meter of 1 kHz": time.Millisecond, "a slow meter": 200 * time.Millisecond} {
		t.Run(name, func(t *testing.T) {
			const most = 50 * time.Millisecond
			worst := most + 1
			for try := 0; try < 4 && worst > most; try++ { // the machine may have stood still
				worst = max(stopTime(t, interval), stopTime(t, interval), stopTime(t, interval))
				t.Logf("the longest of 3 stops took %v", worst)
			}
			if worst > most {
				need.Quiet(t, worst.String())
			}
		})
	}
}

func stopTime(t *testing.T, interval time.Duration) time.Duration {
	t.Helper()
	serveHome(t)
	job, err := loadJob("")
	require.NoError(t, err)
	log, err := logbook.Open("logbook.db")
	require.NoError(t, err)
	defer log.Close()
	house, err := houseOf(&app{out: io.Discard, err: io.Discard}, job, "", "logbook.db", log, 1)
	require.NoError(t, err)
	conducted, err := rigJob(job)
	require.NoError(t, err)
	clock := live.NewClock()
	bench := &watched{now: clock}
	house.Perform = func(ctx context.Context, c livepage.Choice, witness func() rig.Witness) (livepage.Result, error) {
		config := virtualConfig(job)
		config.Meter.Interval, config.Meter.Window = interval, interval
		inner, err := virtual.New(config, 1)
		require.NoError(t, err)
		bench.Bench = live.Paced(inner, clock, 1)
		s, _ := job.Scenario(c.Scenarios[0])
		return livepage.Result{ID: "x"}, rig.Run(ctx, rig.Plan{Job: conducted, Scenarios: []rig.Scenario{s.Scenario}, Trials: 1, Workers: 1, Witness: witness,
			Open: func() (rig.Bench, rig.Facts, error) { return bench, inner.Facts(), nil }, Sink: func(*rig.Outcome) error { return nil }})
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	host := l.Addr().String()
	door := livepage.Door{Token: strings.Repeat("t", 40), Hosts: []string{host}}
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- livepage.New(house, door, livepage.NewClock()).Serve(ctx, l) }()
	defer func() { cancel(); assert.NoError(t, <-done) }()
	ask := func(method, path, page, body string) *http.Response {
		r, err := http.NewRequestWithContext(ctx, method, "http://"+host+path, strings.NewReader(body))
		require.NoError(t, err)
		r.Header = http.Header{"Authorization": {"Bearer " + door.Token}, "Origin": {"http://" + host}, "Content-Type": {"application/json"}, "Pintle-Page": {page}, "Pintle-Turn": {"0"}}
		a, err := http.DefaultClient.Do(r)
		require.NoError(t, err)
		return a
	}
	stream := ask("GET", "/api/stream", "", "")
	defer stream.Body.Close()
	head := make([]byte, 200)
	_, err = io.ReadFull(stream.Body, head)
	require.NoError(t, err)
	_, page, _ := strings.Cut(string(head), `"page":"`)
	page, _, _ = strings.Cut(page, `"`)
	started := ask("POST", "/api/start", page, `{"scenarios":["normal-cycle"],"trials":1,"seed":1,"pace":1}`)
	require.Equal(t, http.StatusOK, started.StatusCode)
	require.NoError(t, started.Body.Close())
	// The ink of the trial comes once the supply is on.
	for text := string(head); !strings.Contains(text, "event: mark"); {
		n, err := stream.Body.Read(head)
		require.NoError(t, err)
		text = text[max(0, len(text)-200):] + string(head[:n])
	}
	require.True(t, bench.made.Load())
	pressed := clock()
	stopped := ask("POST", "/api/stop", page, "")
	require.Equal(t, http.StatusOK, stopped.StatusCode)
	require.NoError(t, stopped.Body.Close())
	for text := ""; !strings.Contains(text, `"phase":"idle"`); { // the page is told when all is over
		n, err := stream.Body.Read(head)
		require.NoError(t, err)
		text = text[max(0, len(text)-200):] + string(head[:n])
	}
	require.Greater(t, bench.safe.Load(), int64(pressed), "it was made safe after the stop")
	return signal.Instant(bench.safe.Load()).Sub(pressed)
}
