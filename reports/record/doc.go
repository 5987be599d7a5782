// Package record turns a run into canonical JSON after RFC 8785, the same bytes
// from the same run everywhere, so that a digest or a signature can stand on it.
package record
