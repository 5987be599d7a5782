package meter

import (
	"bytes"
	"fmt"
	"strconv"
	"unicode/utf8"

	"pintle/rig/signal"
)

// TextOptions are what the protocol "text" leaves open. The zero value takes
// every line that the grammar allows.
type TextOptions struct {
	Unit  string // of lines that name none: A, mA or uA; empty: a line must name its unit
	Sign  bool   // a line must carry a sign, so that a lost minus is noticed
	Stamp bool   // a line must carry the meter's time, so that a lost line is noticed
}

// longestLine is the longest line that any protocol takes, in bytes.
const longestLine = 128

// A unit is a word that a line may carry and the power of ten that brings a
// number in it to the base unit.
type unit struct {
	word  string
	shift int
}

// Micro has three spellings: u, U+00B5 and U+03BC; and U+00B5 alone in Latin-1.
var (
	currentUnits = []unit{{"A", 6}, {"mA", 3}, {"uA", 0}, {"µA", 0}, {"μA", 0}, {"\xb5A", 0}} // to microamperes
	timeUnits    = []unit{{"s", 9}, {"ms", 6}, {"us", 3}, {"µs", 3}, {"μs", 3}, {"\xb5s", 3}} // to nanoseconds
)

func findUnit[word string | []byte](units []unit, w word) (shift int, ok bool) {
	for _, u := range units {
		if string(w) == u.word {
			return u.shift, true
		}
	}
	return 0, false
}

func checkText(c *Config) (errs []error) {
	if u := c.Text.Unit; u != "" {
		if _, ok := findUnit(currentUnits, u); !ok {
			errs = append(errs, fmt.Errorf("text unit %q is none of A, mA, uA", u))
		}
	}
	return errs
}

// parseText reads one line, without its end, that is neither empty nor a comment.
func parseText(line []byte, o *TextOptions) (r reading, f fault) {
	b := trim(line)
	d, word, rest, f := field(b)
	if !f.none() {
		return r, f
	}
	if shift, ok := findUnit(timeUnits, word); ok {
		if r.stamp, ok = d.times10(shift); !ok || d.signed {
			return r, fault{Garbage, "a time that no meter can have"}
		}
		r.stamped = true
		if rest, ok = separator(rest); !ok {
			return r, fault{Garbage, "nothing between time and value"}
		}
		if d, word, rest, f = field(rest); !f.none() {
			return r, f
		}
	} else if o.Stamp {
		return r, fault{Garbage, "the meter's time is missing"}
	}
	r.current, f = amount(d, word, rest, o)
	return r, f
}

// field takes a number and the word after it.
func field(b []byte) (d decimal, word, rest []byte, f fault) {
	d, b = scanSign(b)
	if again, _ := scanSign(b); again.signed {
		return d, nil, b, fault{WrongSign, "two signs"}
	}
	if w, _ := takeWord(b); len(w) > 0 {
		return d, nil, b, wordFault(w)
	}
	b, ok := d.scan(b)
	if !ok {
		return d, nil, b, fault{Garbage, "no number where one is expected"}
	}
	word, rest = takeWord(trimLeft(b))
	return d, word, rest, fault{}
}

// wordFault tells what a word in the place of a number means.
func wordFault(w []byte) fault {
	switch {
	case bytes.EqualFold(w, []byte("OL")):
		return fault{OverRange, "the meter shows overload"}
	case bytes.EqualFold(w, []byte("NaN")):
		return fault{NotANumber, "the meter shows not-a-number"}
	}
	return fault{Garbage, "a word where a number is expected"}
}

// amount makes a current of a number, the word after it and what is left over.
func amount(d decimal, word, rest []byte, o *TextOptions) (signal.Current, fault) {
	if again, _ := scanSign(rest); again.signed {
		return 0, fault{WrongSign, "a sign after the number"}
	}
	if len(rest) > 0 {
		return 0, fault{Garbage, "more after the reading"}
	}
	shift, ok := findUnit(currentUnits, word)
	if len(word) == 0 {
		shift, ok = findUnit(currentUnits, o.Unit)
	}
	switch {
	case !ok && len(word) == 0:
		return 0, fault{WrongUnit, "no unit"}
	case !ok:
		return 0, fault{WrongUnit, "not a unit of current"}
	case o.Sign && !d.signed:
		return 0, fault{WrongSign, "the sign is missing"}
	}
	v, ok := d.times10(shift)
	if !ok {
		return 0, fault{OverRange, "more than can be counted"}
	}
	return signal.Current(v), fault{}
}

