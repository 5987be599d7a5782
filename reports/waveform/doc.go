// Package waveform writes a trial's trace in forms that other programs read: a
// value change dump after IEEE 1364, or a table of comma-separated values.
//
// A value change dump knows points of time only. So an edge or a reading stands at
// the middle of its span there, and what came before the origin stands at zero. The
// unit of time is 1 ns. Each line that was used is a wire, named as files name it
// with _ for -, 1 where it is made; the motor current is a real in amperes that
// keeps the value of the last reading, and is 0 before the first; remarks are
// comments. Lanes that were made out of the trace, such as the motor's state and what
// decided a rule, can be added as wires in a scope of their own.
//
// The table has every span in full, with the columns of a trace file and the unit
// of each in its heading.
//
// Both are written as they are worked out, and the same trace gives the same bytes.
package waveform
