// Package waveform writes a trial's trace in forms that other programs read: a
// value change dump after IEEE 1364, with one wire a line and the current as a
// real, in nanoseconds; or a table of comma-separated values with the unit of
// each column in its heading.
//
// An edge or a reading stands at the middle of its span; what came before the
// origin is left out of the dump, whose time begins at zero.
package waveform
