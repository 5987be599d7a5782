// Package benchtest is the behaviour that every bench must show, as one suite of
// tests.
//
// Contract opens a bench anew for each clause and holds it to what rig.Bench
// promises. It takes lead, lateness and latency from the bench's own Facts, so
// the same clauses run in simulated and in real time; in real time the whole
// suite takes a few seconds plus a few dozen leads. Fake is the smallest bench
// that keeps the contract: simulated time, and nobody on the other end of the
// wires. It serves wherever a test needs a bench.
package benchtest
