package virtual

// A weather is the motor's circuits at one temperature.
type weather struct {
	whole   circuit
	shunted *[2]circuit
}

// warm gives the motor its circuits so much warmer than the Config has it: winding
// and battery have other resistances then. It comes right after reset.
func (m *motor) warm(kelvin float64) {
	if len(m.weathers) == 0 {
		m.weathers[0] = weather{m.whole, m.shunted}
	}
	w, known := m.weathers[kelvin]
	if !known {
		w = m.weather(kelvin)
		m.weathers[kelvin] = w
	}
	m.whole, m.shunted = w.whole, w.shunted
	m.circuit = &m.whole
}

func (m *motor) weather(kelvin float64) weather {
	c, b := m.c, m.battery
	c.Resistance = float64(c.Resistance * (1 + float64(c.PerCelsius*kelvin)))
	b.Resistance = max(0, b.Resistance+float64(b.OhmsPerCelsius*kelvin))
	there := motor{c: c}
	there.whole = newCircuit(c, c.Resistance+b.Resistance, m.usual)
	there.whole.share, there.whole.part = 1, 1
	if m.shunted != nil {
		there.shunt(b, m.usual)
	}
	return weather{there.whole, there.shunted}
}
