package livepage

import (
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// attacks spoil a request that would be good in one way each.
var attacks = []struct {
	name   string
	spoil  func(*http.Request)
	status int
}{
	{"from another site", func(r *http.Request) { r.Header.Set("Origin", "https://slipway.example") }, http.StatusForbidden},
	{"from another port", func(r *http.Request) { r.Header.Set("Origin", "http://127.0.0.1:1") }, http.StatusForbidden},
	{"from the same name by another scheme", func(r *http.Request) { r.Header.Set("Origin", "https://"+r.URL.Host) }, http.StatusForbidden},
	{"from a sandboxed frame or a file", func(r *http.Request) { r.Header.Set("Origin", "null") }, http.StatusForbidden},
	{"without an origin", func(r *http.Request) { r.Header.Del("Origin") }, http.StatusForbidden},
	{"cross-site, says the browser", func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") }, http.StatusForbidden},
	{"same-site, says the browser", func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "same-site") }, http.StatusForbidden},
	{"typed or linked, says the browser", func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "none") }, http.StatusForbidden},
	{"under another name", func(r *http.Request) { r.Host = "slipway.example"; r.Header.Set("Origin", "http://slipway.example") }, http.StatusMisdirectedRequest},
	{"under another name, at the port", func(r *http.Request) {
		r.Host = "slipway.example" + r.URL.Host[strings.LastIndex(r.URL.Host, ":"):]
		r.Header.Set("Origin", "http://"+r.Host)
	}, http.StatusMisdirectedRequest},
	{"without a token", func(r *http.Request) { r.Header.Del("Authorization") }, http.StatusUnauthorized},
	{"with an empty token", func(r *http.Request) { r.Header.Set("Authorization", "Bearer ") }, http.StatusUnauthorized},
	{"with a wrong token", func(r *http.Request) { r.Header.Set("Authorization", "Bearer "+testToken[1:]+"x") }, http.StatusUnauthorized},
	{"with a part of the token", func(r *http.Request) { r.Header.Set("Authorization", "Bearer "+testToken[:20]) }, http.StatusUnauthorized},
	{"with the token bare", func(r *http.Request) { r.Header.Set("Authorization", testToken) }, http.StatusUnauthorized},
	{"with the token elsewhere", func(r *http.Request) {
		r.Header.Del("Authorization")
		r.URL.RawQuery = "token=" + testToken
		r.AddCookie(&http.Cookie{Name: "token", Value: testToken})
	}, http.StatusUnauthorized},
	{"as a form", func(r *http.Request) { r.Header.Set("Content-Type", "application/x-www-form-urlencoded") }, http.StatusUnsupportedMediaType},
	{"as plain text", func(r *http.Request) { r.Header.Set("Content-Type", "text/plain") }, http.StatusUnsupportedMediaType},
	{"by GET", func(r *http.Request) { r.Method = "GET" }, http.StatusMethodNotAllowed},
	{"by OPTIONS, to be allowed", func(r *http.Request) { r.Method = "OPTIONS"; r.Header.Set("Access-Control-Request-Method", "POST") }, http.StatusMethodNotAllowed},
}

// forgive lets each attack be looked at by itself.
func (s *standing) forgive() {
	s.guard.bad.mu.Lock()
	defer s.guard.bad.mu.Unlock()
	s.guard.bad.left = badAtOnce
}

func TestNoAttackStarts(t *testing.T) {
	s := stand(t, nil)
	page := s.look("")
	for _, a := range attacks {
		t.Run(a.name, func(t *testing.T) {
			r := s.request("POST", "/api/start", one, a.spoil)
			r.Header.Set(pageHeader, page.secret)
			status, _ := s.ask(r)
			assert.Equal(t, a.status, status)
			s.forgive()
		})
	}
	t.Run("from no page", func(t *testing.T) {
		status, _ := s.ask(s.request("POST", "/api/start", one, nil))
		assert.Equal(t, http.StatusForbidden, status)
	})
	t.Run("from a page that was made up", func(t *testing.T) {
		status, _ := s.ask(s.request("POST", "/api/start", one, func(r *http.Request) { r.Header.Set(pageHeader, newSecret()) }))
		assert.Equal(t, http.StatusForbidden, status)
	})
	assert.Zero(t, s.bench.started.Load(), "none of them reached the bench")
	status, body := page.act("/api/start", one)
	require.Equal(t, http.StatusOK, status, "unspoilt it does: %s", body)
	<-s.bench.begun
}

