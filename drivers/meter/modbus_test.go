package meter

import (
	"encoding/hex"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/signal"
)

func unhex(t testing.TB, s string) []byte {
	b, err := hex.DecodeString(strings.ReplaceAll(s, " ", ""))
	require.NoError(t, err)
	return b
}

// The first is the example of Modbus over Serial Line V1.02, appendix B; the one
// of nine digits is the check value that catalogues of CRCs give for this
// polynomial. The others were worked out with another program.
func TestCRC(t *testing.T) {
	require.Equal(t, uint16(0x1241), crc16([]byte{0x02, 0x07}))
	require.Equal(t, uint16(0x4B37), crc16([]byte("123456789")))
	require.Equal(t, uint16(0xCDC5), crc16(unhex(t, "01 03 00 00 00 0A")))
	for frame, wire := range map[string]string{
		"02 07":             "41 12",
		"01 03 00 00 00 0A": "C5 CD",
		"01 03 00 00 00 02": "C4 0B",
		"01 04 00 00 00 01": "31 CA",
		"11 03 00 6B 00 03": "76 87",
		"01 03 02 00 64":    "B9 AF",
	} {
		whole := appendCRC(unhex(t, frame))
		assert.Equal(t, unhex(t, frame+wire), whole)
		assert.True(t, goodCRC(whole))
	}
	assert.False(t, goodCRC(nil))
	assert.False(t, goodCRC([]byte{0xFF, 0xFF}), "two bytes hold nothing but the check sum")
}

// Modbus over Serial Line V1.02, 2.5.1.1: 3.5 characters of 11 bits, and 1.75 ms
// above 19200 baud.
func TestSilentInterval(t *testing.T) {
	for baud, want := range map[int]time.Duration{
		1200: 32083334, 9600: 4010417, 19200: 2005209, 19201: 1750000, 38400: 1750000, 115200: 1750000,
	} {
		assert.Equal(t, want, silentInterval(baud), "%d baud", baud)
	}
}

func TestRequest(t *testing.T) {
	c := Config{Protocol: "modbus", Modbus: ModbusOptions{Unit: 1}}.Filled()
	require.Equal(t, unhex(t, "01 04 00 00 00 01 31 CA"), c.Modbus.request())
	c.Modbus.Function, c.Modbus.Type = 3, "float32"
	require.Equal(t, unhex(t, "01 03 00 00 00 02 C4 0B"), c.Modbus.request())
	c.Modbus.Register = 0x1234
	require.Equal(t, unhex(t, "01 03 12 34 00 02"), c.Modbus.request()[:6])
}

// Floats are IEEE 754 single precision: 7.25 is 40E80000.
func TestParseModbus(t *testing.T) {
	for _, c := range []struct {
		kind  string
		low   bool
		data  string
		step  signal.Current
		want  signal.Current
		fault string
	}{
		{"int16", false, "00 64", 1000, 100_000, ""},
		{"int16", false, "FF 9C", 1000, -100_000, ""},
		{"int16", false, "7F FE", 1, 32766, ""},
		{"int16", false, "7F FF", 1, 0, OverRange},
		{"int16", false, "80 01", 1, -32767, ""},
		{"int16", false, "80 00", 1, 0, OverRange},
		{"uint16", false, "80 00", 10, 327680, ""},
		{"uint16", false, "00 00", 10, 0, ""},
		{"uint16", false, "FF FF", 10, 0, OverRange},
		{"int32", false, "00 01 00 02", 1, 65538, ""},
		{"int32", true, "00 02 00 01", 1, 65538, ""},
		{"int32", false, "FF FF FF FF", 1, -1, ""},
		{"int32", false, "80 00 00 00", 1, 0, OverRange},
		{"int32", false, "7F FF FF FF", 1, 0, OverRange},
		{"uint32", false, "FF FF FF FE", 1, 1<<32 - 2, ""},
		{"uint32", false, "FF FF FF FF", 1, 0, OverRange},
		{"float32", false, "40 E8 00 00", 1_000_000, 7_250_000, ""},
		{"float32", true, "00 00 40 E8", 1_000_000, 7_250_000, ""},
		{"float32", false, "C0 E8 00 00", 1000, -7250, ""},
		{"float32", false, "80 00 00 00", 1_000_000, 0, ""},
		{"float32", false, "7F C0 00 00", 1_000_000, 0, NotANumber},
		{"float32", false, "7F 80 00 00", 1_000_000, 0, OverRange},
		{"float32", false, "FF 80 00 00", 1_000_000, 0, OverRange},
		{"float32", false, "7F 7F FF FF", 1_000_000, 0, OverRange},
	} {
		o := &ModbusOptions{Unit: 17, Function: 3, Type: c.kind, LowFirst: c.low, Step: c.step}
		data := unhex(t, c.data)
		got, f := parseModbus(appendCRC(append([]byte{17, 3, byte(len(data))}, data...)), o)
		assert.Equalf(t, c.fault, f.code, "%s %s", c.kind, c.data)
		assert.Equalf(t, c.want, got, "%s %s", c.kind, c.data)
	}
}

