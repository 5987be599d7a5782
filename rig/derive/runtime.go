package derive

// ways are the two directions with their names.
func (g Given) ways() []struct {
	name, to string
	Direction
} {
	return []struct {
		name, to string
		Direction
	}{{"opening", "open", g.Opening}, {"closing", "close", g.Closing}}
}

// runTime works out the run-time cut-out: longer than the slowest honest travel,
// shorter than what motor and bridge stand of a stall.
func runTime(g Given) Proposal {
	w := begin("run-time cut-out", Nanoseconds)
	for _, d := range g.ways() {
		w.slowest(d.name, d.Direction)
	}
	i, before := w.stall(g, false)
	w.note("A stall cut-out that works ends a stall far sooner. The upper bound is for the day when it does not.")
	w.finish(nearLow)
	if !w.conflict() {
		return w.p
	}
	w.sturdy(g.heated(), i, before, w.low)
	w.bigger(g.heated(), i, before, w.low)
	if x := handyDown(w.high / margin); x >= quickest && 2*x >= g.slowest() {
		w.remedy(func(g *Given) { g.Opening.quicken(x); g.Closing.quicken(x) },
			"a gate that takes no longer than %s even when it is cold and the battery sags", sec(x))
	}
	w.advise("a second cut-out for a stall, independent of the first, so that the run-time cut-out need not protect the parts")
	return w.p
}

func (w *work) slowest(name string, d Direction) {
	slow := seconds(d.Slowest)
	switch {
	case slow > 0:
	case d.Time > 0:
		w.source(fromSlow)
		w.missing("the slowest " + name)
		slow = w.eq("How slow "+name+" can get is not given; it is taken to need half as long again as usual:",
			seconds(d.Time)*slower, sec, "%s × %s", sec(seconds(d.Time)), plain(slower))
	default:
		w.missing("how long " + name + " takes")
		return
	}
	w.source(fromMargin)
	w.least("the slowest honest "+name, "The slowest honest "+name+", cold on a sagging battery, with a margin of 25 %:",
		slow*margin, "%s × %s", sec(slow), plain(margin))
}

// slowest is the longest travel that is given, in seconds.
func (g Given) slowest() float64 {
	return seconds(max(g.Opening.Time, g.Opening.Slowest, g.Closing.Time, g.Closing.Slowest))
}

// quicken makes a direction need no more than x seconds.
func (d *Direction) quicken(x float64) {
	if most := duration(x); d.Slowest > most || d.Slowest == 0 && d.Time > 0 {
		d.Slowest, d.Time = most, min(d.Time, most)
	}
}
