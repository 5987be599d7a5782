package livepage

import (
	"context"
	"embed"
	"encoding/json"
	"errors"
	"io"
	"log"
	"net"
	"net/http"
	"strconv"
	"time"

	"pintle/rig/signal"
)

// A Server serves the page.
type Server struct {
	house *House
	hub   *hub
	guard *guard
	http  *http.Server
	desk  chan struct{} // holds one for each paper that is being written
}

//go:embed page
var files embed.FS

// static are the page's own files.
var static = map[string]string{
	"/":         "text/html; charset=utf-8",
	"/page.css": "text/css; charset=utf-8",
	"/page.js":  "text/javascript; charset=utf-8",
	"/paper.js": "text/javascript; charset=utf-8",
	"/strip.js": "text/javascript; charset=utf-8",
	"/wire.js":  "text/javascript; charset=utf-8",
	"/past.js":  "text/javascript; charset=utf-8",
	"/icon.svg": "image/svg+xml",
}

// The times that a request may take. A stream sets its own as it goes.
const (
	headerLimit  = 5 * time.Second
	readLimit    = 10 * time.Second
	answerLimit  = 30 * time.Second
	idleLimit    = 60 * time.Second
	closingLimit = 3 * time.Second
)

// New makes a server. Nothing is served until Serve.
func New(h *House, d Door, clock Clock) *Server {
	s := &Server{house: h, hub: newHub(h, clock), guard: newGuard(d, clock), desk: make(chan struct{}, papersAtOnce)}
	s.http = &http.Server{Handler: s.routes(), ReadHeaderTimeout: headerLimit, ReadTimeout: readLimit, WriteTimeout: answerLimit, IdleTimeout: idleLimit,
		MaxHeaderBytes: mostHeader, ErrorLog: log.New(io.Discard, "", 0)}
	return s
}

func (s *Server) routes() http.Handler {
	mux := http.NewServeMux()
	for path, kind := range static {
		mux.HandleFunc("GET "+path+end(path), s.file(path, kind))
	}
	g := s.guard
	mux.HandleFunc("GET /api/stream", g.watching(s.stream))
	mux.HandleFunc("GET /api/runs", g.watching(s.runs))
	mux.HandleFunc("GET /api/run", g.watching(s.byTurns(s.one)))
	mux.HandleFunc("GET /api/chart", g.watching(s.byTurns(s.chart)))
	mux.HandleFunc("GET /api/compare", g.watching(s.byTurns(s.compare)))
	mux.HandleFunc("GET /api/picture", g.watching(s.byTurns(s.picture)))
	for _, p := range s.house.Papers {
		mux.HandleFunc("GET /api/"+p.Name, g.watching(s.byTurns(s.paper(p))))
	}
	mux.HandleFunc("POST /api/start", g.acting(true, s.start))
	mux.HandleFunc("POST /api/operate", g.acting(true, s.operate))
	mux.HandleFunc("POST /api/stop", g.acting(false, s.stop))
	return g.open(mux)
}

// papersAtOnce is how many papers are written at a time: they take a processor and much
// memory each, and the conductor of a run under way needs both.
const papersAtOnce = 2

// byTurns lets a paper wait until others are written.
func (s *Server) byTurns(next http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		select {
		case s.desk <- struct{}{}:
		case <-r.Context().Done():
			return
		}
		defer func() { <-s.desk }()
		_ = http.NewResponseController(w).SetWriteDeadline(deadline(answerLimit)) // its time begins here
		next(w, r)
	}
}

// end makes a pattern of exactly this path.
func end(path string) string {
	if path == "/" {
		return "{$}"
	}
	return ""
}

func (s *Server) file(path, kind string) http.HandlerFunc {
	name := "page" + path
	if path == "/" {
		name = "page/page.html"
	}
	text, err := files.ReadFile(name)
	return func(w http.ResponseWriter, _ *http.Request) {
		if err != nil {
			refuse(w, http.StatusInternalServerError, err.Error())
			return
		}
		w.Header().Set("Content-Type", kind)
		_, _ = w.Write(text)
	}
}

// Serve serves until the context is done; then whatever is performed is stopped, the
// bench is safe, and the pages are told.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	stopped := make(chan struct{})
	defer context.AfterFunc(ctx, func() {
		defer close(stopped)
		s.hub.close()
		late, cancel := context.WithTimeout(context.Background(), closingLimit)
		defer cancel()
		if s.http.Shutdown(late) != nil {
			_ = s.http.Close()
		}
	})()
	err := s.http.Serve(l)
	if errors.Is(err, http.ErrServerClosed) {
		<-stopped
		return nil
	}
	s.hub.close()
	return err
}

// refusal is what an answer says that is none.
type refusal struct {
	Error string `json:"error"`
}

func refuse(w http.ResponseWriter, status int, why string) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(refusal{why})
}

func answer(w http.ResponseWriter, v any) {
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(v)
}

// read takes a body in, and nothing that is not asked for.
func read(w http.ResponseWriter, r *http.Request, v any) bool {
	d := json.NewDecoder(r.Body)
	d.DisallowUnknownFields()
	err := d.Decode(v)
	var big *http.MaxBytesError
	switch {
	case errors.As(err, &big):
		refuse(w, http.StatusRequestEntityTooLarge, "that is too much")
	case err != nil:
		refuse(w, http.StatusBadRequest, "this is not understood: "+err.Error())
	case d.More():
		refuse(w, http.StatusBadRequest, "there is more than one value")
	default:
		return true
	}
	return false
}

// asks finds the page that asks.
func (s *Server) asks(w http.ResponseWriter, r *http.Request) (*page, bool) {
	p, ok := s.hub.page(r.Header.Get(pageHeader))
	if !ok {
		refuse(w, http.StatusForbidden, "only a page that is connected may do this")
	}
	return p, ok
}

func (s *Server) start(w http.ResponseWriter, r *http.Request) {
	p, ok := s.asks(w, r)
	if !ok {
		return
	}
	var c Choice
	if !read(w, r, &c) {
		return
	}
	if !s.house.AnyPace {
		c.Pace = 1
	}
	turn, err := strconv.ParseUint(r.Header.Get(turnHeader), 10, 64)
	if err != nil {
		refuse(w, http.StatusBadRequest, "a start says at which turn it is asked for")
		return
	}
	done(w, s.hub.start(p, c, turn))
}

func (s *Server) operate(w http.ResponseWriter, r *http.Request) {
	p, ok := s.asks(w, r)
	if !ok {
		return
	}
	var wish struct{ Operate, Over bool }
	if read(w, r, &wish) {
		done(w, s.hub.operate(p, wish.Operate, wish.Over))
	}
}

// stop stops whatever is performed. It asks for no seat and no page.
func (s *Server) stop(w http.ResponseWriter, _ *http.Request) { done(w, s.hub.stop()) }

func done(w http.ResponseWriter, err error) {
	switch {
	case err == nil:
		answer(w, struct{}{})
	case errors.Is(err, errBusy), errors.Is(err, errNotYours), errors.Is(err, errIdle), errors.Is(err, errClosing), errors.Is(err, errStale):
		refuse(w, http.StatusConflict, err.Error())
	default:
		refuse(w, http.StatusBadRequest, err.Error())
	}
}

func linesOf(set signal.LineSet) (all []signal.LineInfo) {
	for _, l := range signal.Lines {
		if set.Has(l.Line) && l.Line != signal.Heartbeat {
			all = append(all, l)
		}
	}
	return all
}
