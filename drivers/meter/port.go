package meter

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"time"

	"go.bug.st/serial"
)

// A Port is a serial port. As go.bug.st/serial has it, a Read that times out
// gives no bytes and no error.
type Port interface {
	Read(p []byte) (int, error)
	Write(p []byte) (int, error)
	SetReadTimeout(time.Duration) error
	Close() error
}

var parities = map[string]serial.Parity{"none": serial.NoParity, "even": serial.EvenParity, "odd": serial.OddParity}

// OpenPort opens the port of a configuration, for whoever speaks on it, and drops
// what had come before. A Read waits for ever unless a time-out is set. The port
// may be closed while another goroutine reads or writes.
func OpenPort(c Config) (Port, error) {
	c = c.Filled()
	mode := &serial.Mode{BaudRate: c.Baud, DataBits: c.DataBits, Parity: parities[c.Parity], StopBits: serial.OneStopBit}
	if c.StopBits == 2 {
		mode.StopBits = serial.TwoStopBits
	}
	what := fmt.Sprintf("open at %d baud, %d data bits, parity %s, %d stop", c.Baud, c.DataBits, c.Parity, c.StopBits)
	p, err := serial.Open(c.Port, mode)
	if err != nil {
		return nil, fmt.Errorf("%s: %w%s", what, err, portHint(err))
	}
	if err := p.ResetInputBuffer(); err != nil {
		return nil, errors.Join(fmt.Errorf("%s: drop old input: %w", what, err), p.Close())
	}
	return &guarded{port: p}, nil
}

// portHint says what to do about a port that does not open.
func portHint(err error) string {
	var pe *serial.PortError
	code := serial.PortErrorCode(-1)
	if errors.As(err, &pe) {
		code = pe.Code()
	}
	switch {
	case code == serial.PermissionDenied || errors.Is(err, fs.ErrPermission):
		return "; serial ports belong to the group dialout: sudo usermod -aG dialout $USER, then log in again"
	case code == serial.PortBusy:
		return "; another program has it open"
	case errors.Is(err, fs.ErrNotExist):
		return "; is the meter plugged in? " + portsThere("/dev")
	case errors.Is(err, syscall.ENXIO):
		return "; it may have been plugged in this moment: try again"
	case code == serial.InvalidSerialPort:
		return "; it may be no serial port"
	case code == serial.InvalidSpeed:
		return "; this port does not run at that speed"
	}
	return ""
}

// portsThere lists the ports by their names alone. The library's own list opens
// and sets each port, and would disturb a bench that is running.
func portsThere(dev string) string {
	var found []string
	for _, pattern := range []string{"serial/by-id/*", "ttyUSB*", "ttyACM*", "ttyAMA*"} {
		names, _ := filepath.Glob(filepath.Join(dev, pattern)) // fails only on a bad pattern
		found = append(found, names...)
	}
	if len(found) == 0 {
		return "no port of a USB meter is there now"
	}
	return "there are now " + strings.Join(found, ", ")
}

var errPortClosed = errors.New("port is closed")

// A guarded port makes up for what the library leaves open: a write after close
// would go to whatever file has the old number by then, and close does not end a
// write that is blocked. A port whose writer is blocked is let go of by that
// writer, when it comes back.
type guarded struct {
	port serial.Port

	mu      sync.Mutex
	writing bool
	closed  bool
}

func (g *guarded) Read(p []byte) (int, error) { return g.port.Read(p) }

func (g *guarded) SetReadTimeout(d time.Duration) error { return g.port.SetReadTimeout(d) }

func (g *guarded) Write(p []byte) (int, error) {
	g.mu.Lock()
	if g.closed {
		g.mu.Unlock()
		return 0, fmt.Errorf("write: %w", errPortClosed)
	}
	g.writing = true
	g.mu.Unlock()

	n, err := g.port.Write(p)

	g.mu.Lock()
	defer g.mu.Unlock()
	g.writing = false
	if g.closed {
		err = errors.Join(err, g.port.Close())
	}
	if err == nil && n < len(p) {
		err = fmt.Errorf("wrote %d of %d bytes", n, len(p))
	}
	return n, err
}

// Close lets go of the port, or says that a blocked write still holds it.
func (g *guarded) Close() error {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.closed {
		return nil
	}
	g.closed = true
	for range 20 { // what is being written may only be slow
		if !g.writing {
			break
		}
		g.mu.Unlock()
		time.Sleep(5 * time.Millisecond)
		g.mu.Lock()
	}
	if g.writing {
		return errors.New("a write is blocked; the port is let go of when it ends")
	}
	return g.port.Close()
}
