package meter

import (
	"strconv"
	"testing"

	"pintle/rig/signal"
)

// What it costs to read one message, beside strconv.ParseFloat on the bare number
// as a yardstick. None may allocate.
func BenchmarkParse(b *testing.B) {
	number := "+7.251"
	text, scpi := []byte("+7.251 A"), []byte("+7.25100000E+00")
	stamped := []byte("12.345678 s, +7.251 A")
	o := &ModbusOptions{Unit: 1, Function: 4, Type: "int32", Step: 1000}
	frame, _ := modbusVoice{o}.Answer(nil, o.request(), 7_251_000)
	var sink signal.Current
	b.Run("yardstick=ParseFloat", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			v, _ := strconv.ParseFloat(number, 64)
			sink += signal.Current(v * 1e6)
		}
	})
	for _, c := range []struct {
		name  string
		parse func() (signal.Current, fault)
	}{
		{"text", func() (signal.Current, fault) { r, f := parseText(text, &TextOptions{}); return r.current, f }},
		{"text with time", func() (signal.Current, fault) { r, f := parseText(stamped, &TextOptions{}); return r.current, f }},
		{"scpi", func() (signal.Current, fault) { return parseSCPI(scpi) }},
		{"modbus", func() (signal.Current, fault) { return parseModbus(frame, o) }},
	} {
		b.Run("protocol="+c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				v, f := c.parse()
				if !f.none() || v != 7_251_000 {
					b.Fatalf("%v, %s %s", v, f.code, f.detail)
				}
				sink += v
			}
		})
	}
}

func TestParsingDoesNotAllocate(t *testing.T) {
	o := &ModbusOptions{Unit: 1, Function: 4, Type: "int32", Step: 1000}
	frame, _ := modbusVoice{o}.Answer(nil, o.request(), 7_251_000)
	lines := [][]byte{[]byte("12.3 s; -7.251 mA"), []byte("-7.251E-3"), []byte("garbage"), []byte("OL")}
	if n := testing.AllocsPerRun(100, func() {
		for _, l := range lines {
			parseText(l, &TextOptions{})
			parseSCPI(l)
		}
		parseModbus(frame, o)
	}); n > 0 {
		t.Errorf("%v allocations", n)
	}
}
