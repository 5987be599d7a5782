package gate

// Hop gives what slows a hop off the stop at one end down, and what brings the gate back
// to it, in travels per second squared; dir is the way that ends there, 1 is opening. Of a
// machine they are those at the stop itself, and friction that grows with speed is left
// out, so that a hop is no higher. Where static friction holds the gate nothing brings it
// back; where its weight pulls it off the stop there are no hops, and slows is 0.
func (s *Spec) Hop(dir float64) (slows, brings float64) {
	if s.Machine == nil {
		stop := s.Closed
		if dir > 0 {
			stop = s.Open
		}
		return stop.Return, stop.Return
	}
	d, err := s.compiled()
	if err != nil {
		return 0, 0
	}
	pull, span := d.load(0), float64(d.inertia*d.span)
	if dir > 0 {
		pull = -d.load(1)
	}
	slows = max((pull+d.coulomb)/span, 0)
	if pull > d.static {
		brings = (pull - d.coulomb) / span
	}
	return slows, brings
}
