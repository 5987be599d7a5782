// Package metertest gives tests a serial line without a serial port: pseudo
// terminals, which carry real bytes in real time.
//
// What they do not have is speed: bytes arrive at once, whatever the baud rate.
package metertest

import (
	"io"
	"os"
	"sync"
	"syscall"
	"testing"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
	"golang.org/x/term"
)

// Port makes one pseudo terminal. What is written to the file arrives at the port
// of that name, and the other way round. Closing the file is pulling the plug.
func Port(t testing.TB) (far *os.File, name string) {
	t.Helper()
	far, near, err := pty.Open()
	require.NoError(t, err, "make a pseudo terminal")
	_, err = term.MakeRaw(int(near.Fd())) // or it would echo until somebody opens it
	require.NoError(t, err, "set it raw")
	far = pollable(t, far)
	t.Cleanup(func() { _, _ = far.Close(), near.Close() })
	return far, near.Name()
}

// pollable gives the same file in a form whose Close ends a Read that waits.
func pollable(t testing.TB, f *os.File) *os.File {
	t.Helper()
	fd, err := syscall.Dup(int(f.Fd()))
	require.NoError(t, err)
	require.NoError(t, syscall.SetNonblock(fd, true))
	require.NoError(t, f.Close())
	return os.NewFile(uintptr(fd), "pseudo terminal") // finds it non-blocking, so it polls
}

// A Wire ties two ports together.
type Wire struct {
	A, B string // the names of the ports at its ends
	cut  func()
}

// NewWire makes a wire, which is cut when the test ends.
func NewWire(t testing.TB) *Wire {
	t.Helper()
	farA, a := Port(t)
	farB, b := Port(t)
	var copies sync.WaitGroup
	copies.Go(func() { io.Copy(farA, farB) }) // ends when the wire is cut, in an error that says so
	copies.Go(func() { io.Copy(farB, farA) })
	w := &Wire{A: a, B: b, cut: sync.OnceFunc(func() {
		farA.Close()
		farB.Close()
		copies.Wait()
	})}
	t.Cleanup(w.cut)
	return w
}

// Cut pulls both plugs.
func (w *Wire) Cut() { w.cut() }
