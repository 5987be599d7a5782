package fault

import (
	"time"

	"pintle/rig/signal"
)

// Kind is what is wrong with a line.
type Kind uint8

// What there is to say of each is in the table Kinds; a kind that no code speaks of
// needs no name here.
const (
	NeverMakes  Kind = 1  // stays broken
	StuckMade   Kind = 2  // is made from the start and stays so
	StuckBroken Kind = 3  // goes on as it should, but never makes again once broken
	Late        Kind = 4  // each edge comes By later
	Early       Kind = 5  // each edge comes By earlier, but not before the one before it
	Bounce      Kind = 6  // each edge is followed by a burst of contact bounce lasting up to For
	Chatter     Kind = 7  // while made, the contact opens for Gap in every Every
	Dropout     Kind = 8  // once made, the contact opens after By for For, then is as it should be
	Swapped     Kind = 9  // the line and Other are exchanged
	BreaksLate  Kind = 10 // each breaking comes By later
	BreaksEarly Kind = 11 // each breaking comes By earlier, but not before it made
	BounceOff   Kind = 12 // each breaking is followed by a burst of contact bounce lasting up to For
	Pulses      Kind = 13 // once made, it breaks after By and stays so until it is to make anew
	Glitches    Kind = 14 // in every Every it goes to the other level for a moment, from 1 µs up to Gap
	Drifts      Kind = 15 // each making comes By later than the one before it did
)

// A Fault is one thing wrong with one line (two, where they are swapped).
type Fault struct {
	Kind  Kind
	Line  signal.Line
	Other signal.Line   // of Swapped
	By    time.Duration // of Late, Early, Dropout, BreaksLate, BreaksEarly, Pulses, Drifts
	For   time.Duration // of Bounce, Dropout, BounceOff
	Every time.Duration // of Chatter, Glitches
	Gap   time.Duration // of Chatter, Glitches
}
