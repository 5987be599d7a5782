package header

import (
	"fmt"
	"strconv"
	"strings"
)

// Pins is how many pins the connector has, counted from 1.
const Pins = 40

// Kind says what a pin is for.
type Kind uint8

const (
	GPIO     Kind = 1 // a line that may be driven or sensed; 3.3 V at most
	Ground   Kind = 2
	Volts3_3 Kind = 3
	Volts5   Kind = 4
	Reserved Kind = 5 // a line that the board uses itself, to read what is plugged on
)

// A Pin is one pin of the connector.
type Pin struct {
	Number int    // on the connector
	Kind   Kind   // of it
	Line   uint32 // of GPIO and Reserved: offset on the chip, the number in the name
	Shared string // what else the pin is used for where it is switched on, or empty
	Bus    Bus    // that this belongs to, or empty
}

// A Bus is a part of the board that takes pins for itself where it is switched on.
type Bus string

const (
	I2C     Bus = "i2c"
	SPI     Bus = "spi"
	Serial  Bus = "serial"
	OneWire Bus = "1-wire"
	I2S     Bus = "i2s"
)

// Buses is the table of all of them, by the words that files have for them.
var Buses = [...]struct {
	Bus   Bus
	Means string
}{
	{I2C, "the I2C bus"}, {SPI, "the SPI bus"}, {Serial, "the board's own serial port"}, {OneWire, "the 1-Wire bus"}, {I2S, "digital audio"},
}

// FixedPull says whether a resistor on the board, of about 1.8 kilohm, holds the pin
// up. No program can switch it off.
func (p Pin) FixedPull() bool { return p.Kind == GPIO && p.Bus == I2C }

// StartsUp says whether the pin is pulled up, and not down, from the time that the
// board gets power until a program takes the line: up for GPIO0 to GPIO8 (BCM2835 ARM
// Peripherals, table 6-31, of the earlier generations; for the fifth from memory).
func (p Pin) StartsUp() bool { return (p.Kind == GPIO || p.Kind == Reserved) && p.Line <= 8 }

// String is such as "pin 11 (GPIO17)".
func (p Pin) String() string { return fmt.Sprintf("pin %d (%s)", p.Number, p.Name()) }

// Name is such as GPIO17, GND, 3V3.
func (p Pin) Name() string {
	switch p.Kind {
	case GPIO, Reserved:
		return "GPIO" + strconv.Itoa(int(p.Line))
	case Ground:
		return "GND"
	case Volts3_3:
		return "3V3"
	case Volts5:
		return "5V"
	}
	return "no pin"
}

// At gives the pin with a number.
func At(number int) (Pin, error) {
	if number < 1 || number > Pins {
		return Pin{}, fmt.Errorf("the connector has pins 1 to %d, and no pin %d", Pins, number)
	}
	return table[number-1], nil
}

// Find gives the pin that is meant by a name: GPIO17, or 11 for pin 11. Power and
// ground pins, and those that the board keeps for itself, are errors.
func Find(name string) (Pin, error) {
	p, err := find(name)
	if err != nil {
		return Pin{}, err
	}
	switch p.Kind {
	case GPIO:
		return p, nil
	case Reserved:
		return Pin{}, fmt.Errorf("%v is kept by the board, to read what is plugged on; use another", p)
	}
	return Pin{}, fmt.Errorf("%v is no line that could be driven or sensed", p)
}

func find(name string) (Pin, error) {
	digits, isGPIO := strings.CutPrefix(strings.ToUpper(strings.TrimSpace(name)), "GPIO")
	n, err := strconv.ParseUint(digits, 10, 8)
	if err != nil {
		return Pin{}, fmt.Errorf("%q is no pin: write GPIO17, or 11 for the 11th pin of the connector", name)
	}
	if !isGPIO {
		return At(int(n))
	}
	for _, p := range table {
		if (p.Kind == GPIO || p.Kind == Reserved) && p.Line == uint32(n) {
			return p, nil
		}
	}
	return Pin{}, fmt.Errorf("GPIO%d does not come to the connector: there are GPIO2 to GPIO27", n)
}
