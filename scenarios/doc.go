// Package scenarios turns a job folder into what the conductor needs: the bench,
// the gate, the controller with its claims, and the scenarios that it is held to.
//
// A job folder holds bench.yaml, gate.yaml, controller.yaml and, if the job has
// scenarios of its own, scenarios/*.yaml beside the built-in ones. Each kind of
// file is a Go struct whose tags describe every key; the decoder and the published
// schemas both come from those tags. Claims are worked out first, then put into
// the scenarios, so nothing that leaves this package has to be looked up. All
// mistakes in all files are reported at once.
//
// The package opens no device and judges nothing.
package scenarios