func TestNoAttackStops(t *testing.T) {
	s := stand(t, nil)
	page := s.look("")
	status, body := page.act("/api/start", one)
	require.Equal(t, http.StatusOK, status, body)
	<-s.bench.begun
	for _, a := range attacks {
		t.Run(a.name, func(t *testing.T) {
			status, _ := s.ask(s.request("POST", "/api/stop", "", a.spoil))
			assert.Equal(t, a.status, status)
			s.forgive()
		})
	}
	assert.Zero(t, s.bench.stopped.Load(), "none of them reached the bench")
	status, _ = s.ask(s.request("POST", "/api/stop", "", nil))
	require.Equal(t, http.StatusOK, status, "whoever has the token may stop it, from no page in particular")
	<-s.bench.safe
}

func TestNothingIsSeenFromOutside(t *testing.T) {
	s := stand(t, nil)
	for _, path := range []string{"/api/stream", "/api/runs", "/api/run?run=x", "/api/chart?run=x", "/api/compare?a=x&b=x", "/api/picture?a=x&b=x", "/api/certificate?run=x", "/api/report?run=x"} {
		for _, a := range attacks {
			if a.status == http.StatusUnsupportedMediaType || a.status == http.StatusMethodNotAllowed || a.name == "without an origin" {
				continue
			}
			status, body := s.ask(s.request("GET", path, "", a.spoil))
			assert.Equal(t, a.status, status, "%s %s", path, a.name)
			assert.NotContains(t, body, "Spring")
			s.forgive()
		}
	}
	status, body := s.ask(s.request("GET", "/", "", func(r *http.Request) { r.Host = "slipway.example" }))
	assert.Equal(t, http.StatusMisdirectedRequest, status)
	assert.NotContains(t, body, "<html")
}

func TestEveryAnswerIsArmoured(t *testing.T) {
	s := stand(t, nil)
	for _, path := range []string{"/", "/page.js", "/page.css", "/icon.svg", "/nothing", "/api/runs", "/api/nothing", "/api/certificate?run=" + s.house.Log.(shelf).runs[0].ID} {
		a, err := http.DefaultClient.Do(s.request("GET", path, "", func(r *http.Request) { r.Header.Set("Origin", "http://"+s.host) }))
		require.NoError(t, err)
		require.NoError(t, a.Body.Close())
		h := a.Header
		for _, part := range []string{"default-src 'none'", "script-src 'self'", "style-src 'self'", "frame-ancestors 'none'", "base-uri 'none'", "form-action 'none'"} {
			assert.Contains(t, h.Get("Content-Security-Policy"), part, path)
		}
		assert.NotContains(t, h.Get("Content-Security-Policy"), "unsafe", path)
		assert.Equal(t, "nosniff", h.Get("X-Content-Type-Options"), path)
		assert.Equal(t, "no-referrer", h.Get("Referrer-Policy"), path)
		assert.Equal(t, "DENY", h.Get("X-Frame-Options"), path)
		assert.Equal(t, "no-store", h.Get("Cache-Control"), path)
		assert.Empty(t, h.Get("Set-Cookie"), path)
		for name := range h {
			assert.False(t, strings.HasPrefix(name, "Access-Control-"), "%s: %s", path, name)
		}
	}
}

func TestThePageAsksNobodyElse(t *testing.T) {
	entries, err := files.ReadDir("page")
	require.NoError(t, err)
	require.Len(t, entries, len(static))
	for _, e := range entries {
		text, err := files.ReadFile("page/" + e.Name())
		require.NoError(t, err)
		body := strings.ReplaceAll(string(text), `xmlns="http://www.w3.org/2000/svg"`, "")
		for _, bad := range []string{"http://", "https://", "//cdn", "@import", "innerHTML", "eval(", "style=", "onclick", "document.write"} {
			assert.NotContains(t, body, bad, e.Name())
		}
	}
}

