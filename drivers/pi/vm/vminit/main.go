//go:build linux

// Command vminit is the first program of the virtual machine that tests run in.
//
// It mounts the kernel's file systems, runs /test with the arguments in /args (one
// on a line), and ends the machine with the exit status of that program.
package main

import (
	"bufio"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"runtime"
	"strings"

	"golang.org/x/sys/unix"
)

func main() {
	status := 125
	if err := setup(); err != nil {
		fmt.Fprintln(os.Stderr, "vminit:", err)
	} else {
		status = run()
	}
	unix.Sync()
	powerOff(status)
}

func setup() error {
	for _, m := range []struct{ fs, dir string }{
		{"proc", "/proc"},
		{"sysfs", "/sys"},
		{"configfs", "/sys/kernel/config"},
		{"debugfs", "/sys/kernel/debug"},
		{"tracefs", "/sys/kernel/tracing"},
		{"devtmpfs", "/dev"},
		{"devpts", "/dev/pts"},
		{"tmpfs", "/tmp"},
	} {
		// The directories inside sysfs exist already, if the kernel has them.
		_ = os.MkdirAll(m.dir, 0o755)
		err := unix.Mount(m.fs, m.dir, m.fs, 0, "")
		if errors.Is(err, unix.ENODEV) || errors.Is(err, unix.ENOENT) || errors.Is(err, unix.EBUSY) {
			continue // not in this kernel, or mounted already
		}
		if err != nil {
			return fmt.Errorf("mount %s: %w", m.dir, err)
		}
	}
	// Print "\n" as it is, not as "\r\n".
	if t, err := unix.IoctlGetTermios(1, unix.TCGETS); err == nil {
		t.Oflag &^= unix.OPOST
		_ = unix.IoctlSetTermios(1, unix.TCSETS, t)
	}
	return nil
}

func run() int {
	var args []string
	if f, err := os.Open("/args"); err == nil {
		for s := bufio.NewScanner(f); s.Scan(); {
			args = append(args, s.Text())
		}
		f.Close()
	}
	cmd := exec.Command("/test", args...)
	cmd.Dir = "/tmp"
	cmd.Env = []string{"PATH=/", "HOME=/tmp", "TMPDIR=/tmp", "PINTLE_GUEST=1"}
	for _, e := range os.Environ() { // NAME=value words of the kernel command line
		if strings.HasPrefix(e, "T_") {
			cmd.Env = append(cmd.Env, e[2:])
		}
	}
	cmd.Stdin, cmd.Stdout, cmd.Stderr = os.Stdin, os.Stdout, os.Stderr
	err := cmd.Run()
	var exit *exec.ExitError
	switch {
	case err == nil:
		return 0
	case errors.As(err, &exit) && exit.ExitCode() >= 0:
		return min(exit.ExitCode(), 125)
	default: // not started, or killed by a signal
		fmt.Fprintln(os.Stderr, "vminit:", err)
		return 125
	}
}

func powerOff(status int) {
	if runtime.GOARCH == "amd64" { // elsewhere a write to /dev/port may oops
		if f, err := os.OpenFile("/dev/port", os.O_WRONLY, 0); err == nil {
			_, _ = f.WriteAt([]byte{byte(status + 1)}, 0xf4)
		}
	}
	fmt.Printf("\nVM-EXIT %d\n", status)
	_ = unix.Reboot(unix.LINUX_REBOOT_CMD_POWER_OFF)
	_ = unix.Reboot(unix.LINUX_REBOOT_CMD_RESTART)
	select {}
}
