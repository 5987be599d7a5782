// Package derive works out which claims are safe ones for a gate from what is
// known of the gate, showing every line of the reasoning.
//
// It proposes, it does not certify. A figure that a regulation asks for is given
// with its source named and nothing more: local codes and licensed practice come
// first.
//
// Each line of arithmetic is rounded to four digits before the next one uses it,
// so that somebody with a pocket calculator meets the same figures all the way
// down.
package derive
