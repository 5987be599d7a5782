package derive

import (
	"fmt"
	"math"
)

// stallCurrent works out the current that counts as a stall: above whatever an
// honest gate draws, below whatever a blocked motor draws.
func stallCurrent(g Given) *work {
	w := begin("stall current", Microamperes)
	for _, d := range g.ways() {
		if d.Running == 0 {
			w.missing("the running current when " + d.name)
			continue
		}
		w.source(fromMargin)
		run := amperes(d.Running)
		w.least("the running current", "The most that "+d.name+" draws once the gate moves, with a margin of 25 %:", run*margin, "%s × %s", amp(run), plain(margin))
	}
	if least := w.leastStall(g); least > 0 {
		w.source(fromMargin)
		w.most("the weakest stall", "Even that little must count as a stall, with the same margin:", least/margin, "%s / %s", amp(least), plain(margin))
	}
	w.finish(middle)
	for _, d := range g.ways() {
		if p := amperes(d.InrushPeak); p > 0 && !w.conflict() && w.p.Proposed > 0 && p > w.proposed() {
			w.note("Starting to %s draws up to %s, which is above %s: the stall time has to outlast it.", d.to, amp(p), amp(w.proposed()))
		}
	}
	if w.conflict() {
		w.cureStallCurrent(g)
	}
	return w
}

// leastStall writes the least that a blocked motor draws.
func (w *work) leastStall(g Given) float64 {
	if c := g.Circuit; c != nil {
		if _, least := c.least(g.rise()); agrees(amperes(g.StallWarm), least) {
			return w.weakest(g)
		}
	}
	if g.StallWarm > 0 {
		i := amperes(g.StallWarm)
		w.say("With a warm winding and the battery at its lowest a blocked motor draws only %s.", amp(i))
		return i
	}
	i := amperes(g.StallCold)
	if i == 0 {
		w.missing("the stall current")
		return 0
	}
	if g.Battery > 0 && g.BatteryLow > 0 {
		i = w.eq("Through a blocked motor the battery drives less when it is at its lowest:",
			i*round(g.BatteryLow)/round(g.Battery), amp, "%s × %s / %s", amp(i), volt(g.BatteryLow), volt(g.Battery))
		w.source(fromMotor)
	} else {
		w.missing("the battery's usual and its lowest voltage, for the weakest stall")
	}
	rise := round(g.WarmRise)
	if rise == 0 {
		rise = warmWinding
		w.source(fromWinding)
	}
	w.source(fromCopper)
	return w.eq(fmt.Sprintf("A winding that is %s warmer has more resistance, which leaves", kelvin(rise)),
		i/(1+float64(copper*rise)), amp, "%s / (1 + %s × %s)", amp(i), exact(copper), plain(rise))
}

func (w *work) cureStallCurrent(g Given) {
	x := handyDown(w.high / margin)
	w.remedy(func(g *Given) {
		g.Opening.Running = min(g.Opening.Running, microamps(x))
		g.Closing.Running = min(g.Closing.Running, microamps(x))
	}, "a gate so balanced, greased and geared that it draws no more than %s running", amp(x))
	y := handyUp(w.low * margin)
	w.remedy(func(g *Given) { g.StallWarm, g.StallCold = microamps(y), max(g.StallCold, microamps(y)) },
		"a motor that draws at least %s blocked, with a warm winding and the lowest battery", amp(y))
	if g.StallWarm > 0 && g.Circuit == nil || g.Battery == 0 || g.BatteryLow == 0 {
		return
	}
	if v := handyUp(g.BatteryLow * w.low / w.high); v <= g.Battery && (g.StallWarm == 0 || roundDown(g.held(v)/margin) >= w.low) {
		words := "a battery that still holds %s with the motor blocked"
		if g.Circuit != nil {
			words = "a battery that at its lowest still gives %s with nothing drawn"
		}
		w.remedy(func(g *Given) { g.hold(v) }, words, volt(v))
	}
}

