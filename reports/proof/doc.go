// Package proof says what a set of scenarios is worth: which seeded defects it
// catches, which scenario catches each at the least cost, and which scenarios
// could be left out.
package proof
