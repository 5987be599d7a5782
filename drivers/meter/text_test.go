package meter

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pintle/rig/signal"
)

func TestParseText(t *testing.T) {
	for _, c := range []struct {
		line string
		want signal.Current
	}{
		{"7.251 A", 7_251_000},
		{"+7.251 A", 7_251_000},
		{"-7.251A", -7_251_000},
		{"-80 mA", -80_000},
		{"80.5mA", 80_500},
		{"12345 uA", 12345},
		{"12345 µA", 12345},
		{"12345 μA", 12345},
		{"12345 \xb5A", 12345},
		{"0 A", 0},
		{"-0.000 A", 0},
		{"000012.5 A", 12_500_000},
		{" \t 1 A \t", 1_000_000},
		{"0.000001 A", 1},
		{"0.0000005 A", 1}, // half a microampere: away from zero
		{"-0.0000005 A", -1},
		{"0.00000049999999999999999999999 A", 0},
		{"0.4999999999 uA", 0},
		{"1.0000000000000000000000000000 A", 1_000_000},
		{"9223372036854 A", 9_223_372_036_854_000_000},
		{"12.345 s; 0.004 A", 4000},
		{"12.345s,-1 A", -1_000_000},
		{"0ms 1 A", 1_000_000},
		{"5 µs\t1 A", 1_000_000},
	} {
		r, f := parseText([]byte(c.line), &TextOptions{})
		assert.Emptyf(t, f, "%q", c.line)
		assert.Equalf(t, c.want, r.current, "%q", c.line)
	}
}

func TestParseTextTime(t *testing.T) {
	for line, want := range map[string]int64{
		"1 s 1 A": 1_000_000_000, "1.5ms, 1 A": 1_500_000, "7 us 1 A": 7000, "0.000000001 s 1 A": 1,
	} {
		r, f := parseText([]byte(line), &TextOptions{Stamp: true})
		assert.Emptyf(t, f, "%q", line)
		assert.Truef(t, r.stamped, "%q", line)
		assert.Equalf(t, want, r.stamp, "%q", line)
	}
}

func TestParseTextTroubles(t *testing.T) {
	signed, stamped, plain := TextOptions{Sign: true}, TextOptions{Stamp: true}, TextOptions{}
	for _, c := range []struct {
		line string
		o    TextOptions
		code string
	}{
		{"7.251", plain, WrongUnit},
		{"7.251 V", plain, WrongUnit},
		{"7.251 a", plain, WrongUnit},
		{"7.251 MA", plain, WrongUnit},
		{"7.251 mAh", plain, WrongUnit},
		{"1.5E3 A", plain, Garbage}, // no exponents here; the E is a word, and more follows
		{"12.345 s; 12.4 V", plain, WrongUnit},
		{"7.251 V", TextOptions{Unit: "A"}, WrongUnit},
		{"--7 A", plain, WrongSign},
		{"+-7 A", plain, WrongSign},
		{"7- A", plain, WrongSign},
		{"7 A-", plain, WrongSign},
		{"7 A", signed, WrongSign},
		{"OL", plain, OverRange},
		{"-OL", plain, OverRange},
		{"ol A", plain, OverRange},
		{"9223372036855 A", plain, OverRange},
		{"99999999999999999999999999999999 A", plain, OverRange},
		{"NaN", plain, NotANumber},
		{"nan A", plain, NotANumber},
		{"7 A", stamped, Garbage},
		{"-1 s 7 A", plain, Garbage},
		{"+1 s 7 A", plain, Garbage},
		{"1 s7 A", plain, Garbage},
		{"1 s;;7 A", plain, Garbage},
		{"1 s 2 s 7 A", plain, Garbage},
		{"1 s", plain, Garbage},
		{"99999999999 s 1 A", plain, Garbage},
		{"12,5 A", plain, Garbage}, // a decimal comma would be a thousand times too much
		{"1 000 A", plain, Garbage},
		{"5. A", plain, Garbage},
		{".5 A", plain, Garbage},
		{"5.5.5 A", plain, Garbage},
		{"- A", plain, Garbage},
		{"A", plain, Garbage},
		{"7 A 8 A", plain, Garbage},
		{"7 A\x00", plain, Garbage},
		{"7\x00 A", plain, Garbage},
		{"0x10 A", plain, Garbage},
		{"Inf A", plain, Garbage},
		{"\xff\xfe", plain, Garbage},
	} {
		_, f := parseText([]byte(c.line), &c.o)
		assert.Equalf(t, c.code, f.code, "%q: %s", c.line, f.detail)
	}
	for _, u := range []struct {
		unit string
		want signal.Current
	}{{"A", 7_500_000}, {"mA", 7500}, {"uA", 8}} {
		r, f := parseText([]byte("7.5"), &TextOptions{Unit: u.unit})
		assert.Empty(t, f)
		assert.Equal(t, u.want, r.current, u.unit)
	}
}
