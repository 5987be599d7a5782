package signal

import (
	"strings"
	"testing"
)

// Every line stands at its number, has a sentence, belongs to something, and is driven by the
// bench unless the controller drives it.
func TestLinesHaveSentences(t *testing.T) {
	for i, l := range Lines {
		if l.Line != Line(i+1) || !strings.HasSuffix(l.Means, ".") {
			t.Errorf("line %d is %v: %q", i+1, l.Line, l.Means)
		}
		if l.Of == 0 || l.Driven != (l.Of != OfDrive) {
			t.Errorf("%v is of %d; driven by the bench: %v", l.Line, l.Of, l.Driven)
		}
	}
}
