// Package uncertainty says how far a measured value may be trusted.
//
// In the order in which the data flow: an Input is one thing that the value hangs
// on, with its distribution and where its figure comes from. A Budget puts inputs
// together after JCGM 100:2008 (the GUM) and gives a standard and an expanded
// uncertainty. A Simulation draws the inputs instead, after JCGM 101:2008, and
// Evaluate does both, compares them and says which of the two is used. A Rule
// then decides whether a Reading keeps its Limits, after JCGM 106:2012 and
// ILAC-G8:09/2019, and tells the risk of the decision.
//
// Budgets are float64 in whatever unit the caller counts in (nanoseconds and
// microamperes in this project); decisions are made on int64 counts of that unit,
// uncertainties rounded up to it, so that a value at its limit falls the same way
// everywhere.
//
// The same seed gives the same draws on every machine: the generator, the
// logarithm and the exponential are this package's own, without a product and a
// sum in one rounding. Two things are not the same to the last bit everywhere: a
// caller's model that uses the math package, and the special functions of gonum
// behind a coverage factor and math.Erfc behind a risk. Coverage factors are
// therefore rounded to nine decimals and risks to millionths.
package uncertainty
