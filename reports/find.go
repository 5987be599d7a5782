package reports

// Scenario gives the scenario of a name; nil where the run has none.
func (r *Run) Scenario(name string) *Scenario {
	for i := range r.Scenarios {
		if r.Scenarios[i].Name == name {
			return &r.Scenarios[i]
		}
	}
	return nil
}

// Trial gives the index of the trial of a number; not ok where there is none.
func (s *Scenario) Trial(number int) (index int, ok bool) {
	for i := range s.Trials {
		if s.Trials[i].Number == number {
			return i, true
		}
	}
	return 0, false
}
