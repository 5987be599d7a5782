// Package trend follows what a rule measured from run to run.
//
// Each run of a logbook gives one point: how many trials measured a value, their
// median, the one that lies worst to its limit, and the verdict of them all. Values
// are in the unit of the rule's findings, whole nanoseconds or microamperes. A run in
// which nothing was measured is a point without a value, not a gap: what was void or
// inconclusive is part of the story.
package trend
