// Package wiring draws the sheet that a bench is wired up by.
//
// The same sheet gives the same bytes: it bears no date, but the digest of the file
// that it was made from.
package wiring
