package gate

// Fit gives the gate a machine and fills in, from what the machine does at its own
// temperature on a full battery, the Travels and the currents: those of a motor in
// motion are the means after the run-up. The run-up of a Travel is half as long as
// that of a Course, for it ends at a constant acceleration. A machine that has
// been fitted must not be changed any more, and any number of models share its
// tables.
func (s *Spec) Fit(m *Machine) error {
	d, err := m.Compile()
	if err != nil {
		return err
	}
	f, err := d.Figures(1)
	if err != nil {
		return err
	}
	s.Machine, s.drive = m, d
	s.Opening, s.Closing = f.Opening.travel(), f.Closing.travel()
	s.OpeningCurrent, s.ClosingCurrent, s.StallCurrent = f.Opening.Running, f.Closing.Running, f.Stall
	return nil
}

func (c Course) travel() Travel { return Travel{Time: c.Time, RunUp: c.RunUp / 2, Coast: c.Coast} }

// compiled gives the machine's drive: the one that Fit worked out, or a new one.
func (s *Spec) compiled() (*Drive, error) {
	if s.drive != nil && s.drive.of == s.Machine {
		return s.drive, nil
	}
	return s.Machine.Compile()
}