// TestBodiesAreBounded sends more than is taken in, honestly and not.
func TestBodiesAreBounded(t *testing.T) {
	s := stand(t, nil)
	page := s.look("")
	long := `{"scenarios":["` + strings.Repeat("x", mostBody) + `"],"trials":1}`
	for name, body := range map[string]io.Reader{"with its length": strings.NewReader(long), "without": io.MultiReader(strings.NewReader(long), strings.NewReader(strings.Repeat(" ", 1<<20)))} {
		t.Run(name, func(t *testing.T) {
			r := s.request("POST", "/api/start", "", func(r *http.Request) { r.Header.Set(pageHeader, page.secret) })
			r.Body, r.ContentLength = io.NopCloser(body), -1
			if sized, ok := body.(*strings.Reader); ok {
				r.ContentLength = int64(sized.Len())
			}
			a, err := http.DefaultClient.Do(r)
			if err == nil { // it may be cut off while it still sends
				defer a.Body.Close()
				assert.Equal(t, http.StatusRequestEntityTooLarge, a.StatusCode)
			}
		})
	}
	for body, want := range map[string]string{
		"{}": "trials", `{"trials":0}`: "trials", `{"trials":1e9}`: "trials", `{"trials":100001}`: "trials", `{"trials":1.5}`: "not understood",
		`{"trials":1,"scenarios":["three"]}`: "three", `{"trials":1,"scenarios":["one","one"]}`: "twice", `{"trials":1,"pace":-1}`: "pace", `{"trials":1,"pace":1e9}`: "pace",
		`{"trials":1,"seed":-1}`: "not understood", `{"trials":1,"more":1}`: "not understood", "": "not understood", "[]": "not understood", `{"trials":1} {"trials":1}`: "more than one",
		strings.Repeat("[", 9000): "not understood",
	} {
		status, text := page.act("/api/start", body)
		assert.Equal(t, http.StatusBadRequest, status, body)
		assert.Contains(t, text, want, body)
	}
	r := s.request("POST", "/api/start", one, func(r *http.Request) { r.Header.Set(pageHeader, strings.Repeat("x", 2*mostHeader)) })
	if status, err := send1(r); err == nil {
		assert.Equal(t, http.StatusRequestHeaderFieldsTooLarge, status)
	}
	assert.Zero(t, s.bench.started.Load())
}

func send1(r *http.Request) (int, error) {
	a, err := http.DefaultClient.Do(r)
	if err != nil {
		return 0, err
	}
	return a.StatusCode, a.Body.Close()
}

// TestTenThousandRequests floods the door from both sides of it, and stops the bench
// meanwhile.
func TestTenThousandRequests(t *testing.T) {
	s := stand(t, nil)
	page := s.look("")
	status, body := page.act("/api/start", one)
	require.Equal(t, http.StatusOK, status, body)
	<-s.bench.begun
	var mu sync.Mutex
	seen := map[int]int{}
	var senders sync.WaitGroup
	client := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: 16}}
	defer client.CloseIdleConnections()
	half := make(chan struct{})
	began := time.Now()
	for n := range 10 {
		senders.Go(func() {
			for i := range 1000 {
				r := s.request("POST", "/api/start", one, func(r *http.Request) {
					if n%2 == 0 {
						r.Header.Set("Authorization", fmt.Sprint("Bearer ", n, i))
					}
					r.Header.Set(pageHeader, page.secret)
				})
				a, err := client.Do(r)
				if err != nil {
					t.Error(err)
					return
				}
				_, _ = io.Copy(io.Discard, a.Body)
				_ = a.Body.Close()
				mu.Lock()
				seen[a.StatusCode]++
				mu.Unlock()
				if n == 0 && i == 500 {
					close(half)
				}
			}
		})
	}
	<-half
	status, _ = s.ask(s.request("POST", "/api/stop", "", nil))
	assert.Equal(t, http.StatusOK, status, "a stop comes through in the midst of it")
	<-s.bench.safe
	senders.Wait()
	assert.Equal(t, 10_000, seen[http.StatusTooManyRequests]+seen[http.StatusUnauthorized]+seen[http.StatusConflict]+seen[http.StatusOK], "%v", seen)
	took := int(time.Since(began).Seconds()) + 1 // on a slow machine more is let through
	assert.LessOrEqual(t, 10_000-seen[http.StatusTooManyRequests], atOnce+badAtOnce+took*(perSecond+badSecond), "%v", seen)
	assert.Positive(t, seen[http.StatusUnauthorized], "%v", seen)
	assert.LessOrEqual(t, seen[http.StatusUnauthorized], badAtOnce+took*badSecond, "%v", seen)
	assert.LessOrEqual(t, s.bench.started.Load(), int64(2), "only a page's own good start may have come in after the stop: %v", seen)
}

