package board

import (
	"errors"
	"fmt"
	"os"
	"strings"

	"periph.io/x/host/v3/rpi"
)

// ChipLabels are the labels of the chips whose lines come to the connector, the
// line's offset being its GPIO number: of boards of the fifth, the fourth, and the
// earlier generations (the drivers' names in the Linux kernel's drivers/pinctrl).
func ChipLabels() []string { return []string{"pinctrl-rp1", "pinctrl-bcm2711", "pinctrl-bcm2835"} }

// modelFile is where the kernel says which board it runs on.
const modelFile = "/proc/device-tree/model"

// Model gives the board's model as its firmware tells it, and whether that is a
// Raspberry Pi. Where it does not say, the firmware's own driver tells.
func Model() (model string, isPi bool, err error) {
	model, isPi, err = read(modelFile)
	return model, isPi || rpi.Present(), err
}

func read(file string) (string, bool, error) {
	b, err := os.ReadFile(file)
	if errors.Is(err, os.ErrNotExist) {
		return "", false, nil
	}
	if err != nil {
		return "", false, fmt.Errorf("read which board this is: %w", err)
	}
	model := strings.TrimRight(string(b), "\x00\n")
	return model, strings.HasPrefix(model, "Raspberry Pi "), nil
}
