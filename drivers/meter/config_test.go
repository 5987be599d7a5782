package meter

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig"
	"pintle/rig/signal"
)

func TestConfigUsual(t *testing.T) {
	for _, p := range Protocols() {
		c := Config{Port: "p", Protocol: p.Name}.Filled()
		assert.Equal(t, p.Baud, c.Baud)
		assert.Equal(t, p.Parity, c.Parity)
		assert.Equal(t, 8, c.DataBits)
		assert.Equal(t, 1, c.StopBits)
		require.NoError(t, config(p.Name).Check(), p.Name)
	}
	c := config("text").Filled()
	require.Equal(t, 8*ms, c.Window)
	require.Equal(t, 135*ms, c.Silence, "three intervals, the latency and 100 ms")
	require.Equal(t, rig.MeterFacts{Name: "text meter on /dev/ttyBench", Interval: 10 * ms, Window: 8 * ms, Most: 5 * ms,
		Resolution: 1000, Noise: 1000, Range: 30 * signal.Ampere}, c.Facts())
}

func TestConfigMistakes(t *testing.T) {
	for _, c := range []struct {
		protocol string
		set      func(*Config)
		want     string
	}{
		{"text", func(c *Config) { c.Port = "" }, "port is not given"},
		{"texd", nil, `protocol "texd" is none of text, scpi, modbus; did you mean text?`},
		{"", nil, `protocol "" is none of text, scpi, modbus`},
		{"text", func(c *Config) { c.Baud = -1 }, "-1 baud"},
		{"text", func(c *Config) { c.Parity = "evn" }, `parity "evn" is none of none, even, odd; did you mean even?`},
		{"text", func(c *Config) { c.DataBits = 9 }, "9 data bits"},
		{"text", func(c *Config) { c.StopBits = 3 }, "3 stop bits"},
		{"text", func(c *Config) { c.Interval = 0 }, "interval 0s"},
		{"text", func(c *Config) { c.Window = -1 }, "window -1ns"},
		{"text", func(c *Config) { c.Least = -1 }, "least latency -1ns"},
		{"text", func(c *Config) { c.Least = 6 * ms }, "most latency 5ms is shorter than the least, 6ms"},
		{"text", func(c *Config) { c.Resolution = 0 }, "resolution 0 A"},
		{"text", func(c *Config) { c.Noise = -1 }, "noise"},
		{"text", func(c *Config) { c.Range = 0 }, "range 0 A"},
		{"text", func(c *Config) { c.Silence = 9 * ms }, "silence 9ms is shorter than the interval, 10ms"},
		{"text", func(c *Config) { c.Stuck = 1 }, "two or more"},
		{"text", func(c *Config) { c.Stuck, c.Noise = 5, 999 }, "a steadier meter repeats itself"},
		{"text", func(c *Config) { c.Text.Unit = "V" }, `text unit "V"`},
		{"text", func(c *Config) { c.Baud = 5999 }, "most latency 5ms is shorter than the 5.0"},
		{"scpi", func(c *Config) { c.SCPI.Query = "READ" }, "no question mark"},
		{"scpi", func(c *Config) { c.SCPI.Query = "READ?\n" }, "characters"},
		{"scpi", func(c *Config) { c.SCPI.Setup = []string{"CONF?"} }, "taken for a reading"},
		{"scpi", func(c *Config) { c.SCPI.ErrorEvery = -1 }, "error-every"},
		{"scpi", func(c *Config) { c.Baud = 2000 }, "interval 50ms is shorter than the 65ms"},
		{"modbus", func(c *Config) { c.Modbus.Unit = 0 }, "unit 0 is outside 1 to 247"},
		{"modbus", func(c *Config) { c.Modbus.Unit = 248 }, "unit 248"},
		{"modbus", func(c *Config) { c.Modbus.Function = 6 }, "function 6"},
		{"modbus", func(c *Config) { c.Modbus.Type = "flaot32" }, "did you mean float32?"},
		{"modbus", func(c *Config) { c.Modbus.Register = 65536 }, "register 65536 is outside 0 to 65535"},
		{"modbus", func(c *Config) { c.Modbus.Register, c.Modbus.Type = 65535, "int32" }, "outside 0 to 65534"},
		{"modbus", func(c *Config) { c.Modbus.Step = -1 }, "inverted, not negative"},
		{"modbus", func(c *Config) { c.DataBits = 7 }, "8 data bits"},
	} {
		conf := config(c.protocol)
		if c.set != nil {
			c.set(&conf)
		}
		require.ErrorContains(t, conf.Check(), c.want)
	}
	many := Config{Protocol: "modbus", Modbus: ModbusOptions{Function: 9}}.Check()
	for _, what := range []string{"port", "interval", "resolution", "range", "unit 0", "function 9"} {
		require.ErrorContains(t, many, what, "all mistakes at once")
	}
}

// Times of whole characters, common tables of UART timing: 8N1 at 9600 baud takes
// 1.041667 ms, 8E1 1.145833 ms; a Modbus question of 8 bytes 9.166667 ms.
func TestOnWire(t *testing.T) {
	for _, c := range []struct {
		baud, bytes int
		parity      string
		want        time.Duration
	}{
		{9600, 1, "none", 1041666}, {9600, 1, "even", 1145833}, {9600, 8, "even", 9166666},
		{115200, 1, "none", 86805}, {115200, 1, "odd", 95486},
	} {
		conf := Config{Protocol: "text", Baud: c.baud, Parity: c.parity}.Filled()
		require.Equal(t, c.want, conf.onWire(c.bytes))
	}
}

func TestOpenHints(t *testing.T) {
	clock := func() signal.Instant { return 0 }
	c := config("text")
	c.Port = filepath.Join(t.TempDir(), "nothing")
	_, err := Open(c, clock)
	require.ErrorIs(t, err, os.ErrNotExist)
	for _, what := range []string{c.Port, "115200 baud", "parity none", "plugged in", "there"} {
		require.ErrorContains(t, err, what)
	}
	c.Port = filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(c.Port, nil, 0o600))
	_, err = Open(c, clock)
	require.ErrorContains(t, err, "no serial port")

	require.Contains(t, portHint(os.ErrPermission), "dialout")

	dev := t.TempDir()
	require.Contains(t, portsThere(dev), "no port")
	require.NoError(t, os.WriteFile(filepath.Join(dev, "ttyUSB0"), nil, 0o600))
	require.Contains(t, portsThere(dev), "ttyUSB0")

	_, err = Open(Config{Port: "/dev/ttyX"}, clock)
	require.ErrorContains(t, err, "/dev/ttyX")
	require.ErrorContains(t, err, "protocol")
}
