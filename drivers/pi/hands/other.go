//go:build !linux

package hands

// Main returns at once: there are no hands on this system.
func Main() {}
