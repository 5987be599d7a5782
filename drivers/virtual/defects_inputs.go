package virtual

import "time"

// buttonDefects are in what it makes of its buttons.
var buttonDefects = []defect{
	{DefectInfo{"slow to stop when pressed", "drives on for 600 ms after a press in mid-travel"},
		func(h *habits) { h.lag[byPress] += 600 * time.Millisecond }},
	{DefectInfo{"no debounce of the button", "a bounce of the button is a second press"},
		func(h *habits) { h.edgePresses = 2 }},
	{DefectInfo{"obeys a glitch on the button", "the shortest touch of a button is a press"},
		func(h *habits) { h.edgePresses = max(h.edgePresses, 1) }},
	{DefectInfo{"obeys a glitch on the second remote", "the shortest touch of the other remote is a press"},
		func(h *habits) { h.edgeSecond = true }},
	{DefectInfo{"obeys too short a press", "one look at a button is enough for a press"},
		func(h *habits) { h.RemoteDebounce, h.snapPress = 0, true }},
	{DefectInfo{"needs a long press", "a press must last three times as long as it should"},
		func(h *habits) { h.RemoteDebounce *= 3 }},
	{DefectInfo{"held button repeats", "a button held down presses again every second"},
		func(h *habits) { h.repeats = time.Second }},
	{DefectInfo{"ignores a press in mid-travel", "a press does not stop a moving gate"},
		func(h *habits) { h.deafMoving = true }},
	{DefectInfo{"ignores a press while it is stalled", "hears no press while the motor draws a stall's current"},
		func(h *habits) { h.deafStalled = true }},
	{DefectInfo{"turns round when pressed in mid-travel", "a press turns a moving gate round where it should only stop it"},
		func(h *habits) { h.pressTurns = true }},
	{DefectInfo{"goes the same way again", "a press after a stop in mid-travel does not turn the gate round"},
		func(h *habits) { h.sameWay = true }},
	{DefectInfo{"a press calls a stop off", "drives on if it is pressed between the reason to stop and the stop"},
		func(h *habits) { h.callsOff = true }},
	{DefectInfo{"ignores the second remote", "the other remote does nothing"},
		func(h *habits) { h.deafSecond = true }},
	{DefectInfo{"hangs when two remotes are pressed", "does nothing more, once two buttons have gone down together, until the supply is switched"},
		func(h *habits) { h.hangs = true }},
}

// beamDefects are in what it makes of the beam.
var beamDefects = []defect{
	{DefectInfo{"ignores the beam", "closes through an interrupted beam"},
		func(h *habits) { h.ignoresBeam = true }},
	{DefectInfo{"does not look at the beam before it closes", "sees the beam only when it is interrupted while closing"},
		func(h *habits) { h.beamEdge = true }},
	{DefectInfo{"takes a long-interrupted beam for a broken one", "closes if the beam has been interrupted for five seconds, or since power-up"},
		func(h *habits) { h.tires = 5 * time.Second }},
	{DefectInfo{"does not reverse for the beam", "stops when the beam is interrupted, and stands there"},
		func(h *habits) { h.noReverse = true }},
	{DefectInfo{"slow to stop for the beam", "closes on for 500 ms through an interrupted beam"},
		func(h *habits) { h.lag[byBeam] += 500 * time.Millisecond }},
	{DefectInfo{"slow to reverse for the beam", "stands for three more seconds before it opens"},
		func(h *habits) { h.BeamReversal += 3 * time.Second }},
	{DefectInfo{"beam stops an opening gate", "an interrupted beam keeps it from opening all the way"},
		func(h *habits) { h.beamBoth = true }},
	{DefectInfo{"turns round for the beam while it opens", "takes the beam for an obstacle whichever way it goes, and closes on whoever stands there"},
		func(h *habits) { h.beamBoth, h.beamTurns = true, true }},
	{DefectInfo{"closes again when the beam is clear", "closes by itself after it has opened for the beam"},
		func(h *habits) { h.closesAgain = true }},
	{DefectInfo{"obeys a glitch on the beam", "the shortest flicker of the beam turns a closing gate round"},
		func(h *habits) { h.quickBeam = true }},
}
