package wiring

import (
	"time"

	"pintle/rig/header"
	"pintle/rig/signal"
)

// A Sheet is all that there is to draw.
type Sheet struct {
	Title, Place string
	Digest       string        // SHA-256 of the bench file, in hexadecimal digits
	Meter        string        // where it is, in words
	Wires        []Wire        // in the order of the sheet
	InUse        []header.Bus  // parts of the board that keep their pins
	Edge         time.Duration // from one edge of the heartbeat to the next
}

// A Wire is how one line goes from a pin to the controller.
type Wire struct {
	Line           signal.Line
	Pin            header.Pin // the zero Pin where it has none yet
	Power          bool       // it switches a supply or a load
	ActiveLow      bool       // the low voltage closes the contact, or means that the input is driven
	OpenDrain      bool       // the high voltage is left to a pull-up
	NormallyClosed bool       // the contact is closed at rest
	Pull           string     // none, up or down
	Through        string     // optocoupler, relay, transistor or direct
	Voltage        string     // the highest on the controller's side, such as 24V; empty where it is not known
	Volts          float64    // the same as a number, 0 where it is not known
	Connector      string     // where it ends at the controller
	Note           string
}

// Placed says whether the wire has a pin.
func (w *Wire) Placed() bool { return w.Pin.Number > 0 }

// RestHigh says whether the pin is at its high voltage while the line is broken.
func (w *Wire) RestHigh() bool { return w.ActiveLow != w.NormallyClosed }

// Output says whether the bench drives the line.
func (w *Wire) Output() bool { return w.Line.Info().Driven }

// Isolated says whether no current can flow from one side to the other.
func (w *Wire) Isolated() bool { return w.Through == "optocoupler" || w.Through == "relay" }

// Direction is output or input, as the bench sees it.
func (w *Wire) Direction() string {
	if w.Output() {
		return "output"
	}
	return "input"
}

// Levels says what the pin's voltage means, such as "low: released, high: pressed".
func (w *Wire) Levels() string {
	info := w.Line.Info()
	low, high := info.Broken, info.Made
	if w.RestHigh() {
		low, high = high, low
	}
	if w.Line == signal.Heartbeat {
		return "beats between low and high"
	}
	if w.OpenDrain {
		high += " (by a pull-up alone)"
	}
	return "low: " + low + ", high: " + high
}

// Isolation says what stands between the sides.
func (w *Wire) Isolation() string {
	switch {
	case w.Isolated():
		return w.Through + ", isolated"
	case w.Through == "direct":
		return "direct, not isolated"
	}
	return w.Through + ", not isolated"
}

// End says where the wire ends, and at what voltage.
func (w *Wire) End() string {
	switch {
	case w.Connector == "":
		return w.Voltage
	case w.Voltage == "":
		return w.Connector
	}
	return w.Connector + ", " + w.Voltage
}

// at finds the wire on a pin.
func (s *Sheet) at(pin int) (*Wire, bool) {
	for i := range s.Wires {
		if s.Wires[i].Pin.Number == pin {
			return &s.Wires[i], true
		}
	}
	return nil, false
}

// has says whether the bench has a line.
func (s *Sheet) has(l signal.Line) bool {
	for i := range s.Wires {
		if s.Wires[i].Line == l {
			return true
		}
	}
	return false
}

// keeps says whether a part of the board that is in use keeps the pin.
func (s *Sheet) keeps(p header.Pin) bool {
	for _, b := range s.InUse {
		if p.Bus == b && b != "" {
			return true
		}
	}
	return false
}
