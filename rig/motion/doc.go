// Package motion tells from the current meter's samples what the motor does:
// stopped, opening or closing, each change with the span in which it happened.
//
// Assumption: the motor moves while the magnitude of its current is at or above
// a threshold, in the direction of the current's sign, and a change counts only
// once it has lasted for a settling time, so that a brake's reverse kick or a
// single noisy sample is not a movement. A change's span reaches from the start
// of the last sample of the old state to the end of the first of the new.
package motion
