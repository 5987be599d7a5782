package speak

import (
	"fmt"
	"io"
	"sync"

	"pintle/drivers/meter"
	"pintle/rig/signal"
)

// A Speaker plays one meter on one line.
type Speaker struct {
	// Spoil, if set before the first word, bends every message on its way out: what
	// it gives is sent instead. It is for tests of what can go wrong.
	Spoil func(message []byte) []byte

	voice  meter.Voice
	rw     io.ReadWriter
	invert bool

	mu  sync.Mutex
	now signal.Current
	out []byte
}

// New makes a speaker of the configuration that the bench's meter has. Its Port
// does not matter here.
func New(c meter.Config, rw io.ReadWriter) (*Speaker, error) {
	if c.Port == "" {
		c.Port = "speaker"
	}
	voice, err := meter.VoiceOf(c)
	if err != nil {
		return nil, fmt.Errorf("speak %s: %w", c.Protocol, err)
	}
	return &Speaker{voice: voice, rw: rw, invert: c.Invert}, nil
}

// Say tells the speaker what current there is now.
func (s *Speaker) Say(at signal.Instant, c signal.Current) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.invert {
		c = -c
	}
	s.now = c
	s.out = s.voice.Say(s.out[:0], at, c)
	return s.send()
}

// Serve answers questions until the line ends, which is no error.
func (s *Speaker) Serve() error {
	var heard []byte
	buf := make([]byte, 256)
	for {
		n, err := s.rw.Read(buf)
		heard = append(heard, buf[:n]...)
		for used := -1; used != 0 && len(heard) > 0; heard = heard[used:] {
			var failed error
			if used, failed = s.answer(heard); failed != nil {
				return failed
			}
		}
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return fmt.Errorf("speak: read: %w", err)
		}
	}
}

func (s *Speaker) answer(heard []byte) (used int, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.out, used = s.voice.Answer(s.out[:0], heard, s.now)
	return used, s.send()
}

func (s *Speaker) send() error {
	out := s.out
	if s.Spoil != nil && len(out) > 0 {
		out = s.Spoil(out)
	}
	if len(out) == 0 {
		return nil
	}
	if _, err := s.rw.Write(out); err != nil {
		return fmt.Errorf("speak: write: %w", err)
	}
	return nil
}
