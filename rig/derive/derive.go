package derive

// Derive works out what the claims can soundly be for a gate. It proposes nothing
// where nothing that is given bounds a claim. What is given must have passed Check.
func Derive(g Given) []Proposal {
	current := stallCurrent(g)
	dead := deadTime(g, current)
	stall := stallTime(g, current, dead)
	most := mostCurrent(g)
	windows := debounce(g)
	all := []Proposal{
		runTime(g),
		startDelay(g),
		current.p,
		stall.p,
		reversalAfterStall(g, stall, dead),
		reversalAfterBeam(g, dead),
		dead.p,
		most.p,
		shortCurrent(g, most),
		shortTime(g),
		openTime(g),
	}
	for _, w := range windows {
		all = append(all, w.p)
	}
	all = append(all, limitPulse(g, windows), ignoredGlitch(g, windows), stopAfterLimit(g, windows))
	var known []Proposal
	for _, p := range all {
		if p.Low != nil || p.High != nil {
			known = append(known, p)
		}
	}
	return known
}

// Find gives the proposal for a claim.
func Find(ps []Proposal, claim string) (Proposal, bool) {
	for _, p := range ps {
		if p.Name() == claim {
			return p, true
		}
	}
	return Proposal{}, false
}
