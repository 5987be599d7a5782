package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// A program that waits for a reader who does not read has done with its run, and ends at
// the second Ctrl-C.
func TestASecondInterruptEndsAProgramThatHangs(t *testing.T) {
	program := filepath.Join(t.TempDir(), "pintle")
	require.NoError(t, os.Symlink(os.Args[0], program))
	cmd := exec.Command(program, "run", "normal-cycle", "--json", "--trials", "400")
	cmd.Dir = t.TempDir()
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	size, err := unix.FcntlInt(out.(*os.File).Fd(), unix.F_GETPIPE_SZ, 0)
	require.NoError(t, err)
	require.Eventually(t, func() bool {
		waiting, err := unix.IoctlGetInt(int(out.(*os.File).Fd()), unix.TIOCINQ)
		return err == nil && waiting > size-4096
	}, time.Minute, 10*time.Millisecond, "the pipe fills up")
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	interrupt := func() { require.NoError(t, cmd.Process.Signal(os.Interrupt)) }
	interrupt()
	select {
	case <-ended:
		t.Fatal("it ended, and was to hang")
	case <-time.After(2 * time.Second): // it ends its run meanwhile
	}
	interrupt()
	select {
	case <-ended:
		s := cmd.ProcessState.Sys().(syscall.WaitStatus)
		assert.Equal(t, syscall.SIGINT, s.Signal())
	case <-time.After(10 * time.Second):
		_ = cmd.Process.Kill()
		t.Error("it cannot be ended but by force")
	}
}
