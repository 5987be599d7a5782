package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Whatever a run leaves is of the whole run, and says all that its flag and the live page
// need.
func TestWhatARunLeavesIsSaidInFull(t *testing.T) {
	flags := runCommand(&app{}).Flags()
	offered := 0
	for _, f := range leavings() {
		l := f.left
		assert.NotEqual(t, ofTrial, f.of, "%s: a run is no trial", f.name)
		require.NotNil(t, flags.Lookup(l.flag), f.name)
		assert.Equal(t, "write "+l.means+" to `FILE`", flags.Lookup(l.flag).Usage)
		assert.NotEmpty(t, l.means, f.name)
		assert.Equal(t, l.media == "", l.ending == "", "%s: a file that the page offers has an ending and a media type", f.name)
		if l.media != "" {
			offered++
		}
	}
	assert.Len(t, papers(nil), offered)
	assert.NotContains(t, formNames(), certified.name, "pintle certify makes one, with its record")
}
