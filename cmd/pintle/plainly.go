package main

import (
	"io"
	"strings"
	"unicode/utf8"
)

// A plainly writes text for people to a terminal, or into a log, that has nothing but
// ASCII. What is for programs does not go through it.
type plainly struct {
	w    io.Writer
	rest []byte // the beginning of a character whose end is yet to come
}

// plain is how each sign that this program prints is written without it. What users
// bring, such as letters with accents, becomes a question mark.
var plain = strings.NewReplacer(
	"±", "+/-", "·", "*", "×", "x", "−", "-", "–", "-", "—", "-", "µ", "u", "μ", "u", "²", "^2", "³", "^3", "√", "sqrt ", "°", "deg", "Ω", "ohm",
	"≤", "<=", "≥", ">=", "≈", "~", "½", "1/2", "…", "...", "’", "'", "\u00a0", " ", "↑", "^", "↓", "v", "→", "->", "π", "pi", "τ", "tau", "ω", "omega", "θ", "theta", "φ", "phi", "α", "alpha", "δ", "delta", "∞", "inf",
)

// forPeople lets nothing through that the terminal's locale cannot show.
func forPeople(w io.Writer) io.Writer {
	if unicode() {
		return w
	}
	return &plainly{w: w}
}

// Write writes what is whole, and keeps the beginning of a character that is not.
func (p *plainly) Write(b []byte) (int, error) {
	text := append(p.rest, b...)
	whole := len(text)
	for n := 1; n <= min(utf8.UTFMax-1, len(text)); n++ {
		if tail := text[len(text)-n:]; utf8.RuneStart(tail[0]) {
			if !utf8.FullRune(tail) {
				whole = len(text) - n
			}
			break
		}
	}
	out := strings.Map(func(r rune) rune {
		if r < utf8.RuneSelf {
			return r
		}
		return '?'
	}, plain.Replace(string(text[:whole])))
	p.rest = append([]byte(nil), text[whole:]...)
	if _, err := io.WriteString(p.w, out); err != nil {
		return 0, err
	}
	return len(b), nil
}

// speller spells out what the writer's reader could not be shown. Who folds lines spells
// first, for what is spelled out is longer.
func speller(w io.Writer) func(string) string {
	for {
		switch on := w.(type) {
		case *plainly:
			return plain.Replace
		case *narrowly:
			w = on.w
		case *outlet:
			w = on.w
		default:
			return nil
		}
	}
}

// beneath is what a writer for people writes to in the end.
func beneath(w io.Writer) io.Writer {
	for {
		switch on := w.(type) {
		case *plainly:
			w = on.w
		case *narrowly:
			w = on.w
		case *outlet:
			w = on.w
		default:
			return w
		}
	}
}
