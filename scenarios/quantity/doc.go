// Package quantity reads figures with units, and sums of figures with the names
// of claims in them, as people write them in files: 120ms, 12.6 V, 40 %,
// claim run-time cut-out + 3s.
//
// A Value is exact: a ratio of whole numbers in the base unit of its dimension,
// rounded once, when it becomes a whole number of nanoseconds or microamperes.
// Operators stand between spaces, because hyphens belong to words. Every error
// says at which character of the text it arises and which units would do.
package quantity
