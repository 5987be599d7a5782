// Package record turns a run into canonical JSON after RFC 8785, the same bytes
// from the same run everywhere, so that a digest or a signature can stand on it.
//
// RFC 8785 takes every number for a double of IEEE 754, which holds integers up
// to 2^53 exactly. Seeds are written as texts; any other integer beyond that, and
// a text that is not UTF-8, is refused, because it would come out as another one.
package record
