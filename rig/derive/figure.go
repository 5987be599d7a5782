package derive

import (
	"math"
	"strconv"
	"time"

	"pintle/rig/signal"
)

// Inside the reasoning every quantity is a float64 in its SI unit, already rounded
// to the digits that the sheet shows.

const digits = 4

func seconds(d time.Duration) float64    { return round(d.Seconds()) }
func amperes(c signal.Current) float64   { return round(c.Amperes()) }
func round(x float64) float64            { return rounded(x, digits, math.Round) }
func roundUp(x float64) float64          { return rounded(x, digits, up) }
func roundDown(x float64) float64        { return rounded(x, digits, down) }
func handyUp(x float64) float64          { return rounded(x*1.005, 2, up) }
func handyDown(x float64) float64        { return rounded(x/1.005, 2, down) }
func duration(x float64) time.Duration   { return time.Duration(math.Round(x * 1e9)) }
func microamps(x float64) signal.Current { return signal.Current(math.Round(x * 1e6)) }

// The dust that decimal figures leave in binary ones must not move a digit.
const dust = 1e-9

func up(x float64) float64   { return math.Ceil(x - float64(dust*math.Abs(x))) }
func down(x float64) float64 { return math.Floor(x + float64(dust*math.Abs(x))) }

// rounded gives x with n significant digits. It works on the decimal text, which
// is the same on every machine.
func rounded(x float64, n int, to func(float64) float64) float64 {
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return x
	}
	s := strconv.FormatFloat(x, 'e', 15, 64)
	at := len(s) - 1
	for s[at] != 'e' {
		at--
	}
	mantissa, _ := strconv.ParseFloat(s[:at], 64)
	exponent, _ := strconv.Atoi(s[at+1:])
	whole := to(mantissa * math.Pow10(n-1))
	y, _ := strconv.ParseFloat(strconv.FormatFloat(whole, 'f', 0, 64)+"e"+strconv.Itoa(exponent-n+1), 64)
	return y
}

// plain writes a figure in decimals, with the digits that it has and no more.
func plain(x float64) string {
	s := strconv.FormatFloat(math.Abs(round(x)), 'f', -1, 64)
	if x < 0 {
		return "−" + s
	}
	return s
}

// A figure in a formula is written with the prefix that keeps it short.

func sec(x float64) string {
	switch a := math.Abs(x); {
	case a == 0 || a >= 1:
		return plain(x) + " s"
	case a >= 1e-3:
		return plain(x*1e3) + " ms"
	}
	return plain(x*1e6) + " µs"
}

func henry(x float64) string   { return plain(x*1e3) + " mH" }
func amp(x float64) string     { return plain(x) + " A" }
func volt(x float64) string    { return plain(x) + " V" }
func degrees(x float64) string { return plain(x) + "°" }
func kelvin(x float64) string  { return plain(x) + " K" }
func speed(x float64) string   { return plain(x) + " m/s" }
func part(x float64) string    { return plain(x*100) + " %" }

func ohm(x float64) string {
	if math.Abs(x) < 1 {
		return plain(x*1e3) + " mΩ"
	}
	return plain(x) + " Ω"
}

func metre(x float64) string {
	if math.Abs(x) < 1 {
		return plain(x*1e3) + " mm"
	}
	return plain(x) + " m"
}

// exact writes a figure with all its digits.
func exact(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
