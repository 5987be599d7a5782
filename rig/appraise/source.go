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

	ComparedWith SourceID = 21
)

// A Source is one thing that makes a value uncertain.
type Source struct {
	ID           SourceID                 `json:"id"`
	Name         string                   `json:"name"`
	Distribution uncertainty.Distribution `json:"distribution"`
	Assumes      string                   `json:"assumes"` // what is taken for granted, and where the figure is from
	Remedy       string                   `json:"-"`       // what would make it smaller
}

const (
	rectangular = uncertainty.Rectangular
	normal      = uncertainty.Normal

	assumesEdge   = "the change of a line, or of what a reading is compared with, came anywhere between the two instants that the bench recorded"
	assumesLook   = "the meter's readings know nothing of the event; from the last reading of the old state to the first of the new"
	assumesWindow = "the current goes over from the level before to the level after like a step, and each level is known to a fifth; " +
		"without readings of both, anywhere in the window"
	assumesNoise    = "the reading's noise over the slope of the mean, which goes from one level to the other in one window"
	assumesDelay    = "the meter's delay lies anywhere between the least and the most that the bench file states"
	assumesSwing    = "the current takes up to the bench file's time from one level to the other: falling, it crosses the threshold later than a step would by up to that, rising, sooner"
	remedyEdge      = "a bench that emits and stamps its edges more closely"
	remedyLook      = "a meter that reads more often, or a line that senses the controller's drive outputs"
	remedyWindow    = "a meter that averages over a shorter window, or a line that senses the controller's drive outputs"
	remedyNoise     = "a meter with less noise, or with a range nearer to the motor's current"
	remedyDelay     = "a meter whose delay wavers less, measured by pintle check --bench"
	remedyBridge    = "a serial bridge with a shorter latency timer, or a meter without one"
	remedySwing     = "a measured time for the current's swing in the bench file, or a line that senses the controller's drive outputs"
	assumesCompared = "the rule is begun, ended or answered by a current that comes to a figure: the value by that figure, and by as much less and more as the meter may read off, lie no farther apart"
	remedyCompared  = "a meter with less noise and a smaller error of its gain and its zero, or a figure that the current passes more quickly"
	assumesBridge   = "a serial bridge holds bytes back for anything up to its timer"
)

// Sources is the table of all sources, by their numbers.
var Sources = []Source{
	{EdgeStart, "start: as recorded", rectangular, assumesEdge, remedyEdge},
	{EdgeEnd, "end: as recorded", rectangular, assumesEdge, remedyEdge},
	{LookStart, "start: meter interval", rectangular, assumesLook, remedyLook},
	{LookEnd, "end: meter interval", rectangular, assumesLook, remedyLook},
	{WindowStart, "start: averaging window", rectangular, assumesWindow, remedyWindow},
	{WindowEnd, "end: averaging window", rectangular, assumesWindow, remedyWindow},
	{NoiseStart, "start: noise at the threshold", normal, assumesNoise, remedyNoise},
	{NoiseEnd, "end: noise at the threshold", normal, assumesNoise, remedyNoise},
	{DelayStart, "start: meter delay", rectangular, assumesDelay, remedyDelay},
	{DelayEnd, "end: meter delay", rectangular, assumesDelay, remedyDelay},
	{BridgeStart, "start: serial bridge", rectangular, assumesBridge, remedyBridge},
	{BridgeEnd, "end: serial bridge", rectangular, assumesBridge, remedyBridge},
	{ClockRate, "clock rate", rectangular, "the bench's clock is off by no more than the bench file states, over the limit or what was measured if that is longer", "a clock set by a better one, its error stated in the bench file"},
	{ReadNoise, "noise of the reading", normal, "the bench file's figure; a mean of several readings has less. The largest of many readings lies above the current: that is not taken off", "a meter with less noise, or a mean over a longer window"},
	{ReadStep, "step of the reading", rectangular, "half a step either way", "a meter with a finer step, or with a range nearer to the current"},
	{ReadGain, "gain of the meter", rectangular, "the bench file's figure, of the limit or of what was measured if that is more", "a meter calibrated at the current of the limit, its gain stated in the bench file"},
	{ReadZero, "zero of the meter", rectangular, "the bench file's figure", "a meter zeroed before the run, its zero stated in the bench file"},
	{LoadBounds, "course between readings", rectangular, "between two readings the current was no less than the smaller and no more than the larger", "a meter that reads more often"},
	{SwingStart, "start: swing of the current", rectangular, assumesSwing, remedySwing},
	{SwingEnd, "end: swing of the current", rectangular, assumesSwing, remedySwing},
	{ComparedWith, "a current compared with", rectangular, assumesCompared, remedyCompared},
}

// SourceNumbered finds a source by its number in a record.
func SourceNumbered(n uint8) (Source, bool) {
	if n >= 1 && int(n) <= len(Sources) {
		return Sources[n-1], true
	}
	return Source{}, false
}

// IsHalfWidth says that a width of the source is a half-width and no standard
// deviation.
func (s Source) IsHalfWidth() bool { return s.Distribution == rectangular }

func (id SourceID) source() Source {
	if id >= 1 && int(id) <= len(Sources) {
		return Sources[id-1]
	}
	return Source{Name: "unknown source"}
}