// TestSlowRequests opens many connections that say almost nothing. They are let go of,
// and the bench can be stopped meanwhile.
func TestSlowRequests(t *testing.T) {
	s := stand(t, nil, func(s *Server) {
		s.http.ReadHeaderTimeout, s.http.ReadTimeout = 300*time.Millisecond, 300*time.Millisecond
	})
	page := s.look("")
	status, body := page.act("/api/start", one)
	require.Equal(t, http.StatusOK, status, body)
	<-s.bench.begun
	head := "POST /api/start HTTP/1.1\r\nHost: " + s.host + "\r\nAuthorization: Bearer " + testToken + "\r\nOrigin: http://" + s.host + "\r\nContent-Type: application/json\r\n"
	var slow []net.Conn
	for i := range 200 {
		c, err := net.Dial("tcp", s.host)
		require.NoError(t, err)
		defer c.Close()
		text := head // for ever without an end
		if i%2 == 0 {
			text += "Pintle-Page: " + page.secret + "\r\nContent-Length: 60\r\n\r\n{\"tri" // a body that does not come
		}
		_, err = io.WriteString(c, text)
		require.NoError(t, err)
		slow = append(slow, c)
	}
	status, _ = s.ask(s.request("POST", "/api/stop", "", nil))
	assert.Equal(t, http.StatusOK, status)
	<-s.bench.safe
	for _, c := range slow {
		require.NoError(t, c.SetReadDeadline(time.Now().Add(10*time.Second)))
		_, err := io.Copy(io.Discard, c)
		require.NotErrorIs(t, err, os.ErrDeadlineExceeded, "the server closes it, without waiting for ever")
	}
	assert.EqualValues(t, 1, s.bench.started.Load())
}

func TestTheServersOwnTimesAreSet(t *testing.T) {
	h := New(stand(t, nil).house, Door{Token: testToken}, NewClock()).http
	for name, d := range map[string]time.Duration{"header": h.ReadHeaderTimeout, "read": h.ReadTimeout, "write": h.WriteTimeout, "idle": h.IdleTimeout} {
		assert.Positive(t, d, name)
		assert.LessOrEqual(t, d, time.Minute, name)
	}
	assert.Equal(t, mostHeader, h.MaxHeaderBytes)
}

// A deadlined notes by when what is written has to be taken.
type deadlined struct {
	*httptest.ResponseRecorder
	by []time.Time
}

func (d *deadlined) SetWriteDeadline(by time.Time) error { d.by = append(d.by, by); return nil }

// Whoever opens the page's stream and takes nothing from it is let go of: each event has
// its own time, however long the stream lives.
func TestAPageThatTakesNothingIsLetGo(t *testing.T) {
	d := &deadlined{ResponseRecorder: httptest.NewRecorder()}
	out := &sender{d, http.NewResponseController(d)}
	for range 2 {
		before := time.Now()
		require.NoError(t, out.event("state", []byte("{}")))
		by := d.by[len(d.by)-1]
		require.True(t, by.After(before) && by.Before(before.Add(2*writeLimit)), "%v", by.Sub(before))
	}
	require.Len(t, d.by, 2)
	require.LessOrEqual(t, writeLimit, 10*time.Second)
}

func TestAnEmptyTokenOpensNothing(t *testing.T) {
	r := httptest.NewRequest("GET", "/api/runs", nil)
	r.Header.Set("Authorization", "Bearer ")
	assert.False(t, newGuard(Door{}, NewClock()).has(r))
	r.Header.Set("Authorization", "Bearer x")
	assert.True(t, newGuard(Door{Token: "x"}, NewClock()).has(r))
}

func TestTheTurnstile(t *testing.T) {
	now := time.Unix(0, 0)
	g := turnstile{clock: func() time.Time { return now }, rate: 4, most: 20, left: 20}
	count := func() (n int) {
		for range 100 {
			if g.pass() {
				n++
			}
		}
		return n
	}
	assert.Equal(t, 20, count())
	now = now.Add(time.Second)
	assert.Equal(t, 4, count())
	now = now.Add(time.Hour)
	assert.Equal(t, 20, count(), "no more is saved up")
}

func TestLoopback(t *testing.T) {
	for _, h := range []string{"127.0.0.1", "127.9.9.9", "localhost", "::1", "[::1]"} {
		assert.True(t, Loopback(h), h)
	}
	for _, h := range []string{"", "0.0.0.0", "::", "192.168.1.20", "localhost.example", "127.0.0.1.example", "128.0.0.1"} {
		assert.False(t, Loopback(h), h)
	}
}
