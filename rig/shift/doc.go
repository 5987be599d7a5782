// Package shift says whether two samples of one quantity differ.
//
// Nothing is assumed of how the values are distributed: MannWhitney works on their
// ranks, HodgesLehmann on their differences. Holm corrects the probabilities of many
// such tests made at once.
package shift
