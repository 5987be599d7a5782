package main

import (
	"os"

	"golang.org/x/term"
)

// raw lets all bytes through a terminal as they are.
func raw(tty *os.File) error {
	_, err := term.MakeRaw(int(tty.Fd()))
	return err
}
