// Package meter reads a motor's current from a meter on a serial port.
//
// The way of the data: a goroutine reads the port and stamps what comes with the
// bench's clock; the protocol makes a reading of it, in whole microamperes; the
// sampler holds that against what is known of the meter and makes a sample whose
// stretch is as wide as the latency is unsure. Whatever is not plainly a reading
// is a trouble with a name (see Troubles), and never becomes a sample. A sample
// taken at an arrival A stands for the stretch from A - Most - Window to A -
// Least. All latencies, those of wire and USB bridge included, are the
// configuration's to state.
//
// What cannot be noticed, with any meter: a digit that is lost or changed on a
// line that carries no check sum. Prefer a protocol that has one, or short
// shielded cable.
//
// # Protocol text
//
// The meter sends lines by itself, at its own interval. Bytes are ASCII, except
// for the micro sign.
//
//	line      = blanks [ time separator ] value blanks end
//	          | blanks [ "#" anything ] end
//	time      = number blanks timeunit
//	timeunit  = "s" | "ms" | "us" | micro "s"
//	separator = one or more blanks with at most one "," or ";" among them, or that alone
//	value     = [ sign ] number blanks [ unit ] | [ sign ] word
//	unit      = "A" | "mA" | "uA" | micro "A"
//	word      = "OL" (beyond the range) | "NaN" (no valid reading), in either case
//	number    = digits [ "." digits ]
//	sign      = "+" | "-"
//	micro     = U+00B5 or U+03BC in UTF-8, or the byte B5
//	end       = CR | LF | CR LF
//	blanks    = any number of spaces and tabs
//
// For example "+7.251 A", "-80 mA", "12.345 s; 0.004 A". A line is at most 128
// bytes. Empty lines and those that begin with # say nothing. The unit may be
// left out where the configuration names one. A number is rounded to a whole
// microampere, half away from zero. The time is the meter's own: it serves to
// notice a lost line, and for nothing else. What comes before the first end of a
// line is dropped, as it may be a part of a line only.
//
// # Protocol scpi
//
// The meter is asked for each reading and answers with one number in a form of
// IEEE 488.2, 8.7.2 to 8.7.4: NR1 (-12), NR2 (7.251) or NR3 (7.251E+0), in
// amperes, closed by LF or CR LF. 9.9E37 and -9.9E37 mean beyond the range,
// 9.91E37 means no valid reading. When it is opened the meter must answer *IDN?
// with four fields. After a trouble, and now and then, SYST:ERR? is asked until
// the queue is empty, and each error in it is a trouble.
//
// # Protocol modbus
//
// Modbus RTU after Modbus over Serial Line V1.02: the meter is asked for one or
// two registers with function 03 or 04. The end of an answer is told by its
// length, as the gaps of 1.5 characters inside a frame do not survive a USB
// bridge; the check sum does the rest. Before a question the line is quiet for
// 3.5 characters. A reading at the end of its integer type's range counts as over
// range.
package meter
