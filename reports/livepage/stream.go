package livepage

import (
	"encoding/json"
	"fmt"
	"net/http"
	"time"
)

// The stream's times.
const (
	stateEvery = 100 * time.Millisecond // no more than one state in so long
	beatEvery  = time.Second            // a sign of life
	writeLimit = 5 * time.Second        // a page that takes nothing for so long is let go of
)

// A sender writes server-sent events.
type sender struct {
	w  http.ResponseWriter
	rc *http.ResponseController
}

func (s *sender) event(name string, data []byte) error {
	if err := s.rc.SetWriteDeadline(deadline(writeLimit)); err != nil {
		return err
	}
	_, err := fmt.Fprintf(s.w, "event: %s\ndata: %s\n\n", name, data)
	return err
}

func (s *sender) json(name string, v any) error {
	text, err := json.Marshal(v)
	if err != nil {
		return err
	}
	return s.event(name, text)
}

// A hello is the first thing that a page is told.
type hello struct {
	Page      string     `json:"page"` // its secret, for acting
	Title     string     `json:"title"`
	Place     string     `json:"place"`
	Ctrl      string     `json:"controller"`
	Gate      string     `json:"gate"`
	Bench     string     `json:"bench"`
	AnyPace   bool       `json:"anyPace"`
	Pace      float64    `json:"pace"`
	Papers    []Paper    `json:"papers"`
	Lines     []lineInfo `json:"lines"`
	Scenarios []Scenario `json:"scenarios"`
	Warnings  []string   `json:"warnings"`
	Marks     []mark     `json:"marks"`
	Paper     string     `json:"paper"` // all that is kept, as a batch
	Tick      int        `json:"tick"`  // of the paper, in nanoseconds
}

type lineInfo struct {
	Number int    `json:"n"`
	Name   string `json:"name"`
	Made   string `json:"made"`
	Broken string `json:"broken"`
}

// stream serves a page until it goes, or is too slow, or the program ends.
func (s *Server) stream(w http.ResponseWriter, r *http.Request) {
	p, paper, marks, ok := s.hub.enter(r.Header.Get(pageHeader))
	if !ok {
		refuse(w, http.StatusServiceUnavailable, fmt.Sprintf("%d pages look already, and no more may", mostPages))
		return
	}
	defer s.hub.leave(p)
	w.Header().Set("Content-Type", "text/event-stream")
	out := &sender{w, http.NewResponseController(w)}
	_ = out.rc.SetReadDeadline(time.Time{}) // the request has been read, and its connection lives on
	if out.json("hello", s.hello(p, paper, marks)) != nil {
		return
	}
	_ = s.follow(r, p, out)
}

func (s *Server) hello(p *page, paper string, marks []mark) hello {
	h := s.house
	out := hello{Page: p.secret, Title: h.Title, Place: h.Place, Ctrl: h.Controller, Gate: h.Gate, Bench: h.Bench, AnyPace: h.AnyPace, Pace: h.Pace,
		Papers: h.Papers, Scenarios: h.Scenarios, Warnings: append([]string{}, h.Warnings...), Marks: marks, Paper: paper, Tick: tick}
	for _, l := range linesOf(h.Lines) {
		out.Lines = append(out.Lines, lineInfo{int(l.Line), l.Name, l.Made, l.Broken})
	}
	return out
}

// follow passes on what is new. A page is woken for ink at once, and for a state not
// more often than it can be read.
func (s *Server) follow(r *http.Request, p *page, out *sender) error {
	beat, stopBeat := ticks(beatEvery)
	defer stopBeat()
	states, stopStates := ticks(stateEvery)
	defer stopStates()
	stale := true
	for {
		select {
		case <-r.Context().Done():
			return r.Context().Err()
		case <-s.hub.closed:
			return out.event("bye", []byte("{}"))
		case <-beat:
			stale = true
		case <-states:
			if stale {
				stale = false
				if err := out.json("state", s.hub.state(p)); err != nil {
					return err
				}
			}
		case <-p.woken:
			stale = true
		}
		if err := s.passInk(p, out); err != nil {
			return err
		}
		if err := out.rc.Flush(); err != nil {
			return err
		}
	}
}

// passInk passes the ink that waits on, and says what was dropped.
func (s *Server) passInk(p *page, out *sender) error {
	s.hub.mu.Lock()
	inks, marks, lost := p.inks, p.marks, p.lost
	p.inks, p.marks, p.lost = nil, nil, 0
	s.hub.mu.Unlock()
	for _, m := range marks {
		if err := out.json("mark", m); err != nil {
			return err
		}
	}
	for _, ink := range inks {
		if err := out.event("ink", []byte(ink)); err != nil {
			return err
		}
	}
	if lost > 0 {
		return out.json("lost", lost)
	}
	return nil
}
