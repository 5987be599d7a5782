package condition

import (
	"reflect"
	"testing"
	"unicode/utf8"
)

// Whatever the text, parsing ends, says the same twice, and points into the text.
func FuzzCondition(f *testing.F) {
	for _, seed := range []string{
		"motor closing", "closed-limit makes", "not (remote pressed and motor moving) or beam clear", "current above claim stall current * 1.5",
		"remote is pressed or second-remote is pressed", "supply is on", "current rises above (12A", "((((motor stops))))", "hall-travel no magnet",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if !utf8.ValidString(text) {
			return // the decoder refuses such a file before any condition is read
		}
		c, bad := read(text)
		again, badAgain := read(text)
		if !reflect.DeepEqual(c, again) || !reflect.DeepEqual(bad, badAgain) {
			t.Fatalf("%q: %v %v, then %v %v", text, c, bad, again, badAgain)
		}
		for _, p := range bad {
			if p.Offset < 0 || p.Offset > utf8.RuneCountInString(text) || p.Text == "" {
				t.Fatalf("%q: the problem %+v points outside", text, p)
			}
		}
		if bad == nil && c.IsZero() {
			t.Fatalf("%q: neither a condition nor a mistake", text)
		}
	})
}
