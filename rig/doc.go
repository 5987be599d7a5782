// Package rig conducts trials: it performs a scenario's script on a bench, turns
// what the motor is seen doing into the gate's answer on the limit lines, lets
// faults bend that answer, and hands all that was seen to the rules.
//
// One loop in one goroutine, with no callbacks. A bench has two verbs: Plan says
// what a line will do from now on, Next says what the bench saw. The conductor
// cannot tell a virtual bench from a real one, so what was rehearsed is what
// runs. The package knows no file format, no device and no screen.
package rig
