// Package share counts parts of a whole in millionths.
//
// A share that is recorded is such a count, so that it is the same on every machine.
package share

import (
	"math"
	"strconv"
	"strings"
)

// Whole is the share that is everything.
const Whole = 1_000_000

// Of gives the nearest count for a share from 0 to 1.
func Of(x float64) int64 { return int64(math.Round(x * Whole)) }

// Percent writes a share as a percentage, in full: "95 %", "0.0001 %".
func Percent(millionths int64) string { return Figure(millionths) + " %" }

// PercentDown writes a share as a percentage, rounded down to two decimals, as a lower
// bound must be.
func PercentDown(millionths int64) string {
	down := millionths / 100
	if millionths%100 < 0 {
		down--
	}
	return Percent(down * 100)
}

// Figure is Percent without its sign.
func Figure(millionths int64) string {
	sign := ""
	if millionths < 0 {
		sign, millionths = "-", -millionths
	}
	const percent = Whole / 100
	whole := strconv.FormatInt(millionths/percent, 10)
	part := strings.TrimRight(strconv.FormatInt(percent+millionths%percent, 10)[1:], "0")
	if part != "" {
		part = "." + part
	}
	return sign + whole + part
}
