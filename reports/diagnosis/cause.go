package diagnosis

import (
	"slices"

	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A cause is something to look at where a rule was broken while a fault or a line had
// a part in it. What there is to look at in any case stands with the rule's pattern.
type cause struct {
	broken []rule.Breach // nil: in whatever manner
	fault  string        // kind of a fault that the scenario has; empty: any
	line   signal.Line   // that the rule speaks of, or that was at fault; NoLine: any
	look   string
}

var (
	timed   = []rule.Breach{rule.TooLate, rule.TooLong}
	counted = []rule.Breach{rule.TooOften, rule.Came, rule.TooSoon}
	current = []rule.Breach{rule.TooMuch}
)

// causes is the table of what to look at. Common practice, no source.
var causes = []cause{
	{timed, "never makes", 0, "the run-time counter: is it started at every start of the motor, and read in every state in which the motor runs?"},
	{timed, "stuck broken", 0, "the run-time counter: is it started at every start of the motor, and read in every state in which the motor runs?"},
	{counted, "stuck made", 0, "the check of the limits before a start: a limit that is made on both ways, or at the wrong end, must be refused"},
	{timed, "bounces", 0, "the debouncing of the limit: a filter that begins anew at every edge waits until the last bounce is over"},
	{counted, "bounces", 0, "the debouncing of the input: each bounce may be taken for an event of its own"},
	{counted, "bounces on release", 0, "the debouncing of the input: it must hold for the release as well"},
	{nil, "chatters", 0, "the debouncing of the input: a contact that opens again and again may never count as made"},
	{nil, "drops out", 0, "what keeps the state once the limit was reached: a limit that opens again must not start the motor"},
	{counted, "glitches", 0, "the filter of the input: a pulse shorter than the claim says must not reach the state machine, interrupts included"},
	{nil, "late", 0, "what the controller takes a late limit for: the run-time counter and the stall detection must bridge it"},
	{nil, "early", 0, "what the controller does where the limit comes before the end of the way"},
	{nil, "breaks late", 0, "the wait for the limit to break after a start: it must neither stop the motor nor last for ever"},
	{nil, "breaks early", 0, "what keeps the position at rest: a limit that is lost must not start the motor"},
	{nil, "pulses", 0, "how the limit is read: an input that is polled more slowly than the pulse lasts misses it"},
	{nil, "drifts", 0, "what position the controller reckons with, and what it compares it with at the end"},
	{nil, "swapped with", 0, "the check of the limits against the direction: the wrong limit at the end of a way must end it"},
	{timed, "", signal.StallLoad, "the stall detection: its threshold against the current that was reached, and the time that it waits after a start"},
	{current, "", signal.StallLoad, "the current limit of the drive: whether the stall is cut off before the current has risen that far"},
	{timed, "", signal.Beam, "how the beam is read: the path from its input to the drive must not wait for a slower task"},
	{timed, "", signal.Remote, "how the button is read: the debouncing time and the period of the loop add up to the delay"},
	{timed, "", signal.ClosedLimit, "the path from the limit to the drive: debouncing, the period of the loop, and whether the drive is braked or left to coast"},
	{timed, "", signal.OpenLimit, "the path from the limit to the drive: debouncing, the period of the loop, and whether the drive is braked or left to coast"},
	{counted, "", signal.Supply, "what the controller finds in its memory as it wakes: a state kept over a reset, or inputs read before they have settled"},
	{nil, "", signal.MotorShort, "the short-circuit protection: whether it is hardware, and what resets it"},
	{nil, "", signal.LeadCut, "the detection of an open circuit: a drive without current must be given up"},
	{nil, "", signal.SupplySag, "the supply of the logic and the brown-out threshold, against the voltage that was left"},
	{nil, "", signal.SupplyDip, "the brown-out threshold and what the controller does on waking"},
}

// mostCauses is how many are offered.
const mostCauses = 3

// causes picks what to look at: what fits the faults and the lines comes before what
// fits the pattern.
func (y *story) causes() []string {
	var all []string
	add := func(look string) {
		if look != "" && !slices.Contains(all, look) && len(all) < mostCauses {
			all = append(all, look)
		}
	}
	pattern := y.pattern()
	for _, c := range causes {
		if y.fits(c, pattern.Broken) {
			add(c.look)
		}
	}
	add(pattern.Look)
	return all
}

func (y *story) fits(c cause, broken rule.Breach) bool {
	return (c.broken == nil || slices.Contains(c.broken, broken)) &&
		(c.line == signal.NoLine || named(y.words(), c.line.String())) &&
		(c.fault == "" || y.has(c.fault))
}

// has says that the scenario has a fault of a kind, on a line that matters.
func (y *story) has(kind string) bool {
	for _, f := range y.s.Faults {
		if f.Kind == kind {
			return true
		}
	}
	return false
}
