package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"time"

	"golang.org/x/term"
)

// progress tells on standard error how far a run has come: a line redrawn in
// place on a terminal, a plain line now and then elsewhere.
type progress struct {
	mu      sync.Mutex
	w       io.Writer
	live    bool
	began   time.Time
	told    time.Time
	done    int
	of      int
	present string
}

// every is how long to be quiet between two lines that are not redrawn.
const every = 10 * time.Second

func newProgress(w io.Writer, of int) *progress {
	f, ok := beneath(w).(*os.File)
	now := time.Now()
	return &progress{w: w, of: of, began: now, told: now, live: ok && term.IsTerminal(int(f.Fd()))}
}

// step says that one more trial is over.
func (p *progress) step(what string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.done++
	p.present = what
	now := time.Now()
	switch {
	case p.live && (now.Sub(p.told) > 50*time.Millisecond || p.done == p.of):
		fmt.Fprintf(p.w, "\r\x1b[K%s", p.line(now))
	case !p.live && now.Sub(p.told) > every:
		fmt.Fprintln(p.w, p.line(now))
	default:
		return
	}
	p.told = now
}

// end clears the line.
func (p *progress) end() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.live {
		fmt.Fprint(p.w, "\r\x1b[K")
	}
}

func (p *progress) line(now time.Time) string {
	const width = 24
	full := width * p.done / max(1, p.of)
	left := now.Sub(p.began) * time.Duration(p.of-p.done) / time.Duration(max(1, p.done))
	return fmt.Sprintf("%s%s %d of %d trials, %s left, %s", strings.Repeat("=", full), strings.Repeat("-", width-full),
		p.done, p.of, left.Round(time.Second), p.present)
}
