package livepage

import (
	"crypto/sha256"
	"crypto/subtle"
	"net"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"
)

// A Door says who may come in. Behind it stands a bench with a motor.
type Door struct {
	Token string // whoever has it may look, and act from a page
	// Hosts are the names and ports under which the page is asked for, such as
	// 127.0.0.1:4117. A page that was led here under another name, by somebody's name
	// server, is refused.
	Hosts []string
	TLS   bool
}

// The bounds of what is taken in.
const (
	mostBody   = 16 << 10
	mostHeader = 16 << 10
	perSecond  = 40 // requests of those who have the token; a stop does not count
	atOnce     = 120
	badSecond  = 4 // and of all others together
	badAtOnce  = 20
)

const (
	pageHeader = "Pintle-Page"
	turnHeader = "Pintle-Turn"
	policy     = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; " +
		"base-uri 'none'; form-action 'none'; frame-ancestors 'none'; require-trusted-types-for 'script'; trusted-types 'none'"
)

// armour sets what every answer carries.
func armour(h http.Header) {
	h.Set("Content-Security-Policy", policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("X-Frame-Options", "DENY")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=(), usb=(), serial=()")
	h.Set("Cache-Control", "no-store")
}

// guard is the door with its turnstiles.
type guard struct {
	Door
	good, bad turnstile
}

func newGuard(d Door, clock Clock) *guard {
	return &guard{d, turnstile{clock: clock, rate: perSecond, most: atOnce, left: atOnce}, turnstile{clock: clock, rate: badSecond, most: badAtOnce, left: badAtOnce}}
}

// open lets only requests in that ask for this very server: anything else is somebody's
// name server leading a browser here.
func (g *guard) open(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		armour(w.Header())
		if !slices.Contains(g.Hosts, strings.ToLower(r.Host)) {
			refuse(w, http.StatusMisdirectedRequest, "this page is not to be had under that name")
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, mostBody)
		next.ServeHTTP(w, r)
	})
}

// watching lets those in who have the token.
func (g *guard) watching(next http.HandlerFunc) http.HandlerFunc {
	return g.known(true, func(w http.ResponseWriter, r *http.Request) {
		if !g.own(r, false) {
			refuse(w, http.StatusForbidden, "another page may not ask for this")
			return
		}
		next(w, r)
	})
}

// acting lets those in who have the token, and ask from a page of this very server. A
// stop is not counted: however much is asked, it comes through.
func (g *guard) acting(counted bool, next http.HandlerFunc) http.HandlerFunc {
	return g.known(counted, func(w http.ResponseWriter, r *http.Request) {
		switch {
		case !g.own(r, true):
			refuse(w, http.StatusForbidden, "another page may not do this")
		case r.Header.Get("Content-Type") != "application/json":
			refuse(w, http.StatusUnsupportedMediaType, "JSON is wanted")
		default:
			next(w, r)
		}
	})
}

// known lets those in who have the token, and not too often.
func (g *guard) known(counted bool, next http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		switch {
		case !g.has(r):
			if !g.bad.pass() {
				tooMuch(w)
				return
			}
			w.Header().Set("WWW-Authenticate", `Bearer realm="pintle"`)
			refuse(w, http.StatusUnauthorized, "open the page by the address that pintle serve printed")
		case counted && !g.good.pass():
			tooMuch(w)
		default:
			next(w, r)
		}
	}
}

func tooMuch(w http.ResponseWriter) {
	w.Header().Set("Retry-After", "1")
	refuse(w, http.StatusTooManyRequests, "too much is asked at a time")
}

// has compares the token without telling by its time how much of it was right.
func (g *guard) has(r *http.Request) bool {
	given, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
	a, b := sha256.Sum256([]byte(given)), sha256.Sum256([]byte(g.Token))
	return ok && g.Token != "" && subtle.ConstantTimeCompare(a[:], b[:]) == 1
}

// own says that a request comes from a page of this server, as far as the browser says.
// One that acts must say.
func (g *guard) own(r *http.Request, must bool) bool {
	if site := r.Header.Get("Sec-Fetch-Site"); site != "" && site != "same-origin" {
		return false
	}
	origin := r.Header.Get("Origin")
	scheme := "http://"
	if g.TLS {
		scheme = "https://"
	}
	return origin == scheme+r.Host || origin == "" && !must
}

// A turnstile lets so many through in a second.
type turnstile struct {
	mu         sync.Mutex
	clock      Clock
	rate, most float64
	left       float64
	at         time.Time
}

func (t *turnstile) pass() bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	now := t.clock()
	if !t.at.IsZero() {
		t.left = min(t.most, t.left+float64(now.Sub(t.at).Seconds()*t.rate))
	}
	t.at = now
	if t.left < 1 {
		return false
	}
	t.left--
	return true
}

// Loopback says that an address is of this machine alone.
func Loopback(host string) bool {
	if host == "localhost" {
		return true
	}
	ip := net.ParseIP(strings.Trim(host, "[]"))
	return ip != nil && ip.IsLoopback()
}
