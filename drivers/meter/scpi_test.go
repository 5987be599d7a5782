package meter

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/signal"
)

// The forms are those of IEEE 488.2-1992, 8.7.2 (NR1), 8.7.3 (NR2) and 8.7.4
// (NR3), with the examples that handbooks of instruments give of them.
func TestParseSCPI(t *testing.T) {
	for _, c := range []struct {
		form, line string
		want       signal.Current
	}{
		{"NR1", "146", 146_000_000},
		{"NR1", "+146", 146_000_000},
		{"NR1", "-12345", -12_345_000_000},
		{"NR2", "12.3", 12_300_000},
		{"NR2", "+1.2345", 1_234_500},
		{"NR2", "-0.123", -123_000},
		{"NR3", "2.73E+2", 273_000_000},
		{"NR3", "+7.25100000E+00", 7_251_000},
		{"NR3", "-4.0E-03", -4000},
		{"NR3", "1.5e-6", 2},
		{"NR3", "+0.00000000E+00", 0},
		{"NR3", "1.0E-30", 0},
		{"NR3", " 1E0\t", 1_000_000},
		{"NR3", "9.2E12", 9_200_000_000_000_000_000},
		{"NR3", "0.0E99", 0},
	} {
		got, f := parseSCPI([]byte(c.line))
		assert.Emptyf(t, f, "%s %q", c.form, c.line)
		assert.Equalf(t, c.want, got, "%s %q", c.form, c.line)
	}
}

// SCPI-1999 volume 1, 7.2.1.4 and 7.2.1.5: infinity and not-a-number are sent as
// numbers.
func TestParseSCPITroubles(t *testing.T) {
	for _, c := range []struct{ line, code string }{
		{"9.9E37", OverRange},
		{"+9.90000000E+37", OverRange},
		{"-9.9E+37", OverRange},
		{"99.0E36", OverRange},
		{"9.91E37", NotANumber},
		{"+9.91000000E+37", NotANumber},
		{"9.92E37", OverRange},
		{"9.3E12", OverRange},
		{"1E999", OverRange},
		{"1E1000", Garbage},
		{"NAN", NotANumber},
		{"1.0 A", WrongUnit},
		{"1.0A", WrongUnit},
		{"1.0E0A", WrongUnit},
		{"--1.0", WrongSign},
		{"1.0E", Garbage},
		{"1.0E+", Garbage},
		{"5.", Garbage},
		{".5", Garbage},
		{"", Garbage},
		{"1,2", Garbage},
		{"1.0,2.0", Garbage},
		{"1.0;2.0", Garbage},
		{"1.0 2.0", Garbage},
		{"1.0\x00", Garbage},
		{"#H1F", Garbage},
		{"hello", Garbage},
	} {
		_, f := parseSCPI([]byte(c.line))
		assert.Equalf(t, c.code, f.code, "%q: %s", c.line, f.detail)
	}
}

func TestParseIdentity(t *testing.T) {
	id, err := parseIdentity([]byte("BOATYARD, M7 ,0,1.2\r"))
	require.NoError(t, err)
	require.Equal(t, "BOATYARD, M7, 0, 1.2", id)
	for _, bad := range []string{"", "one,two,three", "1,2,3,4,5", "a,b,c,\x01"} {
		_, err := parseIdentity([]byte(bad))
		assert.Errorf(t, err, "%q", bad)
	}
}

// SCPI-1999 volume 2, 21.8: SYSTem:ERRor?
func TestParseError(t *testing.T) {
	for _, c := range []struct {
		line, text string
		number     int
		ok         bool
	}{
		{`0,"No error"`, "No error", 0, true},
		{`+0,"No error"`, "No error", 0, true},
		{`-113,"Undefined header"`, "Undefined header", -113, true},
		{`-350, "Queue overflow" `, "Queue overflow", -350, true},
		{`-100,"say ""please"""`, `say "please"`, -100, true},
		{`-113`, "", 0, false},
		{`"No error"`, "", 0, false},
		{`x,"y"`, "", 0, false},
		{`1,"`, "", 0, false},
	} {
		number, text, ok := parseError([]byte(c.line))
		assert.Equal(t, c.ok, ok, c.line)
		assert.Equal(t, c.number, number, c.line)
		assert.Equal(t, c.text, text, c.line)
	}
}

// A queue that is full says so in place of its last entry, and gives its entries
// oldest first. SCPI-1999 volume 2, 21.8.1.
func TestVoiceErrorQueue(t *testing.T) {
	v := &scpiVoice{c: &Config{SCPI: SCPIOptions{Query: "READ?"}}}
	for range deepest {
		out, used := v.Answer(nil, []byte("FOO\n"), 0)
		require.Empty(t, out)
		require.Equal(t, 4, used)
	}
	for i := range deepest / 2 {
		out, _ := v.Answer(nil, []byte("syst:err?\n"), 0)
		want := "-113,\"Undefined header\"\n"
		if i == deepest/2-1 {
			want = "-350,\"Queue overflow\"\n"
		}
		require.Equal(t, want, string(out))
	}
	out, _ := v.Answer(nil, []byte("SYST:ERR?\n"), 0)
	require.Equal(t, "0,\"No error\"\n", string(out))
}
