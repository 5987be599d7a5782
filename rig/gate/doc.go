// Package gate is the mechanism that the controller will move, and the model
// that stands in for it on the bench: from what the motor was seen doing it works
// out where the gate is and when, exactly, each limit and Hall switch will make
// and break if nothing else changes.
//
// Positions are fractions of the travel: 0 at the closed stop, 1 at the open
// stop. The model is fed by what was measured, never by what was commanded, and
// between changes of the motor everything it says is closed-form: crossings are
// solved for, not stepped to.
package gate
