package guest

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

const simRoot = "/sys/kernel/config/gpio-sim"

// A Chip is one live simulated GPIO chip.
type Chip struct {
	t     testing.TB
	Name  string // gpiochipN
	Path  string // /dev/gpiochipN
	lines int
	conf  string // its folder in configfs
	sys   string // its folder in sysfs, with sim_gpioM/{pull,value}
}

// NewChip makes a chip with a label and one line for each name, and takes it away
// at the end of the test.
func NewChip(t testing.TB, label string, lines ...string) *Chip {
	t.Helper()
	c := &Chip{t: t, conf: filepath.Join(simRoot, label)}
	bank := filepath.Join(c.conf, "bank0")
	c.mkdir(bank)
	c.write(filepath.Join(bank, "num_lines"), fmt.Sprint(len(lines)))
	c.write(filepath.Join(bank, "label"), label)
	for i, name := range lines {
		dir := filepath.Join(bank, fmt.Sprintf("line%d", i))
		c.mkdir(dir)
		c.write(filepath.Join(dir, "name"), name)
	}
	c.write(filepath.Join(c.conf, "live"), "1")
	c.Name = c.read(filepath.Join(bank, "chip_name"))
	c.Path = "/dev/" + c.Name
	c.sys = filepath.Join("/sys/devices/platform", c.read(filepath.Join(c.conf, "dev_name")), c.Name)
	c.lines = len(lines)
	t.Cleanup(c.Remove)
	c.await()
	return c
}

// await waits until devtmpfs has made the node, in a kernel thread of its own.
func (c *Chip) await() {
	c.t.Helper()
	for end := time.Now().Add(2 * time.Second); ; time.Sleep(time.Millisecond) {
		_, err := os.Stat(c.Path)
		if err == nil {
			return
		}
		if time.Now().After(end) {
			c.t.Fatalf("the kernel did not make the chip's device: %v", err)
		}
	}
}

// Remove takes the chip away for good. It may be called more than once.
func (c *Chip) Remove() {
	lines := c.lines
	_ = os.WriteFile(filepath.Join(c.conf, "live"), []byte("0"), 0o644)
	bank := filepath.Join(c.conf, "bank0")
	for i := range lines {
		_ = os.Remove(filepath.Join(bank, fmt.Sprintf("line%d", i)))
	}
	_ = os.Remove(bank)
	_ = os.Remove(c.conf)
}

// Level is the electrical level of a line as the chip has it: what an output
// drives, or what an input sees.
func (c *Chip) Level(line int) bool { return c.read(c.file(line, "value")) == "1" }

// Pull sets the level that an input sees, as a wire from outside does.
func (c *Chip) Pull(line int, high bool) {
	c.t.Helper()
	word := "pull-down"
	if high {
		word = "pull-up"
	}
	c.write(c.file(line, "pull"), word)
}

// Pulled is the last level that an input was given, by Pull or by a bias that a
// program asked for: pull-up or pull-down.
func (c *Chip) Pulled(line int) string { return c.read(c.file(line, "pull")) }

// Unplug takes the chip away while programs may still hold its lines.
func (c *Chip) Unplug() { c.t.Helper(); c.write(filepath.Join(c.conf, "live"), "0") }

func (c *Chip) file(line int, attribute string) string {
	return filepath.Join(c.sys, fmt.Sprintf("sim_gpio%d", line), attribute)
}

func (c *Chip) mkdir(dir string) {
	c.t.Helper()
	if err := os.MkdirAll(dir, 0o755); err != nil {
		c.t.Fatal(err)
	}
}

func (c *Chip) write(file, s string) {
	c.t.Helper()
	if err := os.WriteFile(file, []byte(s), 0o644); err != nil {
		c.t.Fatal(err)
	}
}

func (c *Chip) read(file string) string {
	c.t.Helper()
	b, err := os.ReadFile(file)
	if err != nil {
		c.t.Fatal(err)
	}
	return strings.TrimSpace(string(b))
}
