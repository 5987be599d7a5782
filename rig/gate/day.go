package gate

// On is the machine on another day: it takes so many times as much to move the gate,
// by its weight and its friction alike, and it is so much warmer.
func (m *Machine) On(load, kelvin float64) Machine {
	on := *m
	on.Celsius += kelvin
	on.Friction = Friction{float64(m.Friction.Static * load), float64(m.Friction.Coulomb * load), float64(m.Friction.Viscous * load)}
	on.Load = nil
	for _, p := range m.Load {
		on.Load = append(on.Load, LoadPoint{p.Position, float64(p.Torque * load)})
	}
	return on
}
