package signal

import (
	"strings"
	"testing"
)

// Every line stands at its number and has a sentence.
func TestLinesHaveSentences(t *testing.T) {
	for i, l := range Lines {
		if l.Line != Line(i+1) || !strings.HasSuffix(l.Means, ".") {
			t.Errorf("line %d is %v: %q", i+1, l.Line, l.Means)
		}
	}
}
