// Package linear propagates linear equations over whole nanoseconds, exactly.
//
// The solution of dx/dt = a·x over a time is the exponential of a. Tables hold it
// for every digit of a time in nanoseconds written in base 64, so that a time that
// no one foresaw costs a few products, and the powers of two among them serve to
// find the first nanosecond at which something is so, by halving.
//
// Sums and products are all that it uses, and no product is fused with a sum: the
// results are the same to the last bit on every machine.
package linear
