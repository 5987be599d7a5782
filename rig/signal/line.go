package signal

import (
	"fmt"
	"slices"
	"strings"
)

// A Line is one wire between bench and controller.
type Line uint8

// The lines that a bench may have. The numbers are written into records: add at
// the end, never renumber.
const (
	NoLine       Line = 0
	Remote       Line = 1  // the button of the remote
	SecondRemote Line = 2  // another remote
	OpenLimit    Line = 3  // end of travel, gate open
	ClosedLimit  Line = 4  // end of travel, gate closed
	HallOpen     Line = 5  // Hall switch near the open end
	HallClosed   Line = 6  // Hall switch near the closed end
	HallTravel   Line = 7  // Hall switch that pulses as the wheel turns
	Beam         Line = 8  // photo-beam across the way; made = interrupted
	Supply       Line = 9  // the controller's supply; made = on
	SupplyDip    Line = 10 // a second, lower supply; made = in place of the first
	StallLoad    Line = 11 // the load that stalls the motor; made = stalled
	Heartbeat    Line = 12 // beats while the bench is alive
	DriveOpen    Line = 13 // the controller's drive output, opening (seen, not driven)
	DriveClose   Line = 14 // the controller's drive output, closing (seen, not driven)
	LeadCut      Line = 15 // a relay in the motor's lead; made = the lead is cut
	MotorShort   Line = 16 // a resistor across the motor's leads; made = it is there
	SupplySag    Line = 17 // a third supply between the full and the dipped one; made = in their place
	DragLoad     Line = 18 // a load that slows the motor and does not stall it; made = it drags

	LineCount = iota // one more than the highest line
)

// A Part is what a line belongs to.
type Part uint8

// The parts that lines belong to.
const (
	OfRemote Part = 1 // a button that is pressed
	OfGate   Part = 2 // a switch that the gate itself makes and breaks
	OfWay    Part = 3 // a sensor of what is in the gate's way
	OfPower  Part = 4 // a supply or a load: more than any pin can carry
	OfBench  Part = 5 // the bench's own, which no fault is on
	OfDrive  Part = 6 // what the controller drives
)

// A LineInfo is what there is to say of a line.
type LineInfo struct {
	Line   Line
	Name   string
	Of     Part
	Driven bool   // the bench drives it; otherwise the bench only sees it
	Made   string // what made means, for tables and messages
	Broken string // what broken means
	Makes  string // that it becomes so: the remote ...
	Breaks string
	Means  string // what the line is, in a sentence
}

// Lines is the table of all lines, in the order of their numbers.
var Lines = [...]LineInfo{
	{Remote, "remote", OfRemote, true, "pressed", "released", "is pressed", "is released", "The button of the remote that moves the gate."},
	{SecondRemote, "second-remote", OfRemote, true, "pressed", "released", "is pressed", "is released", "The button of another remote for the same gate."},
	{OpenLimit, "open-limit", OfGate, true, "made", "broken", "makes", "breaks", "The switch at the end of travel where the gate is open."},
	{ClosedLimit, "closed-limit", OfGate, true, "made", "broken", "makes", "breaks", "The switch at the end of travel where the gate is closed."},
	{HallOpen, "hall-open", OfGate, true, "magnet there", "no magnet", "makes", "breaks", "A Hall switch with a magnet near the open end."},
	{HallClosed, "hall-closed", OfGate, true, "magnet there", "no magnet", "makes", "breaks", "A Hall switch with a magnet near the closed end."},
	{HallTravel, "hall-travel", OfGate, true, "magnet there", "no magnet", "makes", "breaks", "A Hall switch that pulses as the wheel turns."},
	{Beam, "beam", OfWay, true, "interrupted", "clear", "is interrupted", "clears", "The photo-beam across the way; made means interrupted."},
	{Supply, "supply", OfPower, true, "on", "off", "comes on", "goes off", "The controller's supply; made means on."},
	{SupplyDip, "supply-dip", OfPower, true, "dipped", "full", "dips", "recovers", "A second, lower supply, put in place of the first."},
	{StallLoad, "stall-load", OfPower, true, "stalled", "free", "engages", "lets go", "The load that stalls the motor."},
	{Heartbeat, "heartbeat", OfBench, true, "high", "low", "rises", "falls", "It beats while the bench is alive; when it stops, the hardware takes the supply off."},
	{DriveOpen, "drive-open", OfDrive, false, "driven", "idle", "goes on", "goes idle", "The controller's drive output for opening, which the bench only sees."},
	{DriveClose, "drive-close", OfDrive, false, "driven", "idle", "goes on", "goes idle", "The controller's drive output for closing, which the bench only sees."},
	{LeadCut, "lead-cut", OfPower, true, "cut", "whole", "parts", "joins", "A relay in the motor's lead; made means that the lead is cut."},
	{MotorShort, "motor-short", OfPower, true, "shorted", "sound", "shorts", "clears", "A resistor across the motor's leads; made means that it is there."},
	{SupplySag, "supply-sag", OfPower, true, "sagging", "full", "sags", "recovers", "A third supply between the full and the dipped one, put in their place."},
	{DragLoad, "drag-load", OfPower, true, "dragging", "free", "drags", "lets go", "A load that slows the motor and does not stall it."},
}

// String is the line's name as files write it, such as open-limit.
func (l Line) String() string {
	if l > NoLine && l < LineCount {
		return Lines[l-1].Name
	}
	return fmt.Sprintf("line %d", uint8(l))
}

// Info gives the table's entry for the line.
func (l Line) Info() LineInfo {
	if l > NoLine && l < LineCount {
		return Lines[l-1]
	}
	return LineInfo{Line: l, Name: l.String()}
}

// LineNamed finds a line by its name.
func LineNamed(name string) (Line, bool) {
	for _, info := range Lines {
		if info.Name == name {
			return info.Line, true
		}
	}
	return NoLine, false
}

// A LineSet is a set of lines, one bit each.
type LineSet uint32

// SetOf makes a set.
func SetOf(lines ...Line) LineSet {
	var s LineSet
	for _, l := range lines {
		s |= 1 << l
	}
	return s
}

// LinesOf is the set of all lines of some parts.
func LinesOf(parts ...Part) LineSet {
	var s LineSet
	for _, info := range Lines {
		if slices.Contains(parts, info.Of) {
			s |= SetOf(info.Line)
		}
	}
	return s
}

// String lists the lines in the order of their numbers, such as "remote, supply".
func (s LineSet) String() string {
	var names []string
	for _, info := range Lines {
		if s.Has(info.Line) {
			names = append(names, info.Name)
		}
	}
	return strings.Join(names, ", ")
}

// Has says whether the line is in the set.
func (s LineSet) Has(l Line) bool { return s&(1<<l) != 0 }

// Level says whether a line is made.
type Level uint8

// A line is broken until something makes it.
const (
	Broken Level = 0
	Made   Level = 1
)

// String is "made" or "broken".
func (v Level) String() string {
	if v == Made {
		return "made"
	}
	return "broken"
}

// Not is the other level.
func (v Level) Not() Level { return v ^ 1 }
