package wiring

import (
	"fmt"
	"strings"
	"time"

	"pintle/rig/header"
	"pintle/rig/signal"
	"pintle/rig/wording"
)

// A Caution is a matter to see to, and what to do about it.
type Caution struct{ About, Words string }

// mostBare is the direct voltage up to which bare parts may be within reach in dry
// places (IEC 60364-4-41, 414.4.5; the figure from memory).
const mostBare = 60

// general are the cautions of every bench. They are common practice, without a source.
var general = []Caution{
	{"Everything off", "Wire up with the board, the controller and the battery disconnected. Look every wire over against this sheet before the first power, and measure that no pin sees more than 3.3 V."},
	{"Isolation", "A pin stands 3.3 V and a few milliamperes: 5 V destroys the board. Keep the controller's side apart by optocouplers or relay contacts, with a supply and a ground of its own, and the wires of the two sides in separate bundles. A wire marked not isolated joins the two grounds: none of the motor's current may flow back by it."},
	{"Coils", "A relay's coil is never driven by a pin alone: put a transistor between, and a diode or a suppressor across the coil. A plain diode makes the relay let go later: measure how long it takes."},
	{"Fusing", "A fuse in the positive lead, at the battery's own terminal, rated for the thinnest wire behind it and for the voltage. One more in each tap of a lower supply and in the lead of a load that is switched across the motor."},
	{"Supply interlock", "The supply reaches the controller only through a switch that a hand can reach and that needs no program, through the contact of the dead-man relay, and through the contact of the supply line, all in series. Each of them alone must be able to break the motor's stall current as direct current. All rest open."},
	{"Secured motor", "Bolt the motor down before it is powered, guard its shaft and its wheel, and tie back all that could be caught. A locked motor gets hot enough to burn: keep to its duty cycle, and let it cool down."},
	{"Nobody in the mechanism", "The bench plays the gate: no gate hangs on the motor. If anything does move, fence it off, and let nobody and nothing be within its reach while the supply may come on. Faults are provoked here on purpose; the controller's own protection must not be counted on."},
	{"Local codes", "Mains wiring, battery chargers and fixed installations are for licensed persons under the codes of the place. This bench is no safety device, and what it finds replaces no approval of the installed gate."},
}

// Cautions are the matters of this bench: first those of its own wires.
func (s *Sheet) Cautions() []Caution {
	var own []Caution
	if !s.has(signal.Heartbeat) {
		own = append(own, Caution{"No heartbeat", "This bench has no heartbeat line: nothing outside the program takes the supply off when the program or the board hangs. Add the line, and the dead-man circuit, before a motor is connected."})
	}
	if s.has(signal.SupplyDip) || s.has(signal.SupplySag) {
		own = append(own, Caution{"Lower supplies", "Each takes the place of the full supply by a change-over contact that breaks before it makes: two supplies must never be joined. All of them lie behind the same hand switch, dead-man contact and contact of the supply line."})
	}
	if s.has(signal.MotorShort) {
		own = append(own, Caution{"Short on purpose", "What motor-short puts across the motor's leads is a resistor, never a bare wire: rated for the current of every short that is asked for, fused by itself, and clear of all that burns."})
	}
	var none []string
	for i := range s.Wires {
		w := &s.Wires[i]
		if !w.Placed() {
			none = append(none, w.Line.String())
		}
		own = append(own, w.cautions()...)
	}
	if len(none) > 0 {
		own = append(own, Caution{"No pin yet", strings.Join(none, ", ") + ": give each a pin in the bench file before wiring it up."})
	}
	return append(own, general...)
}

// cautions are those of one wire.
func (w *Wire) cautions() []Caution {
	var all []Caution
	say := func(words string) {
		all = append(all, Caution{w.Line.String(), words})
	}
	if w.Placed() && w.Power && w.Pin.StartsUp() != w.RestHigh() {
		level, other, pins := "low", "GPIO2 to GPIO8", "high"
		if w.Pin.StartsUp() {
			level, other, pins = "high", "GPIO9 to GPIO27", "low"
		}
		say(fmt.Sprintf("from power-on until the program runs, the board pulls %v %s, which is %q for this line. Hold it %s by a resistor of some kilohms, or take one of %s.",
			w.Pin, level, w.Line.Info().Made, pins, other))
	}
	if w.Placed() && w.Pin.Shared != "" {
		say(fmt.Sprintf("%v is also that of %s: leave that part of the board switched off.", w.Pin, w.Pin.Shared))
	}
	if w.Through == "transistor" {
		say("the transistor does not isolate: the grounds of both sides are joined. It must keep its full voltage off the pin when it fails, too: put a resistor of some kilohms before the pin.")
	}
	if w.Through == "direct" {
		say("the wire goes straight to a pin: a resistor of 330 ohms or more in it saves the pin from most mistakes.")
	}
	if w.Volts > mostBare {
		say(fmt.Sprintf("%s is more than the %d V up to which bare parts may be within reach: covered terminals, and a licensed person to wire them.", w.Voltage, mostBare))
	}
	return all
}

// deadMan says what the dead-man circuit is to do, in general terms.
func (s *Sheet) deadMan() []string {
	edge := s.Edge
	if edge <= 0 {
		edge = 5 * time.Millisecond
	}
	return []string{
		fmt.Sprintf("While all is well the heartbeat line changes its level every %s. It stops, at either level, when the program, the board or the bench's own guard has given up; some boards then keep their other pins as they were. So the circuit must not look at the line's level, but at its edges: a capacitor in series lets only these through.", wording.Time(edge)),
		fmt.Sprintf("Each edge starts the hold time anew (a retriggerable monostable), or puts a little charge on a capacitor that drains (a charge pump). As long as it holds, the dead-man relay is pulled in, and its contact lets the supply through. Ten edges, %s, are a good hold time: a late beat or two must not drop it, and all of it is added to the time until the supply is off.", wording.Time(10*edge)),
		"The relay's contact rests open, in series with that of the supply line. It takes the beat to pull it in, never a level, and neither a wire off nor a wire shorted may hold it.",
		"Try it out before each session: with the supply on and no motor connected, pull the heartbeat's wire, then hold it at each level. The supply must fall each time. The circuit is not a safety circuit in the sense of a standard: the switch in reach of a hand stays.",
	}
}

// free lists the pins that are left, those that share nothing first.
func (s *Sheet) free() (plain, shared []string) {
	for n := 1; n <= header.Pins; n++ {
		p, err := header.At(n)
		if err != nil || p.Kind != header.GPIO || s.keeps(p) {
			continue
		}
		if _, taken := s.at(n); taken {
			continue
		}
		if p.Shared == "" {
			plain = append(plain, p.Name())
		} else {
			shared = append(shared, p.Name())
		}
	}
	return plain, shared
}
