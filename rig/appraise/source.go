package appraise

import "pintle/rig/uncertainty"

// A SourceID names a source of uncertainty. The numbers are written into records:
// add at the end, never renumber.
type SourceID uint8

const (
	EdgeStart   SourceID = 1
	EdgeEnd     SourceID = 2
	LookStart   SourceID = 3
	LookEnd     SourceID = 4
	WindowStart SourceID = 5
	WindowEnd   SourceID = 6
	NoiseStart  SourceID = 7
	NoiseEnd    SourceID = 8
	DelayStart  SourceID = 9
	DelayEnd    SourceID = 10
	BridgeStart SourceID = 11
	BridgeEnd   SourceID = 12
	ClockRate   SourceID = 13
	ReadNoise   SourceID = 14
	ReadStep    SourceID = 15
	ReadGain    SourceID = 16
	ReadZero    SourceID = 17
	LoadBounds  SourceID = 18
	SwingStart  SourceID = 19
	SwingEnd    SourceID = 20
)

// A Source is one thing that makes a value uncertain.
type Source struct {
	ID           SourceID                 `json:"id"`
	Name         string                   `json:"name"`
	Distribution uncertainty.Distribution `json:"distribution"`
	Assumes      string                   `json:"assumes"` // what is taken for granted, and where the figure is from
}

const (
	rectangular = uncertainty.Rectangular
	normal      = uncertainty.Normal

	assumesEdge   = "the change of a line, or of what a reading is compared with, came anywhere between the two instants that the bench recorded"
	assumesLook   = "the meter's readings know nothing of the event; from the last reading of the old state to the first of the new"
	assumesWindow = "the current goes over from the level before to the level after like a step, and each level is known to a fifth; " +
		"without readings of both, anywhere in the window"
	assumesNoise  = "the reading's noise over the slope of the mean, which goes from one level to the other in one window"
	assumesDelay  = "the meter's delay lies anywhere between the least and the most that the bench file states"
	assumesSwing  = "the current takes up to the bench file's time from one level to the other: falling, it crosses the threshold later than a step would by up to that, rising, sooner"
	assumesBridge = "a serial bridge holds bytes back for anything up to its timer"
)

// Sources is the table of all sources, by their numbers.
var Sources = []Source{
	{EdgeStart, "start: as recorded", rectangular, assumesEdge},
	{EdgeEnd, "end: as recorded", rectangular, assumesEdge},
	{LookStart, "start: meter interval", rectangular, assumesLook},
	{LookEnd, "end: meter interval", rectangular, assumesLook},
	{WindowStart, "start: averaging window", rectangular, assumesWindow},
	{WindowEnd, "end: averaging window", rectangular, assumesWindow},
	{NoiseStart, "start: noise at the threshold", normal, assumesNoise},
	{NoiseEnd, "end: noise at the threshold", normal, assumesNoise},
	{DelayStart, "start: meter delay", rectangular, assumesDelay},
	{DelayEnd, "end: meter delay", rectangular, assumesDelay},
	{BridgeStart, "start: serial bridge", rectangular, assumesBridge},
	{BridgeEnd, "end: serial bridge", rectangular, assumesBridge},
	{ClockRate, "clock rate", rectangular, "the bench's clock is off by no more than the bench file states, over the limit or what was measured if that is longer"},
	{ReadNoise, "noise of the reading", normal, "the bench file's figure; a mean of several readings has less. The largest of many readings lies above the current: that is not taken off"},
	{ReadStep, "step of the reading", rectangular, "half a step either way"},
	{ReadGain, "gain of the meter", rectangular, "the bench file's figure, of the limit or of what was measured if that is more"},
	{ReadZero, "zero of the meter", rectangular, "the bench file's figure"},
	{LoadBounds, "course between readings", rectangular, "between two readings the current was no less than the smaller and no more than the larger"},
	{SwingStart, "start: swing of the current", rectangular, assumesSwing},
	{SwingEnd, "end: swing of the current", rectangular, assumesSwing},
}

func (id SourceID) source() Source {
	if id >= 1 && int(id) <= len(Sources) {
		return Sources[id-1]
	}
	return Source{Name: "unknown source"}
}
