package virtual

import (
	"time"

	"pintle/rig/signal"
)

const forever = time.Duration(1 << 62)

// runDefects are in how it starts, stops and gives up.
var runDefects = []defect{
	{DefectInfo{"no run-time cut-out", "drives for ever if nothing else stops it"},
		func(h *habits) { h.RunTime = forever }},
	{DefectInfo{"run-time cut-out too long", "gives up half as late again as it should"},
		func(h *habits) { h.RunTime += h.RunTime / 2 }},
	{DefectInfo{"run-time cut-out too short", "gives up after a quarter of the time, in the middle of an honest travel"},
		func(h *habits) { h.RunTime /= 4 }},
	{DefectInfo{"run-time cut-out only when closing", "opens for ever if nothing else stops it"},
		func(h *habits) { h.runsUncut = opening }},
	{DefectInfo{"run-time cut-out only when opening", "closes for ever if nothing else stops it"},
		func(h *habits) { h.runsUncut = closing }},
	{DefectInfo{"run time counted over all drives", "adds all drives since power-up to one run time, and gives up once that is over"},
		func(h *habits) { h.runAdds = true }},
	{DefectInfo{"turns round at the run-time cut-out", "drives back when it has given up"},
		func(h *habits) { h.runTurns = true }},
	{DefectInfo{"clock wraps after a minute", "counts milliseconds in 16 bits: a press after 65.5 s of rest is answered when they have come round once more"},
		func(h *habits) { h.wraps = true }},
	{DefectInfo{"moves by itself when its clock comes round", "counts milliseconds in 16 bits, and takes the zero that comes after 65.5 s of rest for a press"},
		func(h *habits) { h.rouses = round }},
	{DefectInfo{"slower to stop with each drive", "stops a millisecond later for each drive since power-up"},
		func(h *habits) { h.wears = time.Millisecond }},
	{DefectInfo{"slow to start", "answers a press at rest 900 ms late"},
		func(h *habits) { h.StartDelay += 900 * time.Millisecond }},
	{DefectInfo{"weak start", "drives for 80 ms, lets go, and only then drives for good"},
		func(h *habits) { h.stutters = 80 * time.Millisecond }},
	{DefectInfo{"kicks back after a stop", "drives the other way for 150 ms after every stop"},
		func(h *habits) { h.kicks = 150 * time.Millisecond }},
	{DefectInfo{"both drive outputs at once", "brakes by driving both halves of the bridge for 3 ms after every stop, which the motor's current does not show"},
		func(h *habits) { h.brakes = 3 * time.Millisecond }},
	{DefectInfo{"no dead time", "drives the other way while the motor still turns"},
		func(h *habits) { h.DeadTime, h.BeamReversal = 0, 0; h.StallReversal = min(h.StallReversal, 1) }},
	{DefectInfo{"starts at once in the dead time", "lets a press in the dead time start the motor, though its own reversals wait"},
		func(h *habits) { h.pressHasty = true }},
	{DefectInfo{"no dead time in its own reversals", "waits when it is pressed, but turns round for the beam or a stall while the motor still turns"},
		func(h *habits) { h.ownHasty, h.BeamReversal = true, 0; h.StallReversal = min(h.StallReversal, 1) }},
	{DefectInfo{"closes first after power-up", "takes the gate for open when it is pressed for the first time, whatever its limits say"},
		func(h *habits) { h.closesFirst = true }},
	{DefectInfo{"closes by itself", "closes three seconds after it has opened, unasked"},
		func(h *habits) { h.closesLater = 3 * time.Second }},
}

// limitDefects are in what it makes of its limits.
var limitDefects = []defect{
	{DefectInfo{"ignores the closed limit", "goes on closing when the closed limit makes"},
		func(h *habits) { h.deaf |= signal.SetOf(signal.ClosedLimit) }},
	{DefectInfo{"ignores the open limit", "goes on opening when the open limit makes"},
		func(h *habits) { h.deaf |= signal.SetOf(signal.OpenLimit) }},
	{DefectInfo{"misses every eighth limit", "drives on at the end of every eighth travel"},
		func(h *habits) { h.missesEach = 8 }},
	{DefectInfo{"slow to stop at a limit", "drives on for 400 ms after a limit"},
		func(h *habits) { h.lag[byLimit] += 400 * time.Millisecond }},
	{DefectInfo{"no debounce of limits", "the first touch of a limit stops it, wherever it is, and the contact's bounce starts it again"},
		func(h *habits) { h.rawLimits = true }},
	{DefectInfo{"obeys a glitch on a limit", "the shortest touch of the limit ahead stops it, wherever it is"},
		func(h *habits) { h.quickLimits = true }},
	{DefectInfo{"forgets a short limit pulse", "drives on if a limit has broken again by the time that it would stop"},
		func(h *habits) { h.pulseLost = true }},
	{DefectInfo{"restarts when a limit breaks again", "drives on when the gate rebounds off the limit that has stopped it"},
		func(h *habits) { h.restarts = true }},
	{DefectInfo{"forgets the end that it has reached", "goes the same way again if the limit there has broken since"},
		func(h *habits) { h.forgetsEnd = true }},
	{DefectInfo{"drives into a made limit", "goes by its memory, not by the limits: after power-up it opens an open gate, and does not see a limit that was made before"},
		func(h *habits) { h.byMemory = true }},
	{DefectInfo{"drives on when pressed right after arrival", "takes a press in the half second after a limit as a wish to go on the same way"},
		func(h *habits) { h.drivesOn = true }},
	{DefectInfo{"stops at a magnet behind it", "takes the limit that it has left for the one ahead, if it makes again"},
		func(h *habits) { h.stopsBehind = true }},
	{DefectInfo{"takes a bounce of the limit behind it for an end", "stops when the limit that it has left bounces"},
		func(h *habits) { h.rawBehind = true }},
	{DefectInfo{"takes an early limit for a fault", "gives up if the limit behind it breaks in the first tenth of a second"},
		func(h *habits) { h.flinches = 100 * time.Millisecond }},
	{DefectInfo{"takes a late limit for a stuck one", "gives up if the limit behind it has not broken after a second"},
		func(h *habits) { h.hasty = time.Second }},
	{DefectInfo{"both limits made is ignored", "moves although both limits are made, and heeds neither"},
		func(h *habits) { h.ignoresBoth = true }},
	{DefectInfo{"moves off when both limits are made", "opens a little at power-up to see which of the two limits is right"},
		func(h *habits) { h.movesOff = true }},
}
