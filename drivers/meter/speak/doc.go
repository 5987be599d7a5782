// Package speak plays a meter on a serial line, for tests and for rehearsals
// without one.
//
// It speaks whatever drivers/meter understands, from the same configuration. A
// Speaker is fed with currents: one whose protocol streams sends each as it
// comes, one whose protocol waits to be asked answers with the latest.
package speak
