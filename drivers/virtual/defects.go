package virtual

import (
	"strings"
	"time"

	"pintle/rig/signal"
)

// A DefectInfo is a mistake that the built-in controller can be made with.
type DefectInfo struct {
	Name  string // as it is written in a Config
	Means string // what the controller then does
}

// A defect is one row of the table: all that it changes is in its habit.
type defect struct {
	DefectInfo
	habit func(h *habits)
}

const forever = time.Duration(1 << 62)

var defects = []defect{
	{DefectInfo{"no run-time cut-out", "drives for ever if nothing else stops it"},
		func(h *habits) { h.RunTime = forever }},
	{DefectInfo{"run-time cut-out too long", "gives up half as late again as it should"},
		func(h *habits) { h.RunTime += h.RunTime / 2 }},
	{DefectInfo{"run-time cut-out too short", "gives up after a quarter of the time, in the middle of an honest travel"},
		func(h *habits) { h.RunTime /= 4 }},
	{DefectInfo{"ignores the closed limit", "goes on closing when the closed limit makes"},
		func(h *habits) { h.deaf |= signal.SetOf(signal.ClosedLimit) }},
	{DefectInfo{"ignores the open limit", "goes on opening when the open limit makes"},
		func(h *habits) { h.deaf |= signal.SetOf(signal.OpenLimit) }},
	{DefectInfo{"slow to stop at a limit", "drives on for 400 ms after a limit"},
		func(h *habits) { h.lag[byLimit] = 400 * time.Millisecond }},
	{DefectInfo{"slow to stop when pressed", "drives on for 600 ms after a press in mid-travel"},
		func(h *habits) { h.lag[byPress] = 600 * time.Millisecond }},
	{DefectInfo{"slow to start", "answers a press at rest 900 ms late"},
		func(h *habits) { h.StartDelay += 900 * time.Millisecond }},
	{DefectInfo{"no debounce of limits", "the first touch of a limit stops it, wherever it is, and the contact's bounce starts it again"},
		func(h *habits) { h.rawLimits, h.interrupts = true, true }},
	{DefectInfo{"no debounce of the button", "a bounce of the button is a second press"},
		func(h *habits) { h.rawButton, h.interrupts = true, true }},
	{DefectInfo{"restarts when a limit breaks again", "drives on when the gate rebounds off the limit that has stopped it"},
		func(h *habits) { h.restarts = true }},
	{DefectInfo{"no stall cut-out", "drives a stalled motor until the run-time cut-out"},
		func(h *habits) { h.StallCurrent = 1 << 62 }},
	{DefectInfo{"stall cut-out blind at start", "does not look for a stall in the first five seconds of a drive"},
		func(h *habits) { h.InrushMask += 5 * time.Second }},
	{DefectInfo{"stall cut-out too slow", "lets a stall last a second and a half longer"},
		func(h *habits) { h.StallTime += 1500 * time.Millisecond }},
	{DefectInfo{"tries again after a stall", "drives on a second after the stall cut-out, again and again"},
		func(h *habits) { h.retries = time.Second }},
	{DefectInfo{"no dead time", "drives the other way while the motor still turns"},
		func(h *habits) { h.DeadTime = 0 }},
	{DefectInfo{"moves by itself when supply returns", "closes after power-up if the gate stands between its limits"},
		func(h *habits) { h.homes = true }},
	{DefectInfo{"held button repeats", "a button held down presses again every second"},
		func(h *habits) { h.repeats = time.Second }},
	{DefectInfo{"drives into a made limit", "goes by its memory, not by the limits: after power-up it opens an open gate, and does not see a limit that was made before"},
		func(h *habits) { h.byMemory = true }},
	{DefectInfo{"ignores a press in mid-travel", "a press does not stop a moving gate"},
		func(h *habits) { h.deafMoving = true }},
	{DefectInfo{"both limits made is ignored", "moves although both limits are made, and heeds neither"},
		func(h *habits) { h.ignoresBoth = true }},
	{DefectInfo{"weak start", "drives for 80 ms, lets go, and only then drives for good"},
		func(h *habits) { h.stutters = 80 * time.Millisecond }},
	{DefectInfo{"goes the same way again", "a press after a stop in mid-travel does not turn the gate round"},
		func(h *habits) { h.sameWay = true }},
	{DefectInfo{"no quiet time after power-up", "obeys presses while its supply still settles"},
		func(h *habits) { h.PowerUpQuiet = 0 }},
	{DefectInfo{"button held at power-up is a press", "moves when the supply comes on with the button down"},
		func(h *habits) { h.countsHeld, h.PowerUpQuiet = true, 0 }},
	{DefectInfo{"ignores the beam", "closes through an interrupted beam"},
		func(h *habits) { h.ignoresBeam = true }},
	{DefectInfo{"does not reverse for the beam", "stops when the beam is interrupted, and stands there"},
		func(h *habits) { h.noReverse = true }},
	{DefectInfo{"kicks back after a stop", "drives the other way for 150 ms after every stop"},
		func(h *habits) { h.kicks = 150 * time.Millisecond }},
}

// Defects is the table of all defects.
func Defects() []DefectInfo {
	infos := make([]DefectInfo, len(defects))
	for i, d := range defects {
		infos[i] = d.DefectInfo
	}
	return infos
}

func defectNamed(name string) (defect, bool) {
	for _, d := range defects {
		if d.Name == name {
			return d, true
		}
	}
	return defect{}, false
}

func defectNames() string {
	names := make([]string, len(defects))
	for i, d := range defects {
		names[i] = d.Name
	}
	return strings.Join(names, ", ")
}