// takeWord takes letters and everything outside ASCII.
func takeWord(b []byte) (word, rest []byte) {
	n := 0
	for n < len(b) && (b[n]|0x20 >= 'a' && b[n]|0x20 <= 'z' || b[n] >= utf8.RuneSelf) {
		n++
	}
	return b[:n:n], b[n:]
}

// separator takes blanks with at most one comma or semicolon among them.
func separator(b []byte) (rest []byte, ok bool) {
	rest = trimLeft(b)
	if len(rest) > 0 && (rest[0] == ',' || rest[0] == ';') {
		rest = trimLeft(rest[1:])
	}
	return rest, len(rest) < len(b)
}

func blank(c byte) bool { return c == ' ' || c == '\t' }

func trimLeft(b []byte) []byte {
	for len(b) > 0 && blank(b[0]) {
		b = b[1:]
	}
	return b
}

func trim(b []byte) []byte {
	b = trimLeft(b)
	for len(b) > 0 && blank(b[len(b)-1]) {
		b = b[:len(b)-1]
	}
	return b
}

// comment says whether a line carries nothing.
func comment(line []byte) bool {
	b := trim(line)
	return len(b) == 0 || b[0] == '#'
}

// textReader takes the lines as they come.
type textReader struct {
	c    *Config
	last signal.Instant // when the last reading or complaint came
	skip bool           // up to the next line end: the line began before we listened
}

func (t *textReader) greet(l *link) (string, error) {
	t.skip, t.last = true, l.clock()
	return "plain text lines", nil
}

func (t *textReader) next(l *link) (reading, fault, error) {
	r, f, err := t.line(l)
	if err == nil {
		t.last = l.clock()
		r.arrival, r.streamed = l.arrival, true
	}
	return r, f, err
}

func (t *textReader) line(l *link) (r reading, f fault, err error) {
	for {
		line, ok := l.line()
		switch {
		case ok && t.skip:
			t.skip = false
		case len(line) > longestLine:
			return r, fault{Garbage, "a line that is too long"}, nil
		case ok && comment(line):
		case ok:
			r, f = parseText(line, &t.c.Text)
			return r, f, nil
		case l.pending() > longestLine:
			l.forget()
			if !t.skip {
				t.skip = true
				return r, fault{Garbage, "a line without an end"}, nil
			}
		default:
			n, err := l.more(t.last.Add(t.c.Silence).Sub(l.clock()))
			if err != nil {
				return r, f, err
			}
			if n == 0 {
				return r, t.nothing(l), nil
			}
		}
	}
}

// nothing says what it means that no more has come.
func (t *textReader) nothing(l *link) fault {
	if l.pending() == 0 || t.skip {
		return fault{Silent, "not one line"}
	}
	l.forget()
	t.skip = true
	return fault{PartialLine, "a line has begun and does not end"}
}

// textVoice speaks as a meter that sends lines by itself.
type textVoice struct{ c *Config }

func (v textVoice) Say(dst []byte, at signal.Instant, c signal.Current) []byte {
	if v.c.Text.Stamp {
		dst = appendFixed(dst, int64(at), 9)
		dst = append(dst, "s, "...)
	}
	if c >= 0 {
		dst = append(dst, '+')
	}
	switch v.c.Text.Unit {
	case "", "A":
		return append(appendFixed(dst, int64(c), 6), " A\r\n"...)
	case "mA":
		return append(appendFixed(dst, int64(c), 3), " mA\r\n"...)
	}
	return append(strconv.AppendInt(dst, int64(c), 10), " uA\r\n"...)
}

func (textVoice) Answer(dst, heard []byte, _ signal.Current) ([]byte, int) { return dst, len(heard) }

// appendFixed writes v / 10^places with all its places.
func appendFixed(dst []byte, v int64, places int) []byte {
	u := uint64(v)
	if v < 0 {
		dst, u = append(dst, '-'), -u
	}
	p := powers[places]
	dst = strconv.AppendUint(dst, u/p, 10)
	dst = append(dst, '.')
	for p /= 10; p > 0; p /= 10 {
		dst = append(dst, '0'+byte(u/p%10))
	}
	return dst
}
