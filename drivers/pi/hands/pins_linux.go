package hands

import (
	"errors"
	"time"

	"pintle/rig/signal"
)

// readPins reads the pins of the driven lines where the conductor asks. A chip that cannot
// read what it drives does not end the hands.
func (h *hand) readPins() {
	asked := h.desk.pinsAsked.Load()
	if asked == h.desk.pinsDone.Load() {
		return
	}
	levels, err := h.outputs.Get()
	var made signal.LineSet
	for _, l := range h.wired {
		if (levels&h.bits[l] != 0) != h.wires[l].Rest {
			made |= signal.SetOf(l)
		}
	}
	h.desk.pins.Store(uint32(made))
	h.desk.pinsShut.Store(number(err != nil))
	h.desk.pinsDone.Store(asked)
}

// Pins gives the driven lines that are made as their pins have it, the heartbeat's not
// among them.
func (h *Hands) Pins() (signal.LineSet, error) {
	asked := h.desk.pinsAsked.Add(1)
	for end := h.clock.now() + int64(patience); h.desk.pinsDone.Load() < asked; pause(100 * time.Microsecond) {
		if h.Gone() || h.isClosed() || h.clock.now() > end {
			return 0, errors.New("read the pins: the hands do not answer")
		}
	}
	if h.desk.pinsShut.Load() != 0 {
		return 0, errors.New("read the pins: the chip does not read lines that it drives")
	}
	return signal.LineSet(h.desk.pins.Load()), nil
}
