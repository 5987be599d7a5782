package derive

import (
	"fmt"
	"math"
	"time"
)

// A heated is a part that a current heats.
type heated struct {
	name   string
	rating Rating
	of     func(*Given) *Rating
}

func (g Given) heated() []heated {
	return []heated{
		{"motor", g.Motor, func(g *Given) *Rating { return &g.Motor }},
		{"bridge", g.Bridge, func(g *Given) *Rating { return &g.Bridge }},
	}
}

// tau is the thermal time constant that a rating comes to, in seconds.
func (r Rating) tau() float64 {
	return round(seconds(r.Stands) / math.Log(ratio(amperes(r.Short), 0, amperes(r.Continuous))))
}

// ratio is (i² − before²) / (i² − continuous²).
func ratio(i, before, continuous float64) float64 {
	return (float64(i*i) - float64(before*before)) / (float64(i*i) - float64(continuous*continuous))
}

// stands writes how long a part stands i amperes when it is warm from before
// amperes, as an upper bound. A part that stands it for ever sets none. Where the
// same was worked out already it is not written again.
func (w *work) stands(h heated, i, before float64, again bool) {
	r := h.rating
	if !r.whole() {
		w.missing("the " + h.name + "'s rating, for its heating")
		return
	}
	cont, short := amperes(r.Continuous), amperes(r.Short)
	w.source(fromHeating)
	why := "the " + h.name + "'s heating"
	if again && i > cont && before < cont {
		t := roundDown(r.tau() * math.Log(ratio(i, before, cont)))
		w.most(why, fmt.Sprintf("Warm, the %s stands %s (see the run-time cut-out) for", h.name, amp(i)), t, "%s", sec(t))
		return
	}
	if i <= cont {
		w.say("The %s stands %s for ever, so %s sets no limit.", h.name, amp(cont), amp(i))
		return
	}
	if before >= cont {
		w.most(why, fmt.Sprintf("Running alone, %s, already heats the %s to its continuous %s or more. Nothing is left.", amp(before), h.name, amp(cont)), 0, "0 s")
		return
	}
	tau := w.eq(fmt.Sprintf("The %s stands %s for ever and %s for %s from cold, so its time constant is", h.name, amp(cont), amp(short), sec(seconds(r.Stands))),
		r.tau(), sec, "%s / ln(%s² / (%s² − %s²))", sec(seconds(r.Stands)), plain(short), plain(short), plain(cont))
	text := fmt.Sprintf("Warm already, the %s reaches its limit under %s in", h.name, amp(i))
	over := fmt.Sprintf("(%s² − %s²)", plain(i), plain(before))
	if before == 0 {
		text, over = fmt.Sprintf("From cold, the %s reaches its limit under %s in", h.name, amp(i)), plain(i)+"²"
	}
	w.most(why, text, tau*math.Log(ratio(i, before, cont)), "%s × ln(%s / (%s² − %s²))",
		sec(tau), over, plain(i), plain(cont))
}

// before writes the steady current that heats like the running gate does.
func (w *work) before(g Given, again bool) float64 {
	run := max(amperes(g.Opening.Running), amperes(g.Closing.Running))
	if run == 0 {
		w.missing("the running current, for the heat there already")
		return 0
	}
	if again && g.Duty > 0 {
		return round(run * math.Sqrt(round(g.Duty)))
	}
	if again {
		return run
	}
	if g.Duty == 0 {
		w.say("No duty is given, so motor and bridge are taken to be warm from running at %s without a pause.", amp(run))
		return run
	}
	w.source("equal heat: root of the mean square of the current")
	return w.eq(fmt.Sprintf("Running at %s for %s of the time heats like a steady", amp(run), part(round(g.Duty))),
		run*math.Sqrt(round(g.Duty)), amp, "%s × √(%s)", amp(run), part(round(g.Duty)))
}

// blocked is the most that a blocked motor draws, as far as is known.
func (g Given) blocked() float64 { return amperes(max(g.StallCold, g.StallWarm)) }

// stall writes how long motor and bridge stand a blocked motor.
func (w *work) stall(g Given, again bool) (i, before float64) {
	i = g.blocked()
	if i == 0 {
		w.missing("the stall current, for the heating")
		return 0, 0
	}
	before = w.before(g, again)
	for _, h := range g.heated() {
		w.stands(h, i, before, again)
	}
	return i, before
}

// sturdier is the rating nearest to r that stands i amperes for at least t seconds
// when warm from before, or r where that does.
func (r Rating) sturdier(i, before, t float64) Rating {
	if i <= amperes(r.Continuous) {
		return r
	}
	if before >= 0.9*amperes(r.Continuous) {
		r.Continuous = microamps(handyUp(margin * before))
		r.Short = max(r.Short, 2*r.Continuous)
	}
	if i <= amperes(r.Continuous) {
		return r
	}
	has := r.tau() * math.Log(ratio(i, before, amperes(r.Continuous)))
	if has < t*1.001 {
		r.Stands = duration(handyUp(seconds(r.Stands) * t / has))
	}
	return r
}

func (r Rating) text(i float64) string {
	c, short := amperes(r.Continuous), amperes(r.Short)
	if i <= c {
		return fmt.Sprintf("stands %s for ever", amp(c))
	}
	cold := rounded(r.tau()*math.Log(ratio(i, 0, c)), 2, down)
	return fmt.Sprintf("stands %s for at least %s from cold (rated %s continuous, %s for %s)", amp(i), sec(cold), amp(c), amp(short), sec(seconds(r.Stands)))
}

// sturdiest is beyond what anybody rates a part for; there is none to be bought.
const sturdiest = time.Hour

// sturdy adds the remedy of parts that stand i amperes for t seconds.
func (w *work) sturdy(parts []heated, i, before, t float64) {
	var text []string
	var fixes []func(*Given)
	for _, h := range parts {
		if !h.rating.whole() {
			continue
		}
		want := h.rating.sturdier(i, before, t)
		if want == h.rating {
			continue
		}
		if want.Stands > sturdiest {
			return
		}
		text = append(text, "a "+h.name+" that "+want.text(i))
		fixes = append(fixes, func(g *Given) { *h.of(g) = want })
	}
	if len(text) > 0 {
		w.remedy(all(fixes), "%s", and(text))
	}
}

// bigger adds the remedy of a bridge that stands i amperes for ever, where it is
// the only part that does not stand them for t seconds.
func (w *work) bigger(parts []heated, i, before, t float64) {
	for _, h := range parts {
		if h.rating.whole() && (h.name == "bridge") == (h.rating.sturdier(i, before, t) == h.rating) {
			return
		}
	}
	c := microamps(handyUp(i))
	w.remedy(func(g *Given) { g.Bridge.Continuous, g.Bridge.Short = c, max(g.Bridge.Short, 2*c) },
		"a bridge rated for at least %s continuous", amp(amperes(c)))
}

func all(fixes []func(*Given)) func(*Given) {
	return func(g *Given) {
		for _, f := range fixes {
			f(g)
		}
	}
}
