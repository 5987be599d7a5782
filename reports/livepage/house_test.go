package livepage

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net"
	"net/http"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/reports/logbook"
	"pintle/reports/reportstest"
	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

const testToken = "a-token-of-the-tests-own-that-nobody-guesses"

// A fakeBench performs nothing, until it is stopped.
type fakeBench struct {
	started, stopped atomic.Int64
	begun            chan Choice
	safe             chan time.Time
	do               func(ctx context.Context, c Choice, witness func() rig.Witness) // instead of waiting
}

func (b *fakeBench) perform(ctx context.Context, c Choice, witness func() rig.Witness) (Result, error) {
	b.started.Add(1)
	select {
	case b.begun <- c:
	default:
	}
	if b.do != nil {
		b.do(ctx, c, witness)
	}
	<-ctx.Done()
	b.stopped.Add(1)
	select {
	case b.safe <- time.Now():
	default:
	}
	return Result{"20260101-000000.000", rule.Void, ""}, ctx.Err()
}

// A shelf is a log of two runs.
type shelf struct {
	reportstest.Source
	runs []*reports.Run
}

func (s shelf) Runs() (all []logbook.Entry, _ error) {
	for _, r := range s.runs {
		all = append(all, logbook.Entry{ID: r.ID, Began: r.Began, Ended: r.Ended, Controller: r.Controller, Scenarios: len(r.Scenarios), Verdict: r.Verdict})
	}
	return all, nil
}

func (s shelf) Run(name string) (*reports.Run, error) {
	for _, r := range s.runs {
		if r.ID == name {
			return r, nil
		}
	}
	return nil, logbook.ErrNoRun
}

// A standing is a server that serves.
type standing struct {
	*testing.T
	*Server
	bench *fakeBench
	host  string
	end   context.CancelFunc
	done  chan error
}

func stand(t *testing.T, change func(*House, *Door), tune ...func(*Server)) *standing {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	bench := &fakeBench{begun: make(chan Choice, 1), safe: make(chan time.Time, 1)}
	run, other := reportstest.Mixed(), reportstest.Sound()
	other.ID += "-b"
	house := &House{Title: "Spring check", AnyPace: true, Pace: 1, Lines: signal.SetOf(signal.Remote, signal.Supply, signal.OpenLimit),
		Scenarios: []Scenario{{Name: "one", Title: "One", Rules: []Rule{{"first", "1s"}, {"second", ""}}}, {Name: "two", Title: "Two"}},
		Check:     func() Check { return Check{} },
		Perform:   bench.perform,
		Log:       shelf{runs: []*reports.Run{run, other}},
		Papers: []Paper{
			{"certificate", "Certificate", "pdf", "application/pdf", func(w io.Writer, run *reports.Run) error { _, err := io.WriteString(w, "%PDF-"); return err }},
			{"report", "Report", "html", "text/html; charset=utf-8", func(w io.Writer, run *reports.Run) error { _, err := io.WriteString(w, "<!doctype html>"); return err }},
		},
	}
	door := Door{Token: testToken, Hosts: []string{l.Addr().String()}}
	if change != nil {
		change(house, &door)
	}
	ctx, cancel := context.WithCancel(t.Context())
	s := &standing{T: t, Server: New(house, door, NewClock()), bench: bench, host: l.Addr().String(), end: cancel, done: make(chan error, 1)}
	for _, do := range tune {
		do(s.Server)
	}
	go func() { s.done <- s.Serve(ctx, l) }()
	t.Cleanup(func() {
		cancel()
		require.NoError(t, <-s.done)
		s.done <- nil
	})
	return s
}

// request makes a good request: that of a page of this server, with the token. A change
// spoils it.
func (s *standing) request(method, path, body string, change func(*http.Request)) *http.Request {
	s.Helper()
	r, err := http.NewRequestWithContext(s.Context(), method, "http://"+s.host+path, strings.NewReader(body))
	require.NoError(s, err)
	r.Header.Set("Authorization", "Bearer "+testToken)
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	if method == http.MethodPost {
		r.Header.Set("Origin", "http://"+s.host)
		r.Header.Set("Content-Type", "application/json")
	}
	if path == "/api/start" {
		s.hub.mu.Lock()
		r.Header.Set(turnHeader, strconv.FormatUint(s.hub.turn, 10))
		s.hub.mu.Unlock()
	}
	if change != nil {
		change(r)
	}
	return r
}

// ask gives the status and the body of an answer.
func (s *standing) ask(r *http.Request) (int, string) {
	s.Helper()
	a, err := http.DefaultClient.Do(r)
	require.NoError(s, err)
	defer a.Body.Close()
	body, err := io.ReadAll(a.Body)
	require.NoError(s, err)
	return a.StatusCode, string(body)
}

// A looker is a page that looks.
type looker struct {
	s      *standing
	secret string
	hello  hello
	events *bufio.Reader
	leave  context.CancelFunc
}

// look opens a page's stream. A secret is that of an earlier one.
func (s *standing) look(secret string) *looker {
	s.Helper()
	ctx, cancel := context.WithCancel(s.Context())
	s.Cleanup(cancel)
	r := s.request("GET", "/api/stream", "", func(r *http.Request) {
		if secret != "" {
			r.Header.Set(pageHeader, secret)
		}
	})
	a, err := http.DefaultClient.Do(r.WithContext(ctx))
	require.NoError(s, err)
	require.Equal(s, http.StatusOK, a.StatusCode)
	l := &looker{s: s, events: bufio.NewReaderSize(a.Body, 1<<20), leave: cancel}
	name, data := l.next()
	require.Equal(s, "hello", name)
	require.NoError(s, json.Unmarshal(data, &l.hello))
	l.secret = l.hello.Page
	return l
}

// next gives the next event.
func (l *looker) next() (string, []byte) {
	l.s.Helper()
	line := func() []byte {
		b, err := l.events.ReadBytes('\n')
		require.NoError(l.s, err)
		return bytes.TrimSuffix(b, []byte("\n"))
	}
	name, data := line(), line()
	require.Empty(l.s, line())
	return string(bytes.TrimPrefix(name, []byte("event: "))), bytes.TrimPrefix(data, []byte("data: "))
}

// until reads events until there is a state that is as wanted.
func (l *looker) until(want func(state) bool) state {
	l.s.Helper()
	for {
		name, data := l.next()
		if name != "state" {
			continue
		}
		var s state
		require.NoError(l.s, json.Unmarshal(data, &s))
		if want(s) {
			return s
		}
	}
}

// act asks for something from this page.
func (l *looker) act(path, body string) (int, string) {
	l.s.Helper()
	return l.s.ask(l.s.request("POST", path, body, func(r *http.Request) { r.Header.Set(pageHeader, l.secret) }))
}

const one = `{"scenarios":["one"],"trials":1,"seed":1,"pace":1}`
