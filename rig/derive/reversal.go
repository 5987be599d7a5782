package derive

// reversalAfterStall works out how soon a blocked gate that closes can open again.
func reversalAfterStall(g Given, stall, dead *work) Proposal {
	w := begin("reversal after stall", Nanoseconds)
	loop := w.looks(g)
	w.source(fromBudget, fromLoops)
	s, d := nanOr(stall.proposed(), 0), nanOr(dead.proposed(), 0)
	w.least("stall time and dead time", "The stall time and the dead time as proposed, and two looks at the inputs:", s+d+float64(2*loop),
		"%s", terms(" + ", sec(s), sec(d), "2 × "+sec(loop)))
	w.withinTwo("contact with an obstruction")
	w.finish(middle)
	if w.conflict() {
		w.advise("the stall time or the dead time has no sound value; mend that, and this is mended with it")
	}
	return w.p
}

func (w *work) withinTwo(what string) {
	w.source(fromReverse)
	w.most("reversal within 2 s", "Reversal is to begin, counted from "+what+", within", reversal, "2 s")
	w.note("This is a claim with its source named, not a promise that the gate complies with it.")
}

// reversalAfterBeam works out how soon a closing gate can open again once its beam
// has been interrupted.
func reversalAfterBeam(g Given, dead *work) Proposal {
	w := begin("reversal after beam", Nanoseconds)
	loop, delay, d := w.looks(g), seconds(g.BeamDelay), nanOr(dead.proposed(), 0)
	if delay == 0 {
		w.missing("the delay of the beam's output")
	}
	w.source(fromBudget, fromLoops)
	w.least("beam and dead time", "The beam's own delay, the dead time as proposed, and two looks at the inputs:", delay+d+float64(2*loop),
		"%s", terms(" + ", sec(delay), sec(d), "2 × "+sec(loop)))
	w.withinTwo("the beam's interruption as if that were contact")
	w.finish(middle)
	if !w.conflict() {
		return w.p
	}
	if x := handyDown(reversal - d - float64(2*loop)); x >= quickest {
		w.remedy(func(g *Given) { g.BeamDelay = duration(x) }, "a beam that answers within %s", sec(x))
	} else {
		w.advise("the dead time leaves nothing of the 2 s; see there")
	}
	return w.p
}

// startDelay works out how soon the motor must answer a press.
func startDelay(g Given) Proposal {
	w := begin("start delay", Nanoseconds)
	if loop := w.looks(g); loop > 0 {
		w.source(fromLoops)
		w.least("two looks at the button", "The controller needs to look at the button twice:", 2*loop, "2 × %s", sec(loop))
	}
	w.source(fromPatient)
	w.most("somebody's patience", "Whoever sees nothing happen presses again after", patience, "%s", sec(patience))
	w.prefer = patience / 2
	w.finish(middle)
	if w.conflict() {
		x := handyDown(patience / 2)
		w.remedy(func(g *Given) { g.Loop = duration(x) }, "a controller that looks at its inputs at least every %s", sec(x))
	}
	return w.p
}
