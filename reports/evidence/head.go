package evidence

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"pintle/reports"
	"pintle/reports/merkle"
	"pintle/reports/record"
)

const (
	formName = "pintle record "
	version  = 1
)

// A Head is what the signature of a record is of.
type Head struct {
	Format     string     `json:"format"` // "pintle record 1"
	Run        string     `json:"run"`
	Controller Controller `json:"controller"`
	Verdict    string     `json:"verdict"` // in a word
	Leaves     int        `json:"leaves"`  // lines of SHA256SUMS
	Root       string     `json:"root"`    // tree hash of these lines (RFC 9162), hexadecimal
	Sums       string     `json:"sums"`    // SHA-256 of SHA256SUMS, hexadecimal
}

// A Controller says which one was put to the test.
type Controller struct {
	Board    string `json:"board"`
	Maker    string `json:"maker"`
	Serial   string `json:"serial"`
	Firmware string `json:"firmware"`
	Digest   string `json:"firmwareDigest"`
}

// Comment is what the signature says in its trusted comment.
func (h Head) Comment() string { return "pintle record " + h.Run + " " + h.Root }

// headOf fills in what the run says.
func headOf(run *reports.Run) Head {
	c := run.Controller
	return Head{Format: formName + strconv.Itoa(version), Run: run.ID, Verdict: run.Verdict.String(),
		Controller: Controller{Board: c.Board, Maker: c.Maker, Serial: c.Serial, Firmware: c.Firmware, Digest: c.Digest}}
}

// readHead reads head.json. The form comes first, because a newer one may hold more.
func readHead(text []byte) (Head, error) {
	var h Head
	if err := readForm(text); err != nil {
		return h, err
	}
	if err := decode(headName, text, &h); err != nil {
		return h, err
	}
	for _, sum := range []string{h.Root, h.Sums} {
		if _, err := merkle.Parse(sum); err != nil {
			return h, fmt.Errorf("%s: %w: %w", headName, ErrForm, err)
		}
	}
	if h.Leaves < 1 {
		return h, fmt.Errorf("%s: %w: a record of %d entries", headName, ErrForm, h.Leaves)
	}
	return h, nil
}

// readForm tells a newer form from something else.
func readForm(text []byte) error {
	var form struct{ Format string }
	if err := json.Unmarshal(text, &form); err != nil {
		return fmt.Errorf("%s: %w: %w", headName, ErrForm, err)
	}
	digits, ok := strings.CutPrefix(form.Format, formName)
	n, err := strconv.Atoi(digits)
	switch {
	case !ok || err != nil || strconv.Itoa(n) != digits || n < 1:
		return fmt.Errorf("%w: its form is %q", ErrNotRecord, clip(form.Format))
	case n > version:
		return fmt.Errorf("%w: its form is %q, and this program reads %q", ErrNewer, form.Format, formName+strconv.Itoa(version))
	}
	return nil
}

// decode reads one value that is canonical JSON, without a field that this program
// does not know: writing it again gives the same bytes.
func decode(name string, text []byte, v any) error {
	if dense(text) {
		return fmt.Errorf("%s: %w: its %d bytes are nearly all brackets", name, ErrBomb, len(text))
	}
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(v); err != nil {
		return fmt.Errorf("%s: %w: %w", name, ErrForm, err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return fmt.Errorf("%s: %w: something follows its value", name, ErrForm)
	}
	again, err := record.Value(v)
	if err != nil {
		return fmt.Errorf("%s: %w: %w", name, ErrForm, err)
	}
	if !bytes.Equal(again, text) {
		return fmt.Errorf("%s: %w: it is not the canonical JSON of what it says", name, ErrForm)
	}
	return nil
}

// dense says that a text has more objects and nulls than it has letters to tell them
// with: a record names every field, so the least of its objects has 14. Read, each
// empty one may take up hundreds of bytes.
func dense(text []byte) bool {
	const letters, slack = 13, 64
	n, quoted := 0, false
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case c == '"':
			quoted = !quoted
		case quoted && c == '\\':
			i++
		case !quoted && (c == '{' || c == 'n'):
			n++
		}
	}
	return n > slack+len(text)/letters
}

// clip keeps a hostile text from filling a screen.
func clip(s string) string {
	if len(s) > 80 {
		return s[:80] + "..."
	}
	return s
}
