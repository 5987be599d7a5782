package vm

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pintle/rig/need"
)

// Options change the machine that a program runs in. The zero value is one
// processor, 256 MiB, eight minutes, in which a busy host is done as well.
type Options struct {
	CPUs    int
	MiB     int
	Timeout time.Duration
	UARTs   bool     // ttyS1 and ttyS2, wired to each other
	Env     []string // NAME=value words for the program, without spaces
}

// A Result is what a program in the virtual machine left behind.
type Result struct {
	Output string // of the program, with errors of the kernel
	Status int    // its exit status; 125: it was not started, or killed
}

// Run boots the test kernel, runs a static linux/amd64 program as root in it, and
// gives what came of it. The test is skipped where QEMU or the kernel is missing.
func Run(t testing.TB, program string, args ...string) Result {
	t.Helper()
	return Options{}.Run(t, program, args...)
}

// Run is Run in a machine with these options.
func (o Options) Run(t testing.TB, program string, args ...string) Result {
	t.Helper()
	qemu := need.Tool(t, "qemu-system-x86_64", "apt-get install qemu-system-x86")
	image := kernel(t)
	dir := t.TempDir()
	initrd := filepath.Join(dir, "initrd")
	if err := os.WriteFile(initrd, archive(tree(t, dir, program, args)), 0o644); err != nil {
		t.Fatal(err)
	}
	r, err := o.boot(qemu, image, initrd, dir)
	if err != nil {
		t.Fatalf("run %s in the virtual machine: %v\n%s", filepath.Base(program), err, r.Output)
	}
	return r
}

// tree is the guest's file system: its init, the program, and its arguments.
func tree(t testing.TB, dir, program string, args []string) []entry {
	t.Helper()
	initProgram := filepath.Join(dir, "init")
	build(t, "build", "-o", initProgram, "pintle/drivers/pi/vm/vminit")
	entries := []entry{
		{"dev", 0o040755, nil}, {"proc", 0o040755, nil}, {"sys", 0o040755, nil}, {"tmp", 0o041777, nil},
		{"args", 0o100644, []byte(strings.Join(args, "\n"))},
	}
	for _, f := range [][2]string{{"init", initProgram}, {"test", program}} {
		data, err := os.ReadFile(f[1])
		if err != nil {
			t.Fatal(err)
		}
		entries = append(entries, entry{f[0], 0o100755, data})
	}
	return entries
}

// build calls the go command for a static program of the guest's kind.
func build(t testing.TB, args ...string) {
	t.Helper()
	cmd := exec.Command("go", args...)
	cmd.Env = append(os.Environ(), "CGO_ENABLED=0", "GOOS=linux", "GOARCH=amd64")
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("go %s: %v\n%s", strings.Join(args, " "), err, out)
	}
}

func (o Options) boot(qemu, image, initrd, dir string) (Result, error) {
	timeout := o.Timeout
	if timeout == 0 {
		timeout = 8 * time.Minute
	}
	ctx, stop := context.WithTimeout(context.Background(), timeout)
	defer stop()
	out, err := exec.CommandContext(ctx, qemu, o.machine(image, initrd, dir)...).CombinedOutput()
	r := Result{Output: string(out), Status: -1}
	if ctx.Err() != nil {
		return r, fmt.Errorf("it was not done after %v, and was killed", timeout)
	}
	r.Status, err = status(err)
	return r, err
}

func (o Options) machine(image, initrd, dir string) []string {
	words := "console=ttyS0 quiet tsc=reliable loglevel=4 panic=-1"
	for _, e := range o.Env {
		words += " T_" + e
	}
	args := []string{
		"-nodefaults", "-no-user-config", "-display", "none", "-no-reboot",
		"-M", "pc", "-cpu", "max", "-accel", "tcg",
		"-smp", fmt.Sprint(max(o.CPUs, 1)), "-m", fmt.Sprint(max(o.MiB, 256)),
		"-kernel", image, "-initrd", initrd, "-append", words,
		"-device", "isa-debug-exit,iobase=0xf4,iosize=1", "-serial", "stdio",
	}
	if o.UARTs {
		wire := filepath.Join(dir, "wire")
		args = append(args,
			"-chardev", "socket,id=s1,path="+wire+",server=on,wait=off", "-serial", "chardev:s1",
			"-chardev", "socket,id=s2,path="+wire, "-serial", "chardev:s2")
	}
	return args
}

// status makes the program's exit status of QEMU's: the guest's init ends QEMU with
// twice the status plus 3. 1 is QEMU's own failure, and 0 a guest that stopped
// without a status, as in a panic of its kernel.
func status(err error) (int, error) {
	code := 0
	var exit *exec.ExitError
	switch {
	case errors.As(err, &exit):
		code = exit.ExitCode()
	case err != nil:
		return -1, err
	}
	switch {
	case code == 0:
		return -1, errors.New("the guest stopped without a status")
	case code < 3 || code%2 == 0:
		return -1, fmt.Errorf("QEMU failed with %d", code)
	}
	return (code - 3) / 2, nil
}

// Tests builds the test binary of a package, runs those of its tests in the virtual
// machine that match the pattern, and fails with what they say. Silence is no pass:
// the tests must have said that they passed, and none may have been skipped.
func (o Options) Tests(t *testing.T, pkg, pattern string) Result {
	t.Helper()
	need.Tool(t, "qemu-system-x86_64", "apt-get install qemu-system-x86")
	kernel(t) // skip before anything is built
	binary := filepath.Join(t.TempDir(), "guest.test")
	build(t, "test", "-c", "-o", binary, pkg)
	r := o.Run(t, binary, "-test.v", "-test.run="+pattern)
	if r.Status != 0 || !strings.Contains(r.Output, "--- PASS: ") || strings.Contains(r.Output, "--- SKIP: ") {
		t.Fatalf("tests in the virtual machine ended with status %d:\n%s", r.Status, r.Output)
	}
	t.Log(r.Output)
	return r
}

// Tests is Tests in a machine of the usual kind.
func Tests(t *testing.T, pkg, pattern string) Result {
	t.Helper()
	return Options{}.Tests(t, pkg, pattern)
}
