package meter

import (
	"encoding/binary"
	"io"
	"math"
	"math/big"
	"math/bits"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig/signal"
)

// The fuzz targets hold the parsers against the grammars of the package comment,
// written once more as regular expressions, and against exact arithmetic.

var (
	textForm = regexp.MustCompile(`\A[ \t]*(?:(\d+(?:\.\d+)?)[ \t]*(s|ms|us|\xc2\xb5s|\xce\xbcs|\xb5s)(?:[ \t]*[,;][ \t]*|[ \t]+))?` +
		`([+-]?)(\d+(?:\.\d+)?)[ \t]*([a-zA-Z\x80-\xff]*)[ \t]*\z`)
	scpiForm = regexp.MustCompile(`\A[ \t]*([+-]?)(\d+(?:\.\d+)?(?:[eE][+-]?\d{1,3})?)[ \t]*\z`)
)

// latin1 writes each byte as the rune of its number, as regular expressions know
// runes only.
func latin1(b []byte) string {
	var s strings.Builder
	for _, c := range b {
		s.WriteRune(rune(c))
	}
	return s.String()
}

// exact gives sign and number × 10^shift, rounded half away from zero.
func exact(t *testing.T, sign, number string, shift int) *big.Int {
	r, ok := new(big.Rat).SetString(number)
	require.Truef(t, ok, "%q", number)
	ten := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(shift)), nil)
	r.Mul(r, new(big.Rat).SetInt(ten)).Add(r, big.NewRat(1, 2))
	v := new(big.Int).Quo(r.Num(), r.Denom())
	if sign == "-" {
		v.Neg(v)
	}
	return v
}

// sameCurrent compares a reading with the exact one. Of more than 18 digits the
// last are cut off, which shows beyond 10^17 µA only.
func sameCurrent(t *testing.T, line []byte, want *big.Int, got signal.Current, f fault) {
	room := new(big.Int).Quo(new(big.Int).Abs(want), big.NewInt(100_000_000_000_000_000))
	if f.code == OverRange {
		least := new(big.Int).Sub(big.NewInt(math.MaxInt64), room)
		require.Positivef(t, want.CmpAbs(least), "%q can be counted", line)
		return
	}
	require.Emptyf(t, f.code, "%q: %s", line, f.detail)
	off := new(big.Int).Sub(want, big.NewInt(int64(got)))
	require.LessOrEqualf(t, off.CmpAbs(room), 0, "%q read as %d µA", line, int64(got))
}

func FuzzText(f *testing.F) {
	for _, s := range []string{"7.251 A", "-80 mA", "12.345 s; 0.004 A", "+1 \xb5A", "5 µs\t1 A", "OL", "NaN", "7", "--7 A", "1e3 A",
		"0.5 uA", "9223372036854.775807 A", "1 s 2 s 3 A", "# note", "12,5 A", "1 A\r\n2 A", "999999999999999999999 A", "0.49999999999999999999 uA"} {
		f.Add([]byte(s), byte(0), byte(3))
		f.Add([]byte(s), byte(7), byte(1))
	}
	units := []string{"", "A", "mA", "uA"}
	f.Fuzz(func(t *testing.T, line []byte, choice, chunk byte) {
		o := TextOptions{Unit: units[choice&3], Sign: choice&4 != 0, Stamp: choice&8 != 0}
		r, bad := parseText(line, &o)
		m := textForm.FindStringSubmatch(latin1(line))
		shift, ok := 0, m != nil
		if ok {
			word := unlatin1(m[5])
			if word == "" {
				word = o.Unit
			}
			shift, ok = map[string]int{"A": 6, "mA": 3, "uA": 0, "µA": 0, "μA": 0, "\xb5A": 0}[word]
		}
		if ok = ok && !(o.Sign && m[3] == "") && !(o.Stamp && m[1] == "") && stampFits(t, m); ok {
			sameCurrent(t, line, exact(t, m[3], m[4], shift), r.current, bad)
		} else {
			require.NotEmptyf(t, bad.code, "%q has become %v", line, r.current)
		}
		asStreamed(t, line, o, int(chunk))
	})
}

func unlatin1(s string) string {
	var b []byte
	for _, r := range s {
		b = append(b, byte(r))
	}
	return string(b)
}

// stampFits says whether the meter's time, if there is one, can be counted.
func stampFits(t *testing.T, m []string) bool {
	if m[1] == "" {
		return true
	}
	shift, ok := map[string]int{"s": 9, "ms": 6}[m[2]]
	if !ok {
		shift = 3
	}
	v := exact(t, "", m[1], shift)
	if v.CmpAbs(big.NewInt(9_200_000_000_000_000_000)) > 0 && v.BitLen() < 65 {
		t.Skip("at the end of what can be counted the cut to 18 digits decides")
	}
	return v.IsInt64()
}

// asStreamed sends what may be many lines through the reader, cut into pieces. It
// must give what the parser gives line by line, whatever the cuts.
func asStreamed(t *testing.T, text []byte, o TextOptions, chunk int) {
	c := config("text").Filled()
	c.Text = o
	var want []reading
	for line := range strings.FieldsFuncSeq(string(text), func(r rune) bool { return r == '\r' || r == '\n' }) {
		if len(line) > longestLine {
			return // told as one trouble or as several, by the cuts
		}
		if r, f := parseText([]byte(line), &o); f.none() && !comment([]byte(line)) {
			want = append(want, reading{current: r.current, stamp: r.stamp})
		}
	}
	port := &pieces{text: append(append([]byte("\n"), text...), '\n'), chunk: chunk%7 + 1}
	l := &link{port: port, clock: func() signal.Instant { return 0 }}
	reader := &textReader{c: &c, skip: true}
	var got []reading
	for {
		r, f, err := reader.next(l)
		if err != nil {
			break
		}
		if f.none() {
			got = append(got, reading{current: r.current, stamp: r.stamp})
		}
	}
	require.Equalf(t, want, got, "%q in pieces of %d", text, port.chunk)
}

