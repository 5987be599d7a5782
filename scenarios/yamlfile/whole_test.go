package yamlfile

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// A name that was cut short, or remembered in part, is met with the whole of it; where it may
// be a part of several nobody guesses.
func TestNearestOfAPart(t *testing.T) {
	right := []string{"rebound-off-the-stop", "stall-at-start", "stall-mid-travel", "power-up"}
	for wrong, want := range map[string]string{
		"rebound": "rebound-off-the-stop", "MID-TRAVEL": "stall-mid-travel", "off-the": "rebound-off-the-stop",
		"stall": "", "stop": "", "nothing": "",
	} {
		near, ok := Nearest(wrong, right)
		assert.Equal(t, want, near, wrong)
		assert.Equal(t, want != "", ok, wrong)
	}
}
