package scenarios

import (
	"fmt"
	"slices"
	"strings"

	"pintle/rig/header"
	"pintle/rig/signal"
	"pintle/scenarios/yamlfile"
)

// MostPinVoltage is the most, in volts, that a pin of the board stands.
const MostPinVoltage = 3.3

// heavy are the lines that switch supplies and loads: more than any pin can carry.
var heavy = signal.LinesOf(signal.OfPower)

// SwitchesPower says whether a line switches a supply or a load.
func SwitchesPower(l signal.Line) bool { return heavy.Has(l) }

// WiredThrough is what stands between a line's pin and the controller.
func (b *BenchFile) WiredThrough(l signal.Line) string {
	for _, e := range b.Lines {
		if e.Name.Text == l.String() && e.Value.Through.Given() {
			return e.Value.Through.Text
		}
	}
	if heavy.Has(l) {
		return "relay"
	}
	return "optocoupler"
}

// PartsInUse are the parts of the board that take their pins for themselves, each
// with the place in the file that says so: those listed, and the serial port on the
// connector where the meter is at it.
func (b *BenchFile) PartsInUse() map[header.Bus]yamlfile.Source {
	parts := map[header.Bus]yamlfile.Source{}
	if b.Meter.Serial != nil {
		for _, port := range []yamlfile.Text{b.Meter.Serial.Port, b.Meter.Serial.Rehearsal} {
			if onConnector(port.Text) {
				parts[header.Serial] = port.Source
			}
		}
	}
	for _, t := range b.InUse {
		parts[header.Bus(t.Text)] = t.Source
	}
	return parts
}

// onConnector says whether a serial port is the one on the connector, by the names
// that Linux gives it on these boards.
func onConnector(port string) bool {
	return slices.Contains([]string{"/dev/serial0", "/dev/serial1", "/dev/ttyAMA0", "/dev/ttyS0"}, port)
}

// checkWiring says what would be wrong at the connector.
func (b *BenchFile) checkWiring() yamlfile.Mistakes {
	bad := b.checkPins()
	for _, e := range b.Lines {
		l, ok := signal.LineNamed(e.Name.Text)
		if !ok {
			continue
		}
		bad = append(bad, checkDirection(l, e.Value)...)
		bad = append(bad, checkVoltage(l, e.Value)...)
		bad = append(bad, checkThrough(l, e.Value)...)
		bad = append(bad, checkRest(l, e.Value)...)
		bad = append(bad, b.checkReadBack(l, e.Value)...)
		if v := e.Value; v.Pin.At.FixedPull() && v.Pull.Text != "up" && v.Pull.Given() {
			bad = append(bad, v.Pull.Wrong(fmt.Sprintf("%v has a resistor on the board that pulls it up, whatever is asked for", v.Pin.At), yamlfile.Expected("pull: up, or another pin")))
		}
	}
	return bad
}

// checkPins finds two lines on one pin, and a line on a pin that the board uses.
func (b *BenchFile) checkPins() yamlfile.Mistakes {
	var bad yamlfile.Mistakes
	inUse := b.PartsInUse()
	users := map[int]yamlfile.Entry[LineFile]{}
	for _, e := range b.Lines {
		pin := e.Value.Pin
		if pin.At == (header.Pin{}) {
			continue
		}
		if by, taken := inUse[pin.At.Bus]; taken && pin.At.Bus != "" {
			bad = append(bad, pin.Wrong(fmt.Sprintf("%v belongs to the board's %s, which is in use", pin.At, pin.At.Bus),
				yamlfile.Expected(fmt.Sprintf("another pin, or the %s not in use: line %d says that it is", pin.At.Bus, by.Line))))
		}
		if first, taken := users[pin.At.Number]; taken {
			bad = append(bad, pin.Wrong(fmt.Sprintf("%q and %q are both on %v", first.Name.Text, e.Name.Text, pin.At),
				yamlfile.Expected(fmt.Sprintf("a pin of its own for each; the first is on line %d", first.Value.Pin.Line))))
			continue
		}
		users[pin.At.Number] = e
	}
	return bad
}

