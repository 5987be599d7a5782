// Package fold breaks text between words into lines of a given width.
//
// A no-break space is part of its word, so that a figure stays with its unit. A word
// that is wider than a line has one to itself.
package fold