// pieces is a port that gives a text in pieces and then is gone.
type pieces struct {
	text  []byte
	chunk int
}

func (p *pieces) Read(b []byte) (int, error) {
	if len(p.text) == 0 {
		return 0, io.ErrUnexpectedEOF
	}
	n := copy(b, p.text[:min(p.chunk, len(p.text))])
	p.text = p.text[n:]
	return n, nil
}

func (*pieces) Write(b []byte) (int, error)        { return len(b), nil }
func (*pieces) SetReadTimeout(time.Duration) error { return nil }
func (*pieces) Close() error                       { return nil }

func FuzzSCPI(f *testing.F) {
	for _, s := range []string{"146", "-12345", "+1.2345", "2.73E+2", "-4.0e-03", "9.9E37", "-9.90000E+37", "9.91E37", "9.3E12", "0E99",
		"1E999", "1E1000", "1.0 A", "5.", ".5", "1,2", "", "NAN", "9223372036854.7758075", "990E35", "0.00000049999999999999999"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, line []byte) {
		got, bad := parseSCPI(line)
		m := scpiForm.FindStringSubmatch(latin1(line))
		if m == nil {
			require.NotEmptyf(t, bad.code, "%q has become %v", line, got)
			return
		}
		switch v, _ := new(big.Rat).SetString(m[2]); v.RatString() {
		case "99" + strings.Repeat("0", 36):
			require.Equalf(t, OverRange, bad.code, "%q", line)
		case "991" + strings.Repeat("0", 35):
			require.Equalf(t, NotANumber, bad.code, "%q", line)
		default:
			sameCurrent(t, line, exact(t, m[1], m[2], 6), got, bad)
		}
		parseIdentity(line)
		parseError(line)
	})
}

func FuzzModbus(f *testing.F) {
	for _, frame := range [][]byte{{1, 4, 2, 0, 100}, {1, 3, 2, 0xFF, 0x9C}, {1, 4, 4, 0x40, 0xE8, 0, 0}, {1, 0x84, 2}, {1, 4, 2, 0x7F, 0xFF},
		{1, 4, 4, 0x7F, 0xC0, 0, 0}, {2, 4, 2, 0, 1}, {1, 4, 4, 0, 1, 0, 2}} {
		for choice := range byte(20) {
			f.Add(frame, true, choice)
		}
		f.Add(frame, false, byte(0))
	}
	f.Fuzz(func(t *testing.T, frame []byte, closed bool, choice byte) {
		kind := modbusTypes[int(choice)%len(modbusTypes)]
		o := &ModbusOptions{Unit: 1, Function: 3 + int(choice/5)%2, Type: kind.name, LowFirst: choice/10%2 == 1, Step: 1000}
		if closed { // or hardly any would get past the check sum
			frame = appendCRC(frame[:len(frame):len(frame)])
		}
		got, bad := parseModbus(frame, o)
		n := len(frame) - 2
		if n < 1 || slowCRC(frame[:n]) != binary.LittleEndian.Uint16(frame[n:]) {
			require.NotEmptyf(t, bad.code, "% X has no check sum", frame)
			return
		}
		if n != 3+2*kind.count || frame[0] != 1 || int(frame[1]) != o.Function || int(frame[2]) != 2*kind.count {
			require.NotEmptyf(t, bad.code, "% X is not what was asked for", frame)
			return
		}
		want := registers(frame[3:n], kind, o.LowFirst)
		if bad.none() {
			require.InDelta(t, want*1000, float64(got), 0.5+math.Abs(want)/1e6, "% X as %s", frame, kind.name)
			return
		}
		end := !kind.float && (want == float64(kind.top) || kind.low < 0 && want == float64(kind.low))
		require.Truef(t, end || math.IsNaN(want) || math.Abs(want*1000) >= 1<<62, "% X as %s: %s", frame, kind.name, bad.detail)
	})
}

// registers reads them the long way round.
func registers(b []byte, kind modbusType, lowFirst bool) float64 {
	if lowFirst && kind.count == 2 {
		b = []byte{b[2], b[3], b[0], b[1]}
	}
	switch kind.name {
	case "int16":
		return float64(int16(binary.BigEndian.Uint16(b)))
	case "uint16":
		return float64(binary.BigEndian.Uint16(b))
	case "int32":
		return float64(int32(binary.BigEndian.Uint32(b)))
	case "uint32":
		return float64(binary.BigEndian.Uint32(b))
	}
	return float64(math.Float32frombits(binary.BigEndian.Uint32(b)))
}

// slowCRC is the check sum by plain division: each byte low bit first, polynomial
// 0x8005, and the remainder turned round.
func slowCRC(b []byte) uint16 {
	rest := uint16(0xFFFF)
	for _, c := range b {
		for i := range 8 {
			top := rest>>15 ^ uint16(c>>i&1)
			rest <<= 1
			if top == 1 {
				rest ^= 0x8005
			}
		}
	}
	return bits.Reverse16(rest)
}
