package rule

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pintle/rig/motion"
	"pintle/rig/signal"
)

// No two facts share a bit, or one would be taken for the other.
func TestFactsHaveBitsOfTheirOwn(t *testing.T) {
	var used uint64
	for l := signal.NoLine + 1; l < signal.LineCount; l++ {
		assert.Zero(t, used&(1<<l), "%v", l)
		used |= 1 << l
	}
	for _, s := range []motion.State{motion.Stopped, motion.Opening, motion.Closing} {
		assert.Zero(t, used&motorWord(s), "%v", s)
		used |= motorWord(s)
	}
	assert.Zero(t, used>>thresholdBit)
	assert.Equal(t, motorBits, motorWord(motion.Stopped)|motorWord(motion.Opening)|motorWord(motion.Closing))
}