// masked writes what the stall time must outlast, and gives the least stall time.
func (w *work) masked(g Given, threshold float64) float64 {
	for _, d := range g.ways() {
		switch {
		case d.InrushLength == 0:
			w.missing("how long starting draws more than running when " + d.name)
		case threshold > 0 && d.InrushPeak > 0 && amperes(d.InrushPeak) <= threshold:
			w.say("Starting to %s draws no more than %s, which does not count as a stall.", d.to, amp(amperes(d.InrushPeak)))
		default:
			t := seconds(d.InrushLength)
			w.source(fromMargin)
			w.least("the inrush when "+d.name, "How long starting to "+d.to+" draws more than running does, with a margin of 25 %:", t*margin, "%s × %s", sec(t), plain(margin))
		}
	}
	if t := seconds(g.Loop); t > 0 {
		w.source(fromLoops)
		w.least("two looks at the current", "The controller needs to look at the current twice to be sure:", 2*t, "2 × %s", sec(t))
	}
	return nanOr(w.low, 0)
}

// stallTime works out how long a stall may last: longer than the inrush, shorter
// than what the parts stand and than what a prompt reversal leaves.
func stallTime(g Given, current, dead *work) *work {
	w := begin("stall time", Nanoseconds)
	threshold := 0.0
	if !current.conflict() && current.p.Proposed > 0 {
		threshold = current.proposed()
	}
	w.masked(g, threshold)
	i, before := w.stall(g, true)
	rest, toward := 0.0, middle
	if !dead.conflict() {
		rest = dead.proposed()
		w.source(fromReverse, fromLoops)
		loop := w.looks(g)
		w.most("reversal within 2 s", "If a closing gate is to reverse within 2 s of a stall, the dead time and two looks at the inputs must fit in as well:",
			reversal-rest-float64(2*loop), "%s", terms(" − ", "2 s", sec(rest), "2 × "+sec(loop)))
	} else {
		w.source(fromReverse)
		w.note("With this start no stall time and dead time together let a closing gate reverse within 2 s of a stall: see the dead time for what would.")
		toward = nearLow
	}
	w.finish(toward)
	if w.conflict() {
		w.cureStallTime(g, threshold, i, before)
	}
	return w
}

func (w *work) cureStallTime(g Given, threshold, i, before float64) {
	if w.low <= reversal || w.why[1] != "reversal within 2 s" {
		w.sturdy(g.heated(), i, before, w.low)
		w.bigger(g.heated(), i, before, w.low)
	}
	loops := float64(2 * seconds(g.Loop))
	if x := handyDown(w.high / margin); x >= quickest && loops <= w.high {
		w.remedy(func(g *Given) { g.Opening.soften(x); g.Closing.soften(x) },
			"a start whose inrush is over within %s", sec(x))
		if p := handyDown(threshold); p > 0 {
			w.remedy(func(g *Given) { g.Opening.limit(p); g.Closing.limit(p) },
				"a soft start that never draws more than %s", amp(p))
		}
	}
	if w.why[0] == "two looks at the current" && w.high > 0 {
		if x := handyDown(w.high / 2); x >= quickest && !w.inrushOver(g, threshold) {
			w.remedy(func(g *Given) { g.Loop = duration(x) }, "a controller that looks at the current at least every %s", sec(x))
		}
	}
	w.advise(weaker)
}

const weaker = "a motor that draws less when it is blocked, or a bridge that limits its current"

// inrushOver says that an inrush alone is too long for the upper bound.
func (w *work) inrushOver(g Given, threshold float64) bool {
	v := begin("", Nanoseconds)
	g.Loop = 0
	return v.masked(g, threshold) > w.high
}

func (d *Direction) soften(x float64) { d.InrushLength = min(d.InrushLength, duration(x)) }

func (d *Direction) limit(x float64) {
	if d.InrushLength > 0 && (d.InrushPeak == 0 || amperes(d.InrushPeak) > x) {
		d.InrushPeak = microamps(x)
	}
}

// held is the least that a blocked motor draws from a battery that gives v volts at its
// lowest.
func (g *Given) held(v float64) float64 {
	return round(math.Min(amperes(g.StallCold), amperes(g.StallWarm)*v/g.BatteryLow))
}

// hold lets the battery give v volts at its lowest.
func (g *Given) hold(v float64) {
	if g.StallWarm > 0 {
		g.StallWarm = microamps(g.held(v))
	}
	g.BatteryLow = v
}
