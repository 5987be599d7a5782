package reports

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestTrouble(t *testing.T) {
	for told, want := range map[string][2]string{
		ToldTrouble("meter-silent", "no sample for 500ms: see its lead"): {"meter-silent", "no sample for 500ms: see its lead"},
		ToldTrouble("x", ""):             {"x", ""},
		"no code at all":                 {"", "no code at all"},
		"The port is gone. Cause: none.": {"", "The port is gone. Cause: none."},
		"":                               {"", ""},
	} {
		code, text := ReadTrouble(told)
		assert.Equal(t, want, [2]string{code, text}, told)
	}
}
