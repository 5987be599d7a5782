package meter

import "math"

// A decimal is a number as it was written: digits × 10^exp, with its sign. More
// than 18 significant digits are cut off, which is far below a microampere for
// every current that can be read.
type decimal struct {
	neg    bool
	signed bool // a sign was written
	digits uint64
	exp    int
}

// significant is how many digits a decimal keeps; ten to that power fits a uint64.
const significant = 18

// scanSign takes a leading sign.
func scanSign(b []byte) (d decimal, rest []byte) {
	if len(b) > 0 && (b[0] == '+' || b[0] == '-') {
		return decimal{neg: b[0] == '-', signed: true}, b[1:]
	}
	return decimal{}, b
}

// scan takes digits, and after a point more digits. There must be digits before
// the point, and after it if it is there: "5." may have lost its end.
func (d *decimal) scan(b []byte) (rest []byte, ok bool) {
	i, kept := d.take(b, 0, 0)
	if i == 0 {
		return b, false
	}
	if i == len(b) || b[i] != '.' {
		return b[i:], true
	}
	n, _ := d.take(b[i+1:], kept, -1)
	return b[i+1+n:], n > 0
}

// take reads digits. Each digit kept changes the exponent by step, each one cut
// off by one more.
func (d *decimal) take(b []byte, kept, step int) (n, nowKept int) {
	for n < len(b) && b[n] >= '0' && b[n] <= '9' {
		switch {
		case kept == significant:
			d.exp += 1 + step
		case d.digits == 0 && b[n] == '0':
			d.exp += step
		default:
			d.digits = 10*d.digits + uint64(b[n]-'0')
			d.exp += step
			kept++
		}
		n++
	}
	return n, kept
}

// scanExponent takes an exponent, if there is one. Exponents beyond ±999 are not
// numbers that a meter sends.
func (d *decimal) scanExponent(b []byte) (rest []byte, ok bool) {
	if len(b) == 0 || b[0] != 'E' && b[0] != 'e' {
		return b, true
	}
	sign, b := scanSign(b[1:])
	e, n := 0, 0
	for n < len(b) && b[n] >= '0' && b[n] <= '9' {
		e = 10*e + int(b[n]-'0')
		if n++; n > 3 {
			return b, false
		}
	}
	if sign.neg {
		e = -e
	}
	d.exp += e
	return b[n:], n > 0
}

var powers = func() (p [significant + 1]uint64) {
	p[0] = 1
	for i := range significant {
		p[i+1] = 10 * p[i]
	}
	return p
}()

// times10 gives the decimal × 10^shift as an integer, rounded half away from
// zero. It is not ok where that does not fit.
func (d decimal) times10(shift int) (v int64, ok bool) {
	e := d.exp + shift
	m := d.digits
	switch {
	case m == 0 || e < -significant:
		m = 0
	case e < 0:
		p := powers[-e]
		m = m/p + (m%p+p/2)/p
	case e > significant || m > math.MaxInt64/powers[e]:
		return 0, false
	default:
		m *= powers[e]
	}
	if d.neg {
		return -int64(m), true
	}
	return int64(m), true
}

// is says whether the decimal's magnitude is digits × 10^exp exactly.
func (d decimal) is(digits uint64, exp int) bool {
	if d.digits == 0 {
		return digits == 0
	}
	for d.digits%10 == 0 {
		d.digits, d.exp = d.digits/10, d.exp+1
	}
	return d.digits == digits && d.exp == exp
}
