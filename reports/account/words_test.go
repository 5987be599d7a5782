package account

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// An instant is told in UTC wherever the reader is, also across a change of the clocks and
// of the date: two readers of one certificate read the same.
func TestInstantsAreToldInUTC(t *testing.T) {
	at := time.Date(2031, 4, 9, 23, 30, 0, 0, time.UTC)
	for _, there := range []*time.Location{time.UTC, time.FixedZone("far east", 13*3600), time.FixedZone("west", -9*3600-1800)} {
		assert.Equal(t, "2031-04-09 23:30:00 UTC", Instant(at.In(there)))
	}
}
