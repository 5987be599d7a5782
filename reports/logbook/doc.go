// Package logbook keeps runs, with every trace, in one SQLite file.
//
// A run is begun before its first trial, trials are added as they are performed,
// and the run is finished. What Begin, Trial and Finish have acknowledged by
// returning nil is on the disk and survives kill -9 or a loss of power at any
// later instant; what they have not acknowledged is there whole or not at all.
//
// A run that has no end because its program is gone is marked void when the
// logbook is next opened. Whether the program is gone is known for certain: each
// process that writes holds a small file beside the logbook locked, and the kernel
// lets go of the lock when the process ends, however it ends.
//
// Several processes may use one logbook at once, on one machine. Traces are kept
// in the form of package tracefile, inside the SQLite file and under their own
// digest, so that a trial and its trace appear in one stroke, and a trace that
// came out twice is kept once.
package logbook
