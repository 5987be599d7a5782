// Package shift says whether two samples of one quantity differ.
//
// In the order in which a comparison of two builds uses it: MannWhitney gives each
// rule a probability p that chance alone parts its two samples so far, Holm corrects
// the p of all rules for there being so many, HodgesLehmann says how far the second
// sample lies from the first, with an interval, and Erode says which part of the
// margin to a limit that has cost. Fewest and Smallest say beforehand what a number of
// trials could find at all.
//
// A sample is a slice of int64 or float64 in any one unit (nanoseconds and
// microamperes in this project), in any order; it is not changed. The first sample
// is that of build A, the second that of build B, and a shift is B less A. All
// trials are taken to be independent of each other: two runs whose trials were
// drawn from the same seed are not, and then p is too large rather than too small
// as long as what they share moves both the same way.
//
// Mann and Whitney's test asks whether values of one sample tend to be above those
// of the other. A build that only scatters more, about the same middle, is not
// found by it. Nothing is assumed of how the values are distributed, and equal
// values, which a meter makes many of, are counted as they are.
//
// Nothing here fails on too few trials: the result says that it found nothing out,
// and why. The zero value of every result and of every verdict says that nothing is
// known.
//
// Counts, ranks and shifts of whole numbers are the same on every machine. So is an
// exact p; one by the normal approximation comes from math.Erfc, whose last bits
// differ between machines: round it to nine decimals or fewer before it is recorded.
package shift
