// Package signal holds what a bench can see or drive, as plain data: instants,
// spans, lines, edges, samples and traces.
//
// An Instant is a count of nanoseconds on one monotonic clock, from the origin
// of a trial. Nothing measured is a bare point: an edge and a sample each carry
// the Span in which they can have happened. A Line is one wire between bench and
// controller, and its Level says only whether the contact it stands for is made:
// polarity, pulls and normally-closed wiring belong to the bench file.
//
// The package decides nothing. What the data mean is the business of the
// packages beside it.
package signal
