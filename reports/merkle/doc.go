// Package merkle sums a list of texts up in one digest, the tree hash of RFC 9162
// section 2.1, from which any one of them can be shown to be in the list without the
// others.
package merkle
