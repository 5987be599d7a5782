// Package thermal is the thermal replica of a part that current heats, after IEC
// 60255-149: a first-order model whose load is 1 where the part is as hot as it may
// be.
//
// A steady current I brings the load to (I/Ith)² in the end, Ith being the current
// that the part stands for ever; on the way there it follows an exponential with
// one time constant. Ambient temperature is taken to be the one of the rating.
package thermal
