// Package chart draws a trial as the strip chart of a paper recorder.
//
// A trace and a finding go in. Lanes on a ruled grid come out, time running to
// the right: a pen for each line that stands up while the line is made, the motor
// current in amperes, the steps of the script as marks along the upper edge. The
// span of the requirement is a shaded band from its trigger to its limit; the
// limit is a rule line, hatched on its forbidden side; the measured stretch is
// dimensioned as on an engineering drawing, with the margin written beside it.
//
// One drawing goes through a small interface, Pen, to a page of SVG, into a page
// of a PDF, or onto the characters of a terminal. What matters is said by shape
// and word as well as by colour. Same trace, same bytes, on every machine.
package chart
