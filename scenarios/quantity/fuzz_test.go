package quantity

import (
	"testing"
	"unicode/utf8"

	"pintle/scenarios/yamlfile"
)

// Whatever the text, parsing ends, says the same twice, and points into the text.
func FuzzExpression(f *testing.F) {
	for _, seed := range []string{
		"120ms", "claim run-time cut-out + 3s", "2 * claim dead time", "(claim stall time * 1.5)", "40 %", "12.6 V", "3s+2s", "((((1))))", "1s / 0",
		"claim claim", "-3s", "µ", "0.00000000000000001s", "999999999999999999h * 999999999999999999", "dead time + 3 s", "3s ) (",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if !utf8.ValidString(text) {
			return // the decoder refuses such a file before any expression is read
		}
		for _, want := range []Dimension{Unknown, Number, Time, Current} {
			e, bad := ParseExpression(text, want)
			again, badAgain := ParseExpression(text, want)
			if (bad == nil) != (badAgain == nil) || bad != nil && *bad != *badAgain {
				t.Fatalf("%q: %v, then %v", text, bad, badAgain)
			}
			if bad != nil {
				inside(t, text, *bad)
				continue
			}
			v, bads := e.Evaluate(promises, promised)
			w, badsAgain := again.Evaluate(promises, promised)
			if len(bads) != len(badsAgain) || v.String() != w.String() {
				t.Fatalf("%q: %v %v, then %v %v", text, v, bads, w, badsAgain)
			}
			for _, b := range bads {
				inside(t, text, b)
			}
			for _, r := range e.Claims() {
				if r.Offset < 0 || r.Offset >= utf8.RuneCountInString(text) {
					t.Fatalf("%q: the claim %q stands at %d", text, r.Name, r.Offset)
				}
			}
		}
	})
}

func inside(t *testing.T, text string, p yamlfile.Problem) {
	t.Helper()
	if p.Offset < 0 || p.Offset > utf8.RuneCountInString(text) || p.Text == "" {
		t.Fatalf("%q: the problem %+v points outside", text, p)
	}
}
