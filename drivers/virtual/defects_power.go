package virtual

import (
	"time"

	"pintle/rig/signal"
)

// currentDefects are in what it makes of the motor's current.
var currentDefects = []defect{
	{DefectInfo{"no stall cut-out", "drives a stalled motor until the run-time cut-out"},
		func(h *habits) { h.StallCurrent = 1 << 62 }},
	{DefectInfo{"no stall cut-out when closing", "drives a stalled motor until the run-time cut-out, but only closing"},
		func(h *habits) { h.stallsUnseen = closing }},
	{DefectInfo{"no stall cut-out when opening", "drives a stalled motor until the run-time cut-out, but only opening"},
		func(h *habits) { h.stallsUnseen = opening }},
	{DefectInfo{"stall cut-out blind at start", "does not look for a stall in the first five seconds of a drive"},
		func(h *habits) { h.InrushMask += 5 * time.Second }},
	{DefectInfo{"stall cut-out too slow", "lets a stall last a second and a half longer"},
		func(h *habits) { h.StallTime += 1500 * time.Millisecond }},
	{DefectInfo{"stall threshold too low", "takes a heavy gate for a stalled one: its stall current is 35 % too low"},
		func(h *habits) { h.StallCurrent -= h.StallCurrent / 100 * 35 }},
	{DefectInfo{"takes the inrush for a stall", "stops as soon as it has started"},
		func(h *habits) { h.InrushMask, h.StallTime = 0, 0 }},
	{DefectInfo{"tries again after a stall", "drives on a second after the stall cut-out, again and again"},
		func(h *habits) { h.retries[byStall], h.StallReversal = time.Second, 0 }},
	{DefectInfo{"does not reverse after a stall", "stays on what it has closed on"},
		func(h *habits) { h.StallReversal = 0 }},
	{DefectInfo{"slow to reverse after a stall", "stays for three more seconds on what it has closed on"},
		func(h *habits) {
			if h.StallReversal > 0 {
				h.StallReversal += 3 * time.Second
			}
		}},
	{DefectInfo{"reverses after a stall while opening", "closes by itself when it has been held up while opening"},
		func(h *habits) { h.reversesAll, h.StallReversal = true, max(h.StallReversal, 1) }},
	{DefectInfo{"no open-circuit cut-out", "drives a motor whose lead is parted until the run-time cut-out"},
		func(h *habits) { h.OpenTime = 0 }},
	{DefectInfo{"open-circuit cut-out too slow", "notices a parted lead two seconds late"},
		func(h *habits) { h.OpenTime += 2 * time.Second }},
	{DefectInfo{"restarts when the lead is joined again", "tries a motor whose lead was parted every second until it runs"},
		func(h *habits) { h.retries[byOpen] = time.Second }},
	{DefectInfo{"no short-circuit cut-out", "drives into a short circuit until the stall cut-out"},
		func(h *habits) { h.ShortCurrent = 0 }},
	{DefectInfo{"short-circuit cut-out too slow", "feeds a short circuit for 150 ms longer"},
		func(h *habits) { h.ShortTime += 150 * time.Millisecond }},
	{DefectInfo{"tries again after a short circuit", "drives on two seconds after the short-circuit cut-out"},
		func(h *habits) { h.retries[byShort] = 2 * time.Second }},
}

// supplyDefects are in how it gets over what its supply does.
var supplyDefects = []defect{
	{DefectInfo{"moves by itself when supply returns", "closes after power-up if the gate stands between its limits"},
		func(h *habits) { h.homes = true }},
	{DefectInfo{"no quiet time after power-up", "obeys presses while its supply still settles"},
		func(h *habits) { h.PowerUpQuiet = 0 }},
	{DefectInfo{"button held at power-up is a press", "moves when the supply comes on with the button down"},
		func(h *habits) { h.countsHeld, h.PowerUpQuiet = true, 0 }},
	{DefectInfo{"starts by itself after power-up", "moves as if it had been pressed, three seconds after the supply has come on"},
		func(h *habits) { h.rouses = 3 * time.Second }},
	{DefectInfo{"tries its motor at power-up", "opens for a tenth of a second as soon as the supply comes on"},
		func(h *habits) { h.tries = 100 * time.Millisecond }},
	{DefectInfo{"believes no limit after power-up", "takes both limits for broken in the first two seconds"},
		func(h *habits) { h.limitless = 2 * time.Second }},
	{DefectInfo{"comes back driving after a reset", "drives on at once when the supply returns that a drive was cut short by"},
		func(h *habits) { h.comesOn = true }},
	{DefectInfo{"resumes its travel after a reset", "finishes by itself, after its quiet time, what a reset has cut short"},
		func(h *habits) { h.resumes = true }},
	{DefectInfo{"keeps its order through a reset at the start", "drops an order only once it has driven for a second, and carries it out as soon as the supply returns"},
		func(h *habits) { h.startsOver, h.keepsOrder = true, time.Second }},
	{DefectInfo{"hangs after a reset in mid-travel", "does nothing more after a reset that has cut a drive short"},
		func(h *habits) { h.locksUp = true }},
	{DefectInfo{"starts what a reset has interrupted", "remembers a drive that was about to begin, and begins it as soon as the supply returns"},
		func(h *habits) { h.startsOver = true }},
	{DefectInfo{"loses its dead time in a reset", "knows neither dead time nor quiet time after a reset in mid-travel"},
		func(h *habits) { h.losesDead = true }},
	{DefectInfo{"resets when the supply sags", "its logic does not live on a supply that is low but honest"},
		func(h *habits) { h.sagResets, h.dipResets = true, true }},
	{DefectInfo{"gives up when the supply sags", "stops, and does not start, while the supply is low"},
		func(h *habits) { h.weak = true }},
	{DefectInfo{"turns round after a sag", "takes the surge at the end of a sag for an obstacle, whichever way it goes"},
		func(h *habits) { h.upsets |= signal.SetOf(signal.SupplySag) }},
	{DefectInfo{"turns round after a dip", "forgets in a deep dip which way it goes, and drives on the other way"},
		func(h *habits) { h.upsets |= signal.SetOf(signal.SupplyDip) }},
	{DefectInfo{"turns round after a short interruption", "outlives a short interruption, but goes the other way after it"},
		func(h *habits) { h.upsets |= signal.SetOf(signal.Supply) }},
	{DefectInfo{"run time stands still while the supply dips", "drives for ever on a supply that is too low to move the gate"},
		func(h *habits) { h.runWaits = true }},
}
