// Package vm runs a package's tests on a real Linux kernel inside a small virtual
// machine.
//
// A test calls Tests from outside: it builds the package's own test binary, boots
// the kernel with it, and passes on what it says. A test that is meant for the
// inside begins with guest.Only. The kernel is built once on a machine by
// build-kernel.sh, into the user's cache folder.
package vm
