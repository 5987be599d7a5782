package guest

import (
	"os"
	"path/filepath"
	"testing"
	"time"
)

const gadgetRoot = "/sys/kernel/config/usb_gadget"

// A USBSerial is a USB serial port whose two ends are both in this machine: the kernel's
// dummy host controller with a gadget of its own ACM function plugged in.
type USBSerial struct {
	t      testing.TB
	Host   string // the port of whoever has the cable in
	Device string // the port inside the meter
	conf   string
}

// PlugUSBSerial plugs a USB serial port in, and takes it away at the end of the test.
func PlugUSBSerial(t testing.TB) *USBSerial {
	t.Helper()
	u := &USBSerial{t: t, Host: "/dev/ttyACM0", Device: "/dev/ttyGS0", conf: filepath.Join(gadgetRoot, "meter")}
	c := &Chip{t: t} // for its ways with files
	for _, dir := range []string{"", "strings/0x409", "configs/c.1", "functions/acm.usb0"} {
		c.mkdir(filepath.Join(u.conf, dir))
	}
	for file, text := range map[string]string{"idVendor": "0x1d6b", "idProduct": "0x0104", "strings/0x409/product": "current meter"} {
		c.write(filepath.Join(u.conf, file), text)
	}
	if err := os.Symlink(filepath.Join(u.conf, "functions/acm.usb0"), filepath.Join(u.conf, "configs/c.1/acm.usb0")); err != nil {
		t.Fatal(err)
	}
	controllers, err := os.ReadDir("/sys/class/udc")
	if err != nil || len(controllers) == 0 {
		t.Fatalf("the kernel has no USB device controller: %v", err)
	}
	c.write(filepath.Join(u.conf, "UDC"), controllers[0].Name())
	t.Cleanup(u.Remove)
	for end := time.Now().Add(5 * time.Second); !u.there(); time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("the kernel did not make the ports of the USB serial port")
		}
	}
	return u
}

func (u *USBSerial) there() bool {
	_, host := os.Stat(u.Host)
	_, device := os.Stat(u.Device)
	return host == nil && device == nil
}

// Unplug pulls the cable out while programs may still have the ports open.
func (u *USBSerial) Unplug() {
	u.t.Helper()
	if err := os.WriteFile(filepath.Join(u.conf, "UDC"), []byte("\n"), 0o644); err != nil {
		u.t.Fatal(err)
	}
}

// Remove takes it all away. It may be called more than once.
func (u *USBSerial) Remove() {
	_ = os.WriteFile(filepath.Join(u.conf, "UDC"), []byte("\n"), 0o644)
	for _, name := range []string{"configs/c.1/acm.usb0", "functions/acm.usb0", "configs/c.1", "strings/0x409", ""} {
		_ = os.Remove(filepath.Join(u.conf, name))
	}
}
