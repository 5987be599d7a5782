package meter

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"pintle/rig/signal"
)

// SCPIOptions are what the protocol "scpi" leaves open.
type SCPIOptions struct {
	Query      string        // what asks for a reading, in amperes; empty: MEAS:CURR?
	Setup      []string      // commands sent once, when the meter is opened
	ErrorEvery time.Duration // how often the error queue is asked while all goes well; 0: only after a trouble
}

// The figures that IEEE 488.2 instruments send in place of a reading, after
// SCPI-1999 volume 1, 7.2.1.4 and 7.2.1.5: 9.9E37 is infinity, 9.91E37 is not a
// number.
const (
	infinityDigits, infinityExp = 99, 36
	nanDigits, nanExp           = 991, 35
)

// deepest is how many errors are taken from the meter's queue at a time.
const deepest = 32

func fillSCPI(c *Config) {
	if c.SCPI.Query == "" {
		c.SCPI.Query = "MEAS:CURR?"
	}
}

func checkSCPI(c *Config) (errs []error) {
	if !strings.Contains(c.SCPI.Query, "?") {
		errs = append(errs, fmt.Errorf("scpi query %q asks for nothing: it has no question mark", c.SCPI.Query))
	}
	for _, s := range append([]string{c.SCPI.Query}, c.SCPI.Setup...) {
		if strings.ContainsFunc(s, func(r rune) bool { return r < ' ' || r > '~' }) {
			errs = append(errs, fmt.Errorf("scpi command %q has characters that a meter does not take", s))
		}
	}
	for _, s := range c.SCPI.Setup {
		if strings.Contains(s, "?") {
			errs = append(errs, fmt.Errorf("scpi set-up command %q is a question; its answer would be taken for a reading", s))
		}
	}
	if c.SCPI.ErrorEvery < 0 {
		errs = append(errs, fmt.Errorf("scpi error-every %v is negative", c.SCPI.ErrorEvery))
	}
	return errs
}

// parseSCPI reads one answer in IEEE 488.2 form: NR1, NR2 or NR3, in amperes.
func parseSCPI(line []byte) (signal.Current, fault) {
	d, b := scanSign(trim(line))
	if again, _ := scanSign(b); again.signed {
		return 0, fault{WrongSign, "two signs"}
	}
	if w, _ := takeWord(b); len(w) > 0 {
		return 0, wordFault(w)
	}
	b, ok := d.scan(b)
	if ok {
		b, ok = d.scanExponent(b)
	}
	switch w, _ := takeWord(trimLeft(b)); {
	case !ok:
		return 0, fault{Garbage, "not a number in IEEE 488.2 form"}
	case len(w) > 0:
		return 0, fault{WrongUnit, "a unit where a bare number is expected"}
	case len(b) > 0:
		return 0, fault{Garbage, "more after the number"}
	case d.is(nanDigits, nanExp):
		return 0, fault{NotANumber, "the meter sent 9.91E37, which is not a number"}
	case d.is(infinityDigits, infinityExp):
		return 0, fault{OverRange, "the meter sent 9.9E37, which is infinity"}
	}
	v, ok := d.times10(6)
	if !ok {
		return 0, fault{OverRange, "more than can be counted"}
	}
	return signal.Current(v), fault{}
}

// parseIdentity reads the answer to *IDN?: four fields, IEEE 488.2, 10.14.
func parseIdentity(line []byte) (string, error) {
	fields := strings.Split(string(trim(line)), ",")
	if len(fields) != 4 {
		return "", fmt.Errorf("asked *IDN?, answered %q: expected maker, model, serial number, firmware", clip(line))
	}
	for i := range fields {
		fields[i] = strings.TrimSpace(fields[i])
		if strings.ContainsFunc(fields[i], func(r rune) bool { return r < ' ' || r > '~' }) {
			return "", fmt.Errorf("asked *IDN?, answered %q: not plain text", clip(line))
		}
	}
	return strings.Join(fields, ", "), nil
}

// parseError reads one answer to SYST:ERR?: a number, and a text in quotes.
// SCPI-1999 volume 2, 21.8.
func parseError(line []byte) (number int, text string, ok bool) {
	n, t, found := bytes.Cut(trim(line), []byte(","))
	number, err := strconv.Atoi(string(trim(n)))
	t = trim(t)
	if !found || err != nil || len(t) < 2 || t[0] != '"' || t[len(t)-1] != '"' {
		return 0, "", false
	}
	return number, strings.ReplaceAll(string(t[1:len(t)-1]), `""`, `"`), true
}

// scpiReader asks for one reading after another.
type scpiReader struct {
	c       *Config
	pace    pace
	queued  []fault        // errors of the meter's own, still to be told
	suspect bool           // the last reading failed
	asked   signal.Instant // when the error queue was last asked
}

var errMute = errors.New("no answer")

func (s *scpiReader) greet(l *link) (string, error) {
	line, err := s.ask(l, "*IDN?")
	if err != nil {
		return "", fmt.Errorf("asked *IDN?: %w", err)
	}
	id, err := parseIdentity(line)
	if err != nil {
		return "", err
	}
	if _, err := s.errors(l); err != nil { // what happened before we came is no concern of ours
		return "", err
	}
	for _, command := range s.c.SCPI.Setup {
		if err := l.write(append([]byte(command), '\n')); err != nil {
			return "", err
		}
	}
	queue, err := s.errors(l)
	if err != nil {
		return "", err
	}
	if len(queue) > 0 {
		return "", fmt.Errorf("the meter does not take its set-up: %s", strings.Join(queue, "; "))
	}
	s.pace.start(l.clock(), s.c)
	s.asked = l.clock()
	return id, nil
}

