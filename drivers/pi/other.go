//go:build !linux

package pi

import (
	"errors"
	"time"

	"pintle/drivers/pi/hands"
	"pintle/rig"
)

// A Config says what a bench is made from.
type Config struct {
	Name  string
	Hands hands.Config
	Meter rig.MeterFacts
	Lead  time.Duration
	Late  time.Duration
}

// New says that there is no such bench here.
func New(Config) (rig.Bench, rig.Facts, hands.Notice, error) {
	return nil, rig.Facts{}, hands.Notice{}, errors.New("the bench on a Pi needs Linux with its GPIO character device")
}
