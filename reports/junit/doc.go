// Package junit writes a run as XML in the form that build servers read test
// results in.
//
// There is no standard for it. The document keeps to the elements and attributes
// that readers have in common: suites, suite, properties, case, and failure,
// error or skipped within a case. A fail is a failure. An inconclusive, void or
// unsettled scenario is an error of that type, so that nothing but a pass looks
// like one.
package junit
