package derive

import (
	"fmt"
	"math"
)

// A Circuit is what drives the motor's current, with what holds it back when the
// motor is blocked.
type Circuit struct {
	Winding    float64 `json:"winding_ohm"`     // of the motor with its brushes, at 25 °C, ohms
	Inductance float64 `json:"inductance_h"`    // of the winding, henries
	Leads      float64 `json:"leads_ohm"`       // battery and wires on the usual day, ohms
	LeadsCold  float64 `json:"leads_cold_ohm"`  // the same on the coldest day
	Celsius    float64 `json:"usual_celsius"`   // of the usual day
	Coldest    float64 `json:"coldest_celsius"` // of the coldest day
	Full       float64 `json:"full_v"`          // battery with nothing drawn, usual day, volts
	FullCold   float64 `json:"full_cold_v"`     // the same on the coldest day
	Lowest     float64 `json:"lowest"`          // a nearly empty battery's voltage as a part of a full one's, 0 to 1
}

func (c Circuit) check(m *mistakes) {
	m.unless(c.Winding > 0, "Circuit.Winding", "must be above zero")
	m.number(c.Winding, 10_000, "Circuit.Winding")
	m.number(c.Inductance, 1000, "Circuit.Inductance")
	m.number(c.Leads, 10_000, "Circuit.Leads")
	m.number(c.LeadsCold, 10_000, "Circuit.LeadsCold")
	m.number(c.Full, 1000, "Circuit.Full")
	m.number(c.FullCold, 1000, "Circuit.FullCold")
	m.number(c.Lowest, 1, "Circuit.Lowest")
	for _, t := range []float64{c.Celsius, c.Coldest} {
		m.unless(t >= -100 && t <= 200, "Circuit", "%v °C must be between -100 and 200", t)
	}
}

// rated is the temperature in °C that a winding's resistance is given at.
const rated = 25.0

// A day is one on which the motor may be blocked.
type day struct {
	celsius, volts, leads float64
}

func (c Circuit) days() []day {
	return []day{{c.Celsius, round(c.Full), round(c.Leads)}, {c.Coldest, round(c.FullCold), round(c.LeadsCold)}}
}

// winding is the winding's resistance when it is so much warmer than the day.
func (c Circuit) winding(d day, rise float64) float64 {
	return round(round(c.Winding) * (1 + float64(copper*(d.celsius+rise-rated))))
}

func (c Circuit) blocked(d day, volts, rise float64) float64 {
	return round(volts / (c.winding(d, rise) + d.leads))
}

// most is the day on which a blocked motor draws the most, its winding as cold as
// the day.
func (c Circuit) most() (day, float64) {
	best, amperes := day{}, 0.0
	for _, d := range c.days() {
		if i := c.blocked(d, d.volts, 0); i > amperes {
			best, amperes = d, i
		}
	}
	return best, amperes
}

// least is the day on which a blocked motor draws the least, its winding warmer
// than the day and the battery nearly empty.
func (c Circuit) least(rise float64) (day, float64) {
	best, amperes := day{}, math.Inf(1)
	for _, d := range c.days() {
		if i := c.blocked(d, round(d.volts*round(c.Lowest)), rise); i < amperes {
			best, amperes = d, i
		}
	}
	return best, amperes
}

// Powered gives what is known with what follows from the motor's circuit.
func (g Given) Powered(c Circuit) Given {
	g.Circuit = &c
	d, strongest := c.most()
	weak, weakest := c.least(g.rise())
	g.StallCold, g.StallWarm = min(microamps(strongest), most), min(microamps(weakest), most)
	g.Battery, g.BatteryLow = d.volts, min(d.volts, round(weak.volts*round(c.Lowest)))
	usual := c.days()[0]
	g.CurrentDecay = duration(round(round(c.Inductance) / (c.winding(usual, 0) + usual.leads)))
	if usual.leads > 0 {
		g.ShortCircuit = min(microamps(round(usual.volts/usual.leads)), most)
	}
	return g
}

// rise is how much warmer a warm winding is than the air.
func (g Given) rise() float64 {
	if r := round(g.WarmRise); r > 0 {
		return r
	}
	return warmWinding
}

// warmed writes the winding's resistance at a temperature.
func (w *work) warmed(c Circuit, d day, rise float64) float64 {
	r := c.winding(d, rise)
	by := round(d.celsius + rise - rated)
	sign, than := "+", "warmer"
	switch {
	case by == 0:
		return r
	case by < 0:
		sign, than = "−", "colder"
	}
	w.source(fromCopper)
	return w.eq(fmt.Sprintf("At %s °C the winding is %s %s than at %s °C, and so has", plain(d.celsius+rise), kelvin(math.Abs(by)), than, plain(rated)), r, ohm,
		"%s × (1 %s %s × %s)", ohm(round(c.Winding)), sign, exact(copper), plain(math.Abs(by)))
}

// through writes what volts drive through a blocked motor's winding of r ohms.
func (w *work) through(text string, volts, r, leads float64) float64 {
	w.source(fromMotor)
	if leads == 0 {
		return w.eq(text, volts/r, amp, "%s / %s", volt(volts), ohm(r))
	}
	return w.eq(text, volts/(r+leads), amp, "%s / (%s + %s)", volt(volts), ohm(r), ohm(leads))
}

// weakest writes the least that a blocked motor draws by its circuit.
func (w *work) weakest(g Given) float64 {
	c := *g.Circuit
	rise := g.rise()
	if g.WarmRise == 0 {
		w.source(fromWinding)
	}
	d, _ := c.least(rise)
	w.say("A blocked motor draws the least with a warm winding, and the battery at its lowest. The winding is taken to be %s warmer than a day of %s °C.", kelvin(rise), plain(d.celsius))
	r := w.warmed(c, d, rise)
	v := w.eq("The battery is then down to", d.volts*round(c.Lowest), volt, "%s × %s", volt(d.volts), part(round(c.Lowest)))
	return w.through("Winding, battery and wires let it drive no more than", v, r, d.leads)
}

// agrees says that a given current is the one that the circuit comes to, as far as
// the sheet shows. A remedy may have changed it.
func agrees(given, worked float64) bool { return round(given) == round(worked) }
