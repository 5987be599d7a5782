package main

import (
	"fmt"
	"io"
	"os"
	"pintle/rig/wording"
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

	lanes *lanes // of a bench in real time, at a terminal
	drawn int    // rows of them that are on the terminal
	quit  chan struct{}
	ended sync.WaitGroup
}

// every is how long to be quiet between two lines that are not redrawn.
const every = 10 * time.Second

func newProgress(w io.Writer, of int) *progress {
	f, ok := beneath(w).(*os.File)
	now := time.Now()
	return &progress{w: w, of: of, began: now, told: now, live: ok && term.IsTerminal(int(f.Fd())) && os.Getenv("TERM") != "dumb"}
}

// show draws the strip of the present trial above the line, several times a second. It
// draws in a goroutine of its own: whoever conducts must not wait for a terminal.
func (p *progress) show(l *lanes) {
	p.lanes, p.quit = l, make(chan struct{})
	p.ended.Go(func() {
		tick := time.NewTicker(redraw)
		defer tick.Stop()
		for {
			select {
			case <-tick.C:
				p.mu.Lock()
				p.draw(time.Now())
				p.mu.Unlock()
			case <-p.quit:
				return
			}
		}
	})
}

const redraw = 200 * time.Millisecond

// draw draws over what it drew last.
func (p *progress) draw(now time.Time) {
	var out strings.Builder
	p.wipe(&out)
	if p.lanes != nil {
		rows := p.lanes.rows(p.width())
		for _, row := range rows {
			out.WriteString(clipped(row, p.width()-1) + "\r\n")
		}
		p.drawn = len(rows)
	}
	out.WriteString(clipped(p.line(now), p.width()-1))
	fmt.Fprint(p.w, out.String())
}

// width is how wide the terminal is now. A line that is wider takes two rows, of which one
// would be left behind.
func (p *progress) width() int {
	if f, ok := beneath(p.w).(*os.File); ok {
		if wide, _, err := term.GetSize(int(f.Fd())); err == nil && wide > 1 {
			return wide
		}
	}
	return 80
}

// wipe takes away what is drawn.
func (p *progress) wipe(out *strings.Builder) {
	out.WriteString("\r")
	if p.drawn > 0 {
		fmt.Fprintf(out, "\x1b[%dA", p.drawn)
	}
	out.WriteString("\x1b[J")
	p.drawn = 0
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
		p.draw(now)
	case !p.live && now.Sub(p.told) > every:
		fmt.Fprintln(p.w, p.line(now))
	default:
		return
	}
	p.told = now
}

// end takes away what is drawn.
func (p *progress) end() {
	if p.quit != nil {
		close(p.quit)
		p.ended.Wait()
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.live {
		var out strings.Builder
		p.wipe(&out)
		fmt.Fprint(p.w, out.String())
	}
}

func (p *progress) line(now time.Time) string {
	const width = 24
	full := width * p.done / max(1, p.of)
	line := fmt.Sprintf("%s%s %d of %d trials", strings.Repeat("=", full), strings.Repeat("-", width-full), p.done, p.of)
	if p.done == 0 {
		return line // nothing is known yet of how long one takes
	}
	left := now.Sub(p.began).Seconds() * float64(p.of-p.done) / float64(p.done)
	return fmt.Sprintf("%s, %s left, %s", line, leftWords(left), p.present)
}

// leftWords tells so many seconds; of what nobody will see the end of, in years.
func leftWords(seconds float64) string {
	const year = 365.25 * 24 * 3600
	if seconds > year {
		return fmt.Sprintf("%.3g years", seconds/year)
	}
	return wording.Time(time.Duration(seconds * float64(time.Second)).Round(time.Second))
}
