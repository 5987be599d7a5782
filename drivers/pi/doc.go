// Package pi is the bench on a Raspberry Pi, or on any machine with Linux GPIO lines.
//
// The lines are driven by the hands, a process of their own; the motor current comes
// from a serial meter, which the hands stamp; the controller's drive outputs may be
// sensed. The bench is what the conductor sees of all that. It needs some lead, so that
// a conductor who is kept waiting does not make an edge late.
package pi
