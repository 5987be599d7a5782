//go:build !linux

// Command vminit is the first program of the virtual machine that tests run in.
package main

func main() { panic("vminit: this runs as the first program of a Linux guest only") }
