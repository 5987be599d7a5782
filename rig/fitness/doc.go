// Package fitness puts a bench to the test before it judges anyone.
//
// Run drives a bench through lines, edges, the meter at rest, the meter against a
// commanded step of the current, the supply's relay and the guard, and makes a Report
// of it. Each part is a Result: what was done, what was measured, the limit, the
// verdict, and what to do. What cannot be tried is inconclusive and says so; silence
// is never a pass. The package knows a bench by its interface alone, and leaves it
// safe on every way out.
package fitness
