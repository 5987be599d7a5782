package quantity

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// One figure in every unit, worked out by hand.
func TestParseGood(t *testing.T) {
	for _, c := range []struct {
		text string
		of   Dimension
		base string // in the dimension's base unit
	}{
		{"0.5", Number, "1/2"}, {"40 %", Number, "2/5"}, {"40%", Number, "2/5"}, {"-3", Number, "-3"}, {"+3", Number, "3"}, {"007", Number, "7"},
		{"1ns", Time, "1"}, {"120us", Time, "120000"}, {"120µs", Time, "120000"}, {"120μs", Time, "120000"}, {"120ms", Time, "120000000"},
		{"120 ms", Time, "120000000"}, {"2.5s", Time, "2500000000"}, {"2min", Time, "120000000000"}, {"1h", Time, "3600000000000"}, {"-3s", Time, "-3000000000"},
		{"15A", Current, "15000000"}, {"20mA", Current, "20000"}, {"7 uA", Current, "7"}, {"0.0000005A", Current, "1/2"},
		{"12.6V", Voltage, "12600000"}, {"250mV", Voltage, "250000"}, {"3uV", Voltage, "3"},
		{"0.4ohm", Resistance, "2/5"}, {"0.4Ω", Resistance, "2/5"}, {"50mΩ", Resistance, "1/20"}, {"50mohm", Resistance, "1/20"},
		{"1.5mH", Inductance, "3/2000"}, {"8uH", Inductance, "1/125000"}, {"2H", Inductance, "2"},
		{"0.12Vs/rad", Constant, "3/25"}, {"80mVs/rad", Constant, "2/25"},
		{"0.002kgm2", Inertia, "1/500"}, {"6gm2", Inertia, "3/500"},
		{"1.5Nm", Torque, "3/2"}, {"40mNm", Torque, "1/25"},
		{"2mNms/rad", Friction, "1/500"}, {"5uNms/rad", Friction, "1/200000"}, {"1Nms/rad", Friction, "1"},
		{"3.2mm", Length, "2/625"}, {"12cm", Length, "3/25"}, {"4m", Length, "4"},
		{"85deg", Angle, "85"}, {"85°", Angle, "85"}, {"120kg", Mass, "120"}, {"25°C", Warmth, "25"}, {"-10degC", Warmth, "-10"},
		{"123456789012345678ns", Time, "123456789012345678"},
	} {
		v, bad := Parse(c.text, Unknown)
		if assert.Nil(t, bad, c.text) {
			assert.Equal(t, c.of, v.Of, c.text)
			assert.Equal(t, c.base, v.rat.RatString(), c.text)
		}
	}
}

func TestParseBad(t *testing.T) {
	for _, c := range []struct {
		text   string
		want   Dimension
		offset int
		says   string
		hint   string
	}{
		{"", Time, 0, `"" is not a figure`, "expected: a time in one of ns, us, ms, s, min, h, such as 120ms"},
		{"fast", Time, 0, `"fast" is not a figure`, "expected: a time in one of ns, us, ms, s, min, h, such as 120ms"},
		{".5s", Time, 0, `".5s" is not a figure`, "expected: a time in one of ns, us, ms, s, min, h, such as 120ms"},
		{"5.s", Time, 0, `"5.s" is not a figure`, "expected: a time in one of ns, us, ms, s, min, h, such as 120ms"},
		{"1.2.3s", Time, 0, `"1.2.3s" is not a figure`, "expected: a time in one of ns, us, ms, s, min, h, such as 120ms"},
		{"1,5s", Time, 1, "a figure has a point, not a comma", `did you mean "1.5s"?`},
		{"1e3ms", Time, 1, `unknown unit "e3ms"`, "expected: a time in one of ns, us, ms, s, min, h, such as 120ms"},
		{"120 msec", Time, 4, `unknown unit "msec"`, `did you mean "ms"?`},
		{"3 seconds", Time, 2, `unknown unit "seconds"`, `did you mean "s"?`},
		{"3S", Time, 1, `unknown unit "S"`, `did you mean "s"?`},
		{"15a", Current, 2, `unknown unit "a"`, `did you mean "A"?`},
		{"15 Amps", Current, 3, `unknown unit "Amps"`, "expected: a current in one of uA, mA, A, such as 15A"},
		{"1234567890123456789ns", Time, 0, `"1234567890123456789ns" is too long`, "expected: at most 18 digits"},
		{"--3s", Time, 0, `"--3s" is not a figure`, "expected: a time in one of ns, us, ms, s, min, h, such as 120ms"},
		{"٣s", Time, 0, `"٣s" is not a figure`, "expected: a time in one of ns, us, ms, s, min, h, such as 120ms"},
	} {
		_, bad := Parse(c.text, c.want)
		if assert.NotNil(t, bad, c.text) {
			assert.Equal(t, c.says, bad.Text, c.text)
			assert.Equal(t, c.hint, bad.Hint, c.text)
			assert.Equal(t, c.offset, bad.Offset, c.text)
		}
	}
}

// Half a base unit is rounded away from zero, and nothing else is rounded up.
func TestIntRounding(t *testing.T) {
	for text, want := range map[string]int64{
		"0.4ns": 0, "0.5ns": 1, "0.49999999ns": 0, "1.5ns": 2, "2.5ns": 3, "-0.5ns": -1, "-0.4ns": 0, "0.0000005A": 1, "0.0000004A": 0,
	} {
		v, bad := Parse(text, Unknown)
		require.Nil(t, bad, text)
		n, err := v.Int()
		require.NoError(t, err, text)
		assert.Equal(t, want, n, text)
	}
}

// The largest whole number of base units that fits, and the next one.
func TestIntRange(t *testing.T) {
	for text, fits := range map[string]bool{
		"9223372036.854775807s": true, "9223372036.854775808s": false,
		"-9223372036.854775808s": true, "-9223372036.854775809s": false,
	} {
		number, unit := text[:len(text)-1], text[len(text)-1:]
		whole, rest := number[:len(number)-10], "0"+number[len(number)-10:]
		if number[0] == '-' {
			rest = "-" + rest
		}
		a, bad := Parse(whole+unit, Time)
		require.Nil(t, bad, text)
		b, bad := Parse(rest+unit, Time)
		require.Nil(t, bad, text)
		_, err := a.plus(b).Int()
		assert.Equal(t, fits, err == nil, text)
	}
}

func (v Value) plus(o Value) Value {
	w := &worker{}
	return w.operate(&node{op: '+'}, v, o)
}

func TestString(t *testing.T) {
	for text, want := range map[string]string{
		"15s": "15s", "1500ms": "1.5s", "90s": "90s", "2min": "120s", "120000us": "120ms", "0.0005s": "500us", "0s": "0ns",
		"150000mA": "150A", "40 %": "0.4", "2": "2", "12600mV": "12.6V", "0.05ohm": "50mohm", "-3s": "-3s", "3.2mm": "3.2mm",
	} {
		v, bad := Parse(text, Unknown)
		require.Nil(t, bad, text)
		assert.Equal(t, want, v.String(), text)
	}
}

func TestFloatIsInSIUnits(t *testing.T) {
	for text, want := range map[string]float64{
		"120ms": 0.12, "15A": 15, "12.6V": 12.6, "40 %": 0.4, "50mohm": 0.05, "1.2mH": 0.0012, "0.0006kgm2": 0.0006,
	} {
		v, bad := Parse(text, Unknown)
		require.Nil(t, bad, text)
		assert.Equal(t, want, v.Float(), text)
	}
}
