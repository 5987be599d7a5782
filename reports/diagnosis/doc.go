// Package diagnosis explains in words what happened in a trial that was not passed,
// and where in its trace to look.
//
// It judges nothing: the verdict is the finding's. What it tells besides is read off
// the trial's trace at the instants that decided, and told no more precisely than it
// was measured. What it offers to look at is common practice, no proof.
package diagnosis
