// Package virtual is a bench in virtual time: a simulated gate controller drives
// a simulated motor on a brake from a simulated battery, and a simulated meter
// reads the motor's current.
//
// The motor is a brushed direct-current motor under its two textbook equations,
//
//	L di/dt = V - R i - K w        J dw/dt = K i - b w - T
//
// with the battery's internal resistance counted into R, and a Coulomb load T
// that opposes the turning and holds the rotor when the torque is too small to
// break it away. Between events the equations are linear, so the state is taken
// from event to event by exact transitions worked out beforehand: no result
// depends on a step size. The mechanism of the gate is not here. Whoever drives
// the bench plans the limits; the line stall-load locks the rotor, drag-load makes
// the brake heavier, lead-cut parts the lead, motor-short puts a resistor across it.
//
// The same seed gives the same observations, to the byte, on every machine:
// instants and readings are integers, products are rounded before they are
// added, and nothing is called whose last bit differs between machines.
package virtual
