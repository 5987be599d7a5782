package meter

import "pintle/rig/signal"

// The names of the troubles that a meter can have. They do not change.
const (
	Silent      = "meter-silent"
	HungUp      = "meter-hung-up"
	Garbage     = "meter-garbage"
	BadCRC      = "meter-bad-crc"
	OverRange   = "meter-over-range"
	NotANumber  = "meter-not-a-number"
	WrongUnit   = "meter-unit"
	WrongSign   = "meter-sign"
	PartialLine = "meter-partial-line"
	Exception   = "meter-exception"
	Stuck       = "meter-stuck"
	ErrorQueue  = "meter-error-queue"
	Lost        = "meter-lost"
	WrongClock  = "meter-clock"
)

// A TroubleInfo is what there is to say of a trouble.
type TroubleInfo struct {
	Code string
	What string // what has happened
	Do   string // what to do about it
}

// Troubles is the table of all troubles.
var Troubles = []TroubleInfo{
	{Silent, "no reading for longer than the silence allowed", "see that the meter is on and sends, and that port, speed and parity are the meter's"},
	{HungUp, "the port is gone", "plug the meter in again; name the port by /dev/serial/by-id, where its name stays the same"},
	{Garbage, "what came is no reading", "check speed, parity and protocol; keep the cable away from the motor's"},
	{BadCRC, "the check sum is wrong", "check speed and parity; keep the cable away from the motor's"},
	{OverRange, "the current is beyond the meter's range", "set the meter to a larger range, or use a larger shunt"},
	{NotANumber, "the meter says that it has no valid reading", "see what the meter shows; its input may be open"},
	{WrongUnit, "the reading is not in a unit of current", "set the meter to measure current"},
	{WrongSign, "the sign of the reading cannot be trusted", "check the meter's format"},
	{PartialLine, "a reading was cut off", "check the cable; the meter may have been switched off"},
	{Exception, "the meter refused to answer", "check unit address, function and register against the meter's manual"},
	{Stuck, "the same reading again and again, where there should be noise", "see whether the meter is on hold"},
	{ErrorQueue, "the meter reports an error of its own", "look the number up in the meter's manual"},
	{Lost, "readings have been lost", "ask for fewer readings, or let the computer do less beside"},
	{WrongClock, "the meter's own clock does not agree with its interval", "set the interval that the meter really keeps"},
}

// about finds the entry of the table.
func about(code string) TroubleInfo {
	for _, t := range Troubles {
		if t.Code == code {
			return t
		}
	}
	return TroubleInfo{Code: code}
}

// A fault is a trouble on its way: which, and the particulars, as words that cost
// nothing to make. The zero fault is none.
type fault struct {
	code   string
	detail string
}

func (f fault) none() bool { return f.code == "" }

// A reading is what a protocol made of one message.
type reading struct {
	current  signal.Current
	stamped  bool  // the meter told the time
	stamp    int64 // the meter's own time, in nanoseconds
	arrival  signal.Instant
	streamed bool // it came unasked, so the next one's coming can be foretold
}
