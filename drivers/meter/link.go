package meter

import (
	"bytes"
	"errors"
	"fmt"
	"time"

	"pintle/rig/signal"
)

// errGone says that the port itself failed, and not what came through it.
var errGone = errors.New("port is gone")

// A link is the bytes from the meter, with the instant at which the latest of
// them arrived. A message is taken from it as soon as it is whole, so that its
// last byte is among the latest.
type link struct {
	port    Port
	clock   func() signal.Instant
	arrival signal.Instant
	said    []byte // the latest message, for complaints about it; valid until the next read
	buf     [1024]byte
	begin   int
	end     int
}

// more waits for bytes. None without an error means that none came in time.
func (l *link) more(within time.Duration) (int, error) {
	l.begin, l.end = 0, copy(l.buf[:], l.buf[l.begin:l.end])
	if err := l.port.SetReadTimeout(max(0, within)); err != nil {
		return 0, fmt.Errorf("%w: %w", errGone, err)
	}
	n, err := l.port.Read(l.buf[l.end:])
	if err != nil {
		return 0, fmt.Errorf("%w: %w", errGone, err)
	}
	if n > 0 {
		l.arrival = l.clock()
		l.end += n
	}
	return n, nil
}

func (l *link) write(b []byte) error {
	if _, err := l.port.Write(b); err != nil {
		return fmt.Errorf("%w: %w", errGone, err)
	}
	return nil
}

// rest is what has come and has not been taken.
func (l *link) rest() []byte { return l.buf[l.begin:l.end] }

func (l *link) pending() int { return l.end - l.begin }

// forget drops what has come, and keeps it only to complain about.
func (l *link) forget() {
	l.said = l.rest()
	l.begin = l.end
}

// take takes so many bytes.
func (l *link) take(n int) []byte {
	l.said = l.buf[l.begin : l.begin+n]
	l.begin += n
	return l.said
}

// line takes a line, without the CR or LF that ends it. CR LF gives an empty line
// more.
func (l *link) line() ([]byte, bool) {
	n := bytes.IndexAny(l.rest(), "\r\n")
	if n < 0 {
		return nil, false
	}
	b := l.take(n + 1)[:n]
	if n > 0 {
		l.said = b
	}
	return b, true
}

// drain drops what comes until nothing has come for a while. A line that is never
// quiet is given up after twenty times as long.
func (l *link) drain(quiet time.Duration) error {
	end := l.clock().Add(20 * quiet)
	for l.clock() < end {
		l.begin = l.end
		n, err := l.more(quiet)
		if err != nil || n == 0 {
			return err
		}
	}
	l.begin = l.end
	return nil
}

// A pace says when the next question is due.
type pace struct {
	interval time.Duration
	room     time.Duration // how late a question may come and still be made up for
	slot     signal.Instant
}

// start lets the time count from now on.
func (p *pace) start(now signal.Instant, c *Config) {
	p.slot, p.interval, p.room = now, c.Interval, c.Interval/2+c.Most-c.Least
}

// wait waits for the next question's turn, and at least until the line has been
// quiet for a while. Whatever comes unasked is not a reading: it may be the late
// answer to an older question. A question that is late within what is unsure about
// the latency anyway is asked at once, and the ones after it catch up.
func (p *pace) wait(l *link, quiet time.Duration) (fault, error) {
	p.slot = p.slot.Add(p.interval)
	now := l.clock()
	if late := now.Sub(p.slot); late > p.room {
		p.slot = now
		return fault{Lost, "the meter takes longer to answer than one interval"}, nil
	}
	for due := max(p.slot, l.arrival.Add(quiet)); ; now = l.clock() {
		if l.pending() > 0 {
			l.forget()
			return fault{Garbage, "the meter spoke without being asked"}, nil
		}
		if now >= due {
			return fault{}, nil
		}
		if _, err := l.more(due.Sub(now)); err != nil {
			return fault{}, err
		}
	}
}
