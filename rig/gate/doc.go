// Package gate is the mechanism that the controller will move, and the model
// that stands in for it on the bench: from what the motor was seen doing it works
// out where the gate is and when, exactly, each limit and Hall switch will make
// and break if nothing else changes.
//
// Positions are fractions of the travel: 0 at the closed stop, 1 at the open
// stop. The model is fed by what was measured, never by what was commanded.
// Crossings are solved for, not stepped to.
//
// A gate is described in one of two ways. A Spec's Travels give times: the gate
// then moves at constant accelerations, and everything is closed-form. A Machine
// gives motor, battery, gear, load: current, speed and place then follow their
// linear equations exactly from event to event, each event is found to the first
// whole nanosecond, and the times are results (Figures).
package gate
