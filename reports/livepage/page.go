package livepage

import (
	"crypto/rand"
	"encoding/base64"
	"time"
)

// A page is one that looks.
type page struct {
	secret string
	number int
	woken  chan struct{}
	inks   []string // batches that wait
	marks  []mark
	lost   int // batches that were dropped as it was too slow
	gone   time.Time
	looks  bool // its stream is there
}

// mostWaiting is how many batches wait for a slow page: four seconds.
const mostWaiting = 128

// mostPages is how many may look at a time.
const mostPages = 24

// seatKept is for how long a page that has gone may come back to its number and seat.
const seatKept = 20 * time.Second

// enter lets a page in: as the one that it was, if it comes back with its secret soon.
// It is given all that is kept of the paper.
func (h *hub) enter(secret string) (*page, string, []mark, bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.sweep()
	p, known := h.pages[secret]
	if !known || p.looks {
		if len(h.pages) >= mostPages {
			return nil, "", nil, false
		}
		h.named++
		p = &page{secret: newSecret(), number: h.named, woken: make(chan struct{}, 1)}
		h.pages[p.secret] = p
	}
	p.looks, p.inks, p.marks, p.lost = true, nil, nil, 0
	h.changed()
	return p, base64.StdEncoding.EncodeToString(h.paper.whole().encode()), append([]mark{}, h.marks...), true
}

// leave says that a page's stream has ended.
func (h *hub) leave(p *page) {
	h.mu.Lock()
	defer h.mu.Unlock()
	p.looks, p.gone, p.inks = false, h.clock(), nil
	h.changed()
}

// sweep forgets pages that have not come back, and frees the seat. The lock is held.
func (h *hub) sweep() {
	for secret, p := range h.pages {
		if p.looks || h.clock().Sub(p.gone) < seatKept {
			continue
		}
		delete(h.pages, secret)
		if h.operator == p {
			h.operator = nil
		}
	}
}

// page finds a page that looks by its secret.
func (h *hub) page(secret string) (*page, bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.sweep()
	p, ok := h.pages[secret]
	return p, ok
}

// operate gives the controls to a page, or takes them from it. Taking over what another
// has is said by over.
func (h *hub) operate(p *page, wants, over bool) error {
	h.mu.Lock()
	defer h.mu.Unlock()
	switch {
	case !wants && h.operator == p:
		h.operator = nil
	case wants && (h.operator == nil || over):
		h.operator = p
	case wants && h.operator != p:
		return errNotYours
	}
	h.changed()
	return nil
}

// give lets a batch wait for a page. The lock is held.
func (p *page) give(ink string) {
	if !p.looks {
		return
	}
	if len(p.inks) >= mostWaiting {
		p.lost++
		return
	}
	p.inks = append(p.inks, ink)
	p.wake()
}

func (p *page) mark(m mark) {
	if p.looks && len(p.marks) < marksKept {
		p.marks = append(p.marks, m)
	}
}

func (p *page) wake() {
	select {
	case p.woken <- struct{}{}:
	default:
	}
}

// newSecret is 256 bits that nobody can guess.
func newSecret() string {
	b := make([]byte, 32)
	_, _ = rand.Read(b) // it never fails: crypto/rand
	return base64.RawURLEncoding.EncodeToString(b)
}
