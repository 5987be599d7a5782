// Package fault bends what a line would do into what it does when something is
// wrong with it: a magnet that fell off, a contact that bounces, a wire that
// broke.
//
// A fault is a pure function from timelines to timelines. It knows no bench and
// no gate, so the same fault works on every bench and can be printed and tested
// alone. Whatever it draws at random comes from its seed and the number of the
// edge that it bends, so bending a longer timeline again leaves the part that
// has already happened as it was.
package fault
