// Package logbook keeps runs, with every trace, in one SQLite file or PostgreSQL database.
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
// In a database it is the session that holds an advisory lock, which the server lets
// go of when the session ends; there, benches on many machines may share a logbook.
//
// Several processes may use one logbook at once; one file, on one machine. Traces are kept
// in the form of package tracefile, beside the trials and under their own
// digest, so that a trial and its trace appear in one stroke, and a trace that
// came out twice is kept once.
package logbook