func TestParseModbusTroubles(t *testing.T) {
	o := &ModbusOptions{Unit: 17, Function: 4, Type: "int16", Step: 1}
	for _, c := range []struct{ why, frame, code string }{
		{"illegal function", "11 84 01", Exception},
		{"illegal data address", "11 84 02", Exception},
		{"busy", "11 84 06", Exception},
		{"gateway", "11 84 0B", Exception},
		{"unknown", "11 84 55", Exception},
		{"exception to another function", "11 83 02", Garbage},
		{"another unit", "12 04 02 00 64", Garbage},
		{"another function", "11 03 02 00 64", Garbage},
		{"two registers for one", "11 04 04 00 64 00 64", Garbage},
		{"byte count that is not so", "11 04 04 00 64", Garbage},
		{"no registers", "11 04 00", Garbage},
	} {
		_, f := parseModbus(appendCRC(unhex(t, c.frame)), o)
		assert.Equalf(t, c.code, f.code, "%s: %s", c.why, f.detail)
	}
	_, f := parseModbus(unhex(t, "11 04 02 00"), o)
	assert.Equal(t, PartialLine, f.code)
	_, f = parseModbus(unhex(t, "11 04 02 00 64 00 00"), o)
	assert.Equal(t, BadCRC, f.code)
}

// Up to three wrong bits, or a burst of up to 16, cannot pass a CRC-16 of this
// polynomial in so short a frame.
func TestModbusFlippedBitsAreNoSample(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := drawModbus(t)
		v := modbusVoice{&o}
		frame, _ := v.Answer(nil, o.request(), drawCurrent(t))
		require.NotEmpty(t, frame)
		if n := rapid.IntRange(0, 3).Draw(t, "flips"); n > 0 {
			bits := rapid.SliceOfNDistinct(rapid.IntRange(0, 8*len(frame)-1), n, n, rapid.ID[int]).Draw(t, "bits")
			for _, b := range bits {
				frame[b/8] ^= 1 << (b % 8)
			}
		} else { // a burst within 16 bits, in the order of sending: low bit first
			at := rapid.IntRange(0, 8*len(frame)-16).Draw(t, "burst")
			pattern := rapid.IntRange(1, 1<<16-1).Draw(t, "pattern")
			for i := range 16 {
				frame[(at+i)/8] ^= byte(pattern>>i&1) << ((at + i) % 8)
			}
		}
		_, f := parseModbus(frame, &o)
		require.Equal(t, BadCRC, f.code)
	})
}

func drawCurrent(t *rapid.T) signal.Current {
	return signal.Current(rapid.Int64Range(-40_000_000, 40_000_000).Draw(t, "current"))
}

func drawModbus(t *rapid.T) ModbusOptions {
	kind := rapid.SampledFrom(modbusTypes).Draw(t, "type")
	return ModbusOptions{
		Unit: rapid.IntRange(1, 247).Draw(t, "unit"), Function: rapid.IntRange(3, 4).Draw(t, "function"),
		Register: rapid.IntRange(0, 1<<16-2).Draw(t, "register"), Type: kind.name,
		LowFirst: rapid.Bool().Draw(t, "low first"), Step: signal.Current(rapid.SampledFrom([]int64{1, 10, 1000, 1_000_000}).Draw(t, "step")),
	}
}

// Whatever currents the two sides exchange, the reading is the current rounded to
// the meter's step, or over range.
func TestModbusBothWays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o, c := drawModbus(t), drawCurrent(t)
		kind, _ := o.findType()
		frame, used := modbusVoice{&o}.Answer(nil, o.request(), c)
		require.Equal(t, requestSize, used)
		got, f := parseModbus(frame, &o)
		switch {
		case f.code == OverRange:
			require.False(t, kind.float)
			require.True(t, c <= signal.Current(kind.low+1)*o.Step || c >= signal.Current(kind.top-1)*o.Step)
		case kind.low == 0 && c < 0 && !kind.float:
			require.Zero(t, got, "an unsigned meter shows nothing of a negative current")
		case kind.float:
			require.Empty(t, f)
			require.InDelta(t, float64(c), float64(got), 1+float64(c.Abs())/(1<<24))
		default:
			require.Empty(t, f)
			require.LessOrEqual(t, (got - c).Abs(), o.Step/2)
		}
	})
}
