package gate

// compiled gives the machine's drive: the one that Fit worked out, or a new one.
func (s *Spec) compiled() (*Drive, error) {
	if s.drive != nil && s.drive.of == s.Machine {
		return s.drive, nil
	}
	return s.Machine.Compile()
}
