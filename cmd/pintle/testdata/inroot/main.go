//go:build linux

// Command inroot is started by the test kernel with a Debian root at its own end, as a
// tar: it unpacks the root and runs a shell line in it. Called as "inroot try" it takes
// what the hands take, and says what it got.
package main

import (
	"archive/tar"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"unsafe"

	"golang.org/x/sys/unix"
)

const root = "/inroot"

func main() {
	if len(os.Args) == 2 && os.Args[1] == "try" {
		try()
		return
	}
	if err := run(os.Args[1]); err != nil {
		fmt.Println("inroot:", err)
		os.Exit(1)
	}
}

// try asks for real-time priorities at and above the limit, and locked memory, by the
// calls that the hands make.
func try() {
	for _, p := range []uint32{80, 81} {
		attr := unix.SchedAttr{Size: uint32(unsafe.Sizeof(unix.SchedAttr{})), Policy: 1, Priority: p}
		fmt.Printf("priority %d: %v\n", p, unix.SchedSetAttr(0, &attr, 0))
	}
	fmt.Printf("memory: %v\n", unix.Mlockall(unix.MCL_CURRENT|unix.MCL_FUTURE))
	for _, path := range []string{"/dev/gpiochip0", "/dev/ttyS1"} {
		f, err := os.OpenFile(path, os.O_RDWR|unix.O_NOCTTY|unix.O_NONBLOCK, 0)
		if err == nil {
			err = f.Close()
		}
		fmt.Printf("open: %v\n", err)
	}
}

func run(line string) error {
	if err := unpack(); err != nil {
		return err
	}
	for _, fs := range [][2]string{{"proc", "proc"}, {"devtmpfs", "dev"}, {"sysfs", "sys"}, {"configfs", "sys/kernel/config"}, {"tmpfs", "run"}} {
		dir := filepath.Join(root, fs[1])
		if err := errors.Join(os.MkdirAll(dir, 0o755), syscall.Mount(fs[0], dir, fs[0], 0, "")); err != nil {
			return fmt.Errorf("mount %s: %w", fs[1], err)
		}
	}
	cmd := exec.Command("/bin/sh", "-c", line)
	cmd.SysProcAttr = &syscall.SysProcAttr{Chroot: root}
	cmd.Dir = "/"
	cmd.Env = []string{"PATH=/usr/sbin:/usr/bin:/sbin:/bin"}
	cmd.Stdout, cmd.Stderr = os.Stdout, os.Stdout
	return cmd.Run()
}

// unpack lays out the root: a tar, followed by its length in eight bytes.
func unpack() error {
	self, err := os.Open("/proc/self/exe")
	if err != nil {
		return err
	}
	defer self.Close()
	end, err := self.Seek(-8, io.SeekEnd)
	if err != nil {
		return err
	}
	var n int64
	if err := binary.Read(self, binary.BigEndian, &n); err != nil {
		return err
	}
	for r := tar.NewReader(io.NewSectionReader(self, end-n, n)); ; {
		h, err := r.Next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		if err := lay(h, r); err != nil {
			return fmt.Errorf("unpack %s: %w", h.Name, err)
		}
	}
}

func lay(h *tar.Header, r io.Reader) error {
	path := filepath.Join(root, h.Name)
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	switch h.Typeflag {
	case tar.TypeDir:
		if err := os.MkdirAll(path, 0o755); err != nil {
			return err
		}
	case tar.TypeSymlink:
		return os.Symlink(h.Linkname, path)
	case tar.TypeLink:
		return os.Link(filepath.Join(root, h.Linkname), path)
	case tar.TypeReg:
		data, err := io.ReadAll(r)
		if err != nil {
			return err
		}
		if err := os.WriteFile(path, data, 0o644); err != nil {
			return err
		}
	}
	if err := os.Chown(path, h.Uid, h.Gid); err != nil {
		return err
	}
	return os.Chmod(path, h.FileInfo().Mode())
}
