package derive_test

import (
	"time"

	"pintle/rig/derive"
	"pintle/rig/signal"
)

const ms = time.Millisecond

// boatyard is an invented lift-up barrier over a slipway, with an invented motor
// and bridge.
func boatyard() derive.Given {
	return derive.Given{
		Opening: derive.Direction{Time: 9 * time.Second, Slowest: 12 * time.Second, CoastTime: 140 * ms, CoastDistance: 0.008,
			Running: 11 * signal.Ampere, InrushPeak: 24 * signal.Ampere, InrushLength: 280 * ms},
		Closing: derive.Direction{Time: 7 * time.Second, Slowest: 9 * time.Second, CoastTime: 160 * ms, CoastDistance: 0.012,
			Running: 7_500_000, InrushPeak: 21 * signal.Ampere, InrushLength: 220 * ms},
		StallCold: 30 * signal.Ampere, WarmRise: 60, Battery: 12, BatteryLow: 11,
		Motor:  derive.Rating{Continuous: 12 * signal.Ampere, Short: 30 * signal.Ampere, Stands: 25 * time.Second},
		Bridge: derive.Rating{Continuous: 25 * signal.Ampere, Short: 50 * signal.Ampere, Stands: 8 * time.Second},
		Duty:   0.25, BridgeSwitching: 1 * ms, CurrentDecay: 2 * ms, RunDown: 400 * ms, ShortCircuit: 120 * signal.Ampere,
		Loop: 5 * ms, BeamDelay: 30 * ms,
		Sensors: []derive.Sensor{
			{Name: "open lever", Kind: derive.Lever, End: derive.AtOpen, Bounce: 6200 * time.Microsecond, Window: 0.03},
			{Name: "closed Hall", Kind: "hall", Contactless: true, End: derive.AtClosed, Delay: 100 * time.Microsecond, Window: 0.03,
				Arc: 0.012, WheelRadius: 0.06, RimSpeed: 0.4},
		},
	}
}
