package lines

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"unsafe"

	"golang.org/x/sys/unix"
)

// A Chip is an open GPIO chip. Lines stay open when their chip is closed.
type Chip struct {
	file  *os.File
	Name  string // as the kernel counts it, such as gpiochip0
	Label string // what it is, such as pinctrl-bcm2711
	Lines int
}

// Open opens a chip by its device file, such as /dev/gpiochip0.
func Open(path string) (*Chip, error) {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return nil, refused(path, err)
	}
	var info unix.GPIOChipInfo
	if err := ioctl(f, unix.GPIO_GET_CHIPINFO_IOCTL, unsafe.Pointer(&info)); err != nil {
		_ = f.Close()
		return nil, fmt.Errorf("ask %s what chip it is: %w", path, err)
	}
	return &Chip{f, text(info.Name[:]), text(info.Label[:]), int(info.Lines)}, nil
}

// refused says how to get what the system does not give.
func refused(path string, err error) error {
	switch {
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("open GPIO chip: %w; to be allowed: add this user to the group that owns the device (ls -l %s; on a Raspberry Pi: sudo adduser $USER gpio) and log in anew", err, path)
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("open GPIO chip: %w; there are: %s", errors.Join(err, ErrNoGPIO), present())
	}
	return fmt.Errorf("open GPIO chip: %w", err)
}

// devices gives the device files of all chips, without links to them: a Raspberry
// Pi may have one chip under two names.
func devices() []string {
	all, _ := filepath.Glob("/dev/gpiochip*")
	var real []string
	for _, path := range all {
		if info, err := os.Lstat(path); err == nil && info.Mode()&fs.ModeSymlink == 0 {
			real = append(real, path)
		}
	}
	return real
}

func present() string {
	if all := devices(); len(all) > 0 {
		return strings.Join(all, ", ")
	}
	return "none (the bench needs a Raspberry Pi, or another machine with GPIO lines, with Linux 5.10 or later)"
}

// Find opens the first chip that has one of the labels.
func Find(labels ...string) (*Chip, error) {
	var errs []error
	var seen []string
	for _, path := range devices() {
		c, err := Open(path)
		if err != nil {
			errs = append(errs, err)
			continue
		}
		for _, label := range labels {
			if c.Label == label {
				return c, nil
			}
		}
		seen = append(seen, c.String())
		_ = c.Close()
	}
	what := fmt.Errorf("find a GPIO chip labelled %s: there are: %s", strings.Join(labels, " or "), strings.Join(seen, ", "))
	if len(seen) == 0 && len(errs) == 0 {
		what = fmt.Errorf("find a GPIO chip labelled %s: %w: %s", strings.Join(labels, " or "), ErrNoGPIO, present())
	}
	return nil, errors.Join(append(errs, what)...)
}

// String is such as "gpiochip0 (pinctrl-rp1)".
func (c *Chip) String() string { return c.Name + " (" + c.Label + ")" }

// Close lets go of the chip. It may be called more than once.
func (c *Chip) Close() error {
	if err := c.file.Close(); err != nil && !errors.Is(err, os.ErrClosed) {
		return fmt.Errorf("close %v: %w", c, err)
	}
	return nil
}

// Info is what the kernel says of a line.
type Info struct {
	Name   string
	Holder string // who has it
	Used   bool
	Output bool
}

// Info asks the kernel for a line.
func (c *Chip) Info(offset uint32) (Info, error) {
	raw := unix.GPIOV2LineInfo{Offset: offset}
	if err := ioctl(c.file, unix.GPIO_V2_GET_LINEINFO_IOCTL, unsafe.Pointer(&raw)); err != nil {
		return Info{}, fmt.Errorf("ask %v for line %d: %w", c, offset, err)
	}
	return Info{text(raw.Name[:]), text(raw.Consumer[:]), raw.Flags&flagUsed != 0, raw.Flags&flagOutput != 0}, nil
}

// request takes lines from the kernel, all or none, and gives their descriptor.
func (c *Chip) request(w want) (int, error) {
	r := w.layout()
	if err := c.within(w.offsets); err != nil {
		return -1, err
	}
	if err := ioctl(c.file, unix.GPIO_V2_GET_LINE_IOCTL, unsafe.Pointer(&r)); err != nil {
		return -1, c.why(w, err)
	}
	if err := unix.SetNonblock(int(r.Fd), true); err != nil {
		_ = unix.Close(int(r.Fd))
		return -1, fmt.Errorf("make the lines of %v non-blocking: %w", c, err)
	}
	return int(r.Fd), nil
}

func (c *Chip) within(offsets []uint32) error {
	var errs []error
	for _, o := range offsets {
		if int64(o) >= int64(c.Lines) {
			errs = append(errs, fmt.Errorf("%v has lines 0 to %d, and no line %d", c, c.Lines-1, o))
		}
	}
	return errors.Join(errs...)
}

// why makes an error that names the lines, and who holds them.
func (c *Chip) why(w want, err error) error {
	errs := []error{fmt.Errorf("take lines %v of %v: %w", w.offsets, c, err)}
	if errors.Is(err, unix.EBUSY) {
		for _, o := range w.offsets {
			if info, err := c.Info(o); err == nil && info.Used {
				errs = append(errs, &Held{c.String(), o, info.Name, info.Holder})
			}
		}
	}
	return errors.Join(errs...)
}

// layout writes a request as the kernel reads it.
func (w want) layout() (r unix.GPIOV2LineRequest) {
	copy(r.Offsets[:], w.offsets)
	copy(r.Consumer[:longestName], w.consumer)
	r.Num_lines = uint32(len(w.offsets))
	r.Event_buffer_size = w.buffer
	groups := w.groups()
	r.Config.Flags = groups[0].flags
	attribute := func(id uint32, value, mask uint64) {
		r.Config.Attrs[r.Config.Num_attrs] = unix.GPIOV2LineConfigAttribute{
			Attr: unix.GPIOV2LineAttribute{Id: id, Flags: value}, Mask: mask,
		}
		r.Config.Num_attrs++
	}
	for _, g := range groups[1:] {
		attribute(unix.GPIO_V2_LINE_ATTR_ID_FLAGS, g.flags, g.mask)
	}
	if w.outputs {
		attribute(unix.GPIO_V2_LINE_ATTR_ID_OUTPUT_VALUES, w.initial, w.initial)
	}
	return r
}

func ioctl(f *os.File, request uint, arg unsafe.Pointer) error {
	conn, err := f.SyscallConn()
	if err != nil {
		return err
	}
	var errno unix.Errno
	if err := conn.Control(func(fd uintptr) {
		_, _, errno = unix.Syscall(unix.SYS_IOCTL, fd, uintptr(request), uintptr(arg))
	}); err != nil {
		return err
	}
	if errno != 0 {
		return errno
	}
	return nil
}

// The sizes that the kernel's numbers of these calls have in them, on every
// architecture: a build where they differ does not compile.
var (
	_ [592]byte = [unsafe.Sizeof(unix.GPIOV2LineRequest{})]byte{}
	_ [256]byte = [unsafe.Sizeof(unix.GPIOV2LineInfo{})]byte{}
	_ [16]byte  = [unsafe.Sizeof(unix.GPIOV2LineValues{})]byte{}
	_ [48]byte  = [unsafe.Sizeof(unix.GPIOV2LineEvent{})]byte{}
	_ [68]byte  = [unsafe.Sizeof(unix.GPIOChipInfo{})]byte{}
)