// checkDirection holds what the file says of a line to what the line is.
func checkDirection(l signal.Line, v LineFile) yamlfile.Mistakes {
	var bad yamlfile.Mistakes
	want, why := "output", "the bench drives"
	if !l.Info().Driven {
		want, why = "input", "the bench only sees"
	}
	if v.Direction.Given() && v.Direction.Text != "" && v.Direction.Text != want {
		bad = append(bad, v.Direction.Wrong(fmt.Sprintf("%s is a line that %s: an %s", l, why, want), yamlfile.Expected("direction: "+want+", or the line that is meant")))
	}
	if want == "input" && v.Contact.Given() {
		bad = append(bad, v.Contact.Wrong(fmt.Sprintf("%s is an input: the bench plays no contact on it", l), yamlfile.Expected("no contact here")))
	}
	if want == "input" && v.Drive.Given() {
		bad = append(bad, v.Drive.Wrong(fmt.Sprintf("%s is an input: the bench does not drive it", l), yamlfile.Expected("no drive here")))
	}
	return bad
}

// checkReadBack wants a line that is read back to be driven, by an input that the bench
// has. The supply's test is the current.
func (b *BenchFile) checkReadBack(l signal.Line, v LineFile) yamlfile.Mistakes {
	by := v.ReadBy
	switch {
	case !by.Given() || by.Line == signal.NoLine:
		return nil
	case !l.Info().Driven || l == signal.Supply || l == signal.Heartbeat:
		return yamlfile.Mistakes{by.Wrong(fmt.Sprintf("%s is not toggled by the check, so nothing can read it back", l), yamlfile.Expected("read back by under a line that is"))}
	case !b.LineSet().Has(by.Line):
		return yamlfile.Mistakes{by.Wrong(fmt.Sprintf("this bench has no line %q", by.Text), yamlfile.Expected("a line of this file"))}
	}
	return nil
}

// checkVoltage lets nothing onto a pin that it does not stand. Whatever stands
// between keeps the other side's voltage off the pin; a direct wire does not, and
// must say what is on it.
func checkVoltage(l signal.Line, v LineFile) yamlfile.Mistakes {
	if !v.Through.Given() || v.Through.Text != "direct" {
		return nil
	}
	switch {
	case !v.Voltage.Given():
		return yamlfile.Mistakes{v.Through.Wrong(fmt.Sprintf("%s is wired directly to a pin that stands %.1f V, and the voltage on the wire is not given", l, MostPinVoltage),
			yamlfile.Expected("voltage: 3.3V or less, or through: optocoupler"))}
	case v.Voltage.Value > MostPinVoltage:
		return yamlfile.Mistakes{v.Voltage.Wrong(fmt.Sprintf("%s would put %s on a pin that stands %.1f V", l, v.Voltage.Text, MostPinVoltage),
			yamlfile.Expected("through: optocoupler, relay or transistor, or at most 3.3V"))}
	}
	return nil
}

// checkRest lets no wiring leave the controller powered when everything rests.
func checkRest(l signal.Line, v LineFile) yamlfile.Mistakes {
	if l != signal.Supply || v.Contact.Text != "normally closed" {
		return nil
	}
	return yamlfile.Mistakes{v.Contact.Wrong("the supply would be on at rest, when the program has ended or died", yamlfile.Expected("contact: normally open"))}
}

// checkThrough refuses what cannot carry the line.
func checkThrough(l signal.Line, v LineFile) yamlfile.Mistakes {
	switch {
	case heavy.Has(l) && v.Through.Text == "direct":
		return yamlfile.Mistakes{v.Through.Wrong(fmt.Sprintf("%s switches more than a pin can carry", l), yamlfile.Expected("through: relay, or a transistor or optocoupler that switches one"))}
	case !l.Info().Driven && v.Through.Text == "relay":
		return yamlfile.Mistakes{v.Through.Wrong(fmt.Sprintf("a relay is too slow to sense %s: it would hide what is to be measured", l), yamlfile.Expected("through: "+strings.Join([]string{"optocoupler", "transistor"}, " or ")))}
	}
	return nil
}
