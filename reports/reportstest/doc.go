// Package reportstest makes example runs, with their traces, for the tests of
// reports.
//
// The setting is a lift-up barrier at an invented boatyard. No figure in it was
// ever measured on anything.
package reportstest
