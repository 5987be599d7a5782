package virtual

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/signal"
)

func TestDefaultConfigIsRight(t *testing.T) {
	require.NoError(t, DefaultConfig().Check())
	require.NoError(t, exact().Check())
}

// Each mistake alone is reported alone, by the name of its field.
func TestCheckNamesTheField(t *testing.T) {
	cases := []struct {
		field string
		spoil func(c *Config)
	}{
		{"Lines", func(c *Config) { c.Lines = signal.SetOf(signal.Remote) }},
		{"Lines", func(c *Config) { c.Lines |= 1 << 30 }},
		{"Lines", func(c *Config) { c.Lines |= 1 }},
		{"Motor.Resistance", func(c *Config) { c.Motor.Resistance = -1 }},
		{"Motor.Resistance", func(c *Config) { c.Motor.Resistance, c.Battery.Resistance = 0, 0 }},
		{"Motor.Inductance", func(c *Config) { c.Motor.Inductance = 0 }},
		{"Motor.Constant", func(c *Config) { c.Motor.Constant = math.NaN() }},
		{"Motor.Inertia", func(c *Config) { c.Motor.Inertia = math.Inf(1) }},
		{"Motor.Viscous", func(c *Config) { c.Motor.Viscous = -1e-9 }},
		{"Motor.OpeningLoad", func(c *Config) { c.Motor.OpeningLoad = -1 }},
		{"Motor.ClosingLoad", func(c *Config) { c.Motor.ClosingLoad = math.NaN() }},
		{"Battery.OpenCircuit", func(c *Config) { c.Battery.OpenCircuit, c.Controller.BrownOut = 0, math.Copysign(0, -1) }},
		{"Controller.BrownOut", func(c *Config) { c.Controller.BrownOut = 30 }},
		{"Controller.BrownOut", func(c *Config) { c.Controller.BrownOut = -1 }},
		{"Controller.HoldUp", func(c *Config) { c.Controller.HoldUp = -1 }},
		{"Controller.GlitchTime", func(c *Config) { c.Controller.GlitchTime = -1 }},
		{"Controller.ShortCurrent", func(c *Config) { c.Controller.ShortCurrent = -1 }},
		{"Controller.OpenCurrent", func(c *Config) { c.Controller.OpenCurrent = -1 }},
		{"Battery.Resistance", func(c *Config) { c.Battery.Resistance = -0.1 }},
		{"Battery.Dipped", func(c *Config) { c.Lines |= signal.SetOf(signal.SupplyDip); c.Battery.Dipped = -1 }},
		{"Battery.Sagging", func(c *Config) { c.Lines |= signal.SetOf(signal.SupplySag); c.Battery.Sagging = -1 }},
		{"Motor.Drag", func(c *Config) { c.Motor.Drag = -0.1 }},
		{"Motor.ShortResistance", func(c *Config) { c.Lines |= signal.SetOf(signal.MotorShort); c.Motor.ShortResistance = 0 }},
		{"Meter.Interval", func(c *Config) { c.Meter.Interval, c.Meter.Window = 0, 0 }},
		{"Meter.Window", func(c *Config) { c.Meter.Window = c.Meter.Interval + 1 }},
		{"Meter.Window", func(c *Config) { c.Meter.Window = -1 }},
		{"Meter.Latency", func(c *Config) { c.Meter.Latency = c.Meter.Spread + c.Meter.Jitter - 1 }},
		{"Meter.Spread", func(c *Config) { c.Meter.Spread = -1 }},
		{"Meter.Jitter", func(c *Config) { c.Meter.Jitter = -1 }},
		{"Meter.Noise", func(c *Config) { c.Meter.Noise = -1 }},
		{"Meter.Resolution", func(c *Config) { c.Meter.Resolution = 0 }},
		{"Meter.Range", func(c *Config) { c.Meter.Range = c.Meter.Resolution - 1 }},
		{"Meter.Latency", func(c *Config) {
			c.Meter.Interval, c.Meter.Window, c.Meter.Latency = 10*time.Microsecond, 0, 9*time.Second
		}},
		{"Controller.Loop", func(c *Config) { c.Controller.Loop, c.Controller.LoopJitter = 0, 0 }},
		{"Controller.LoopJitter", func(c *Config) { c.Controller.LoopJitter = c.Controller.Loop }},
		{"Controller.RunTime", func(c *Config) { c.Controller.RunTime = 0 }},
		{"Controller.StopDelay", func(c *Config) { c.Controller.StopDelay = -1 }},
		{"Controller.DeadTime", func(c *Config) { c.Controller.DeadTime = 2 * time.Hour }},
		{"Controller.StallCurrent", func(c *Config) { c.Controller.StallCurrent = 0 }},
		{"Controller.Defects[1]", func(c *Config) { c.Controller.Defects = []string{"no dead time", "no manners"} }},
	}
	var all Config
	for _, v := range cases {
		c := DefaultConfig()
		v.spoil(&c)
		err := c.Check()
		require.Errorf(t, err, v.field)
		for line := range strings.Lines(err.Error()) {
			assert.Truef(t, strings.HasPrefix(line, "virtual bench: "+v.field) ||
				v.field == "Lines" || strings.Contains(line, "Meter."), "%s: %s", v.field, line)
		}
		require.ErrorContains(t, err, v.field)
		_, err = New(c, 1)
		require.Error(t, err)
	}
	require.Greater(t, strings.Count(all.Check().Error(), "\n"), 8, "all mistakes at once")
}

func TestUnknownDefectListsTheKnown(t *testing.T) {
	c := DefaultConfig()
	c.Controller.Defects = []string{"no manners"}
	require.ErrorContains(t, c.Check(), `there is no defect "no manners"; there are: no run-time cut-out, `)
}