// ask sends a question and waits for the line that answers it.
func (s *scpiReader) ask(l *link, question string) ([]byte, error) {
	if err := l.write(append([]byte(question), '\n')); err != nil {
		return nil, err
	}
	deadline := l.clock().Add(s.c.Silence)
	for {
		if line, ok := l.line(); ok {
			if len(trim(line)) > 0 {
				return line, nil
			}
			continue
		}
		n, err := l.more(deadline.Sub(l.clock()))
		if err != nil {
			return nil, err
		}
		if n == 0 || l.pending() > 4*longestLine {
			return nil, fmt.Errorf("%w within %v", errMute, s.c.Silence)
		}
	}
}

// errors empties the meter's error queue.
func (s *scpiReader) errors(l *link) (queue []string, err error) {
	for range deepest {
		line, err := s.ask(l, "SYST:ERR?")
		if err != nil {
			return queue, fmt.Errorf("asked SYST:ERR?: %w", err)
		}
		number, text, ok := parseError(line)
		if !ok {
			return queue, fmt.Errorf("asked SYST:ERR?, answered %q: expected a number and a text", clip(line))
		}
		if number == 0 {
			return queue, nil
		}
		queue = append(queue, fmt.Sprintf("%d %s", number, text))
	}
	return append(queue, "and more"), nil
}

func (s *scpiReader) next(l *link) (r reading, f fault, err error) {
	if err = s.look(l); err != nil {
		return r, f, err
	}
	if len(s.queued) > 0 {
		f, s.queued = s.queued[0], s.queued[1:]
		return r, f, nil
	}
	if f, err = s.pace.wait(l, 0); err == nil && f.none() {
		r, f, err = s.read(l)
	}
	s.suspect = !f.none()
	return r, f, err
}

func (s *scpiReader) read(l *link) (r reading, f fault, err error) {
	line, err := s.ask(l, s.c.SCPI.Query)
	switch {
	case errors.Is(err, errMute) && l.pending() > 0:
		return r, fault{PartialLine, "an answer has begun and does not end"}, nil
	case errors.Is(err, errMute):
		return r, fault{Silent, "asked for a reading, no answer"}, nil
	case err != nil:
		return r, f, err
	}
	r.arrival = l.arrival
	r.current, f = parseSCPI(line)
	return r, f, nil
}

// look asks the error queue after a trouble, and now and then without one. What
// the meter still had to say is let pass first, so that a late answer is not
// taken for the answer to the next question.
func (s *scpiReader) look(l *link) error {
	every := s.c.SCPI.ErrorEvery
	if !s.suspect && (every == 0 || l.clock().Sub(s.asked) < every) {
		return nil
	}
	if s.suspect {
		if err := l.drain(s.c.Silence); err != nil {
			return err
		}
	}
	queue, err := s.errors(l)
	for _, e := range queue {
		s.queued = append(s.queued, fault{ErrorQueue, e})
	}
	if errors.Is(err, errGone) {
		return err
	}
	if err != nil {
		// A meter that gives no sensible answer here is in trouble already; let it
		// finish, and ask again when the next reading fails.
		err = l.drain(s.c.Silence)
	}
	if s.suspect {
		s.pace.start(l.clock(), s.c)
	}
	s.suspect, s.asked = false, l.clock()
	return err
}

// scpiVoice speaks as a meter with an IEEE 488.2 command set of four commands.
type scpiVoice struct {
	c     *Config
	queue []string
}

func (*scpiVoice) Say(dst []byte, _ signal.Instant, _ signal.Current) []byte { return dst }

func (v *scpiVoice) Answer(dst, heard []byte, c signal.Current) ([]byte, int) {
	end := bytes.IndexByte(heard, '\n')
	if end < 0 {
		return dst, 0
	}
	command := strings.ToUpper(strings.TrimSpace(string(heard[:end])))
	switch command {
	case "*IDN?":
		dst = append(dst, "PINTLE,SPEAKER,0,0\n"...)
	case "*CLS":
		v.queue = nil
	case "SYST:ERR?", "SYSTEM:ERROR?":
		dst = append(v.pop(dst), '\n')
	case strings.ToUpper(v.c.SCPI.Query):
		dst = append(strconv.AppendFloat(dst, c.Amperes(), 'E', 11, 64), '\n')
	default:
		if !v.setup(command) {
			v.push(`-113,"Undefined header"`)
		}
	}
	return dst, end + 1
}

func (v *scpiVoice) setup(command string) bool {
	for _, s := range v.c.SCPI.Setup {
		if strings.EqualFold(s, command) {
			return true
		}
	}
	return false
}

// push adds an error; the last of a full queue says that it is full.
func (v *scpiVoice) push(e string) {
	if len(v.queue) == deepest/2 {
		v.queue[len(v.queue)-1] = `-350,"Queue overflow"`
		return
	}
	v.queue = append(v.queue, e)
}

func (v *scpiVoice) pop(dst []byte) []byte {
	if len(v.queue) == 0 {
		return append(dst, `0,"No error"`...)
	}
	dst = append(dst, v.queue[0]...)
	v.queue = v.queue[1:]
	return dst
}
