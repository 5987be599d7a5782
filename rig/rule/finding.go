package rule

import "pintle/rig/signal"

// Unit says what the numbers of a Finding count.
type Unit uint8

// The numbers are written into records.
const (
	NoUnit       Unit = 0 // the rule measures nothing: it holds or not
	Nanoseconds  Unit = 1
	Microamperes Unit = 2
	Times        Unit = 3
	Millionths   Unit = 4 // of a thermal load
)

// Symbol is what a unit's numbers count, such as ns; empty where nothing is measured or
// only counted.
func (u Unit) Symbol() string {
	switch u {
	case Nanoseconds:
		return "ns"
	case Microamperes:
		return "µA"
	case Millionths:
		return "millionths"
	}
	return ""
}

// ofReadings says that what is measured comes from the readings of the meter.
func (u Unit) ofReadings() bool { return u == Microamperes || u == Millionths }

// Sense says on which side of its limit a value must be.
type Sense uint8

const (
	NoSense Sense = 0
	AtMost  Sense = 1
	AtLeast Sense = 2
)

// An Interval holds a measured value: it is no less than Least and no more than
// Most, both counted in the finding's unit.
type Interval struct{ Least, Most int64 }

// Mid is the middle of the interval.
func (v Interval) Mid() int64 { return v.Least + (v.Most-v.Least)/2 }

// A Finding is what one rule measured in one trial. Of several occurrences it
// tells the one that decided: the worst verdict, then the smallest margin.
type Finding struct {
	Rule     int // index into the scenario's rules
	Verdict  Verdict
	Reason   string // why, in words: "not exercised", "stopped too late", ...
	Unit     Unit
	Sense    Sense
	Measured bool // Value holds a measurement
	ByValue  bool `json:"-"` // the verdict is that of the value, and of nothing else
	// Open are all values of which the judge could not tell: each of them has still to
	// be judged before the rule can pass.
	Open      []Occurrence `json:"-"`
	Value     Interval
	Limit     int64
	Exercised int // how often the rule was put to the test
	// Decided are the instants that decided it: the trigger and the answer, or
	// the start and the end of a stretch; one or none where there are no two.
	Decided []signal.Span

	// Appraisal is how far a measured value can be trusted; nil where nobody said.
	Appraisal *Appraisal `json:",omitempty"`
}

// An Occurrence is one value that a rule measured, with the instants that it was
// measured between.
type Occurrence struct {
	Value   Interval
	Decided [2]signal.Span
	Reading bool // of the meter: how far it can be trusted does not hang on the instants
}

// outweighs says that one reading is no better than another however far both can be
// trusted: it lies no farther from the limit, and is no better known.
func (a *Occurrence) outweighs(b *Occurrence, sense Sense) bool {
	if !a.Reading || !b.Reading || a.Value.Most-a.Value.Least < b.Value.Most-b.Value.Least {
		return false
	}
	if sense == AtLeast {
		return a.Value.Most+a.Value.Least <= b.Value.Most+b.Value.Least
	}
	return a.Value.Most+a.Value.Least >= b.Value.Most+b.Value.Least
}

// An Appraisal is how far a measured value can be trusted, in the finding's unit.
type Appraisal struct {
	Value    int64        `json:"value"`    // best estimate
	Standard int64        `json:"standard"` // its standard uncertainty, rounded up
	Low      int64        `json:"low"`      // the coverage interval
	High     int64        `json:"high"`
	Broken   int64        `json:"broken"`           // probability that the limit is broken, given this value, in millionths
	Decision string       `json:"decision"`         // what the decision rule said
	Method   string       `json:"method"`           // how the interval was worked out
	Beyond   bool         `json:"beyond,omitempty"` // the value is more than this: it had not ended when the rule was settled
	Lines    []BudgetLine `json:"lines,omitempty"`
}

// A BudgetLine is one source of uncertainty in the finding's unit.
type BudgetLine struct {
	Source uint8 `json:"s"`           // number in the run's table of sources
	Shift  int64 `json:"v,omitempty"` // by what the middle of the measured interval was corrected
	Width  int64 `json:"w"`           // half-width, or standard deviation where the source is normal
}

// Interval holds the value as far as it is known: the coverage interval where the
// finding was appraised, else all that was possible.
func (f Finding) Interval() Interval {
	if a := f.Appraisal; a != nil {
		return Interval{a.Low, a.High}
	}
	return f.Value
}

// Best is the best estimate of the value.
func (f Finding) Best() int64 {
	if a := f.Appraisal; a != nil {
		return a.Value
	}
	return f.Value.Mid()
}

// Margin is the room left to the limit in the worst case that the interval
// allows, in the finding's unit: negative where that case breaks the limit.
func (f Finding) Margin() int64 {
	v := f.Interval()
	if f.Sense == AtLeast {
		return v.Least - f.Limit
	}
	return f.Limit - v.Most
}

// A Measured is a value that is to be judged, in the unit of its rule's findings.
type Measured struct {
	Rule  *Rule
	Value Interval
	Limit int64
	Sense Sense
	// Decided are the instants that it was measured between. A zero one is not told,
	// as where the value is a current's, whose reading need not be known.
	Decided [2]signal.Span
}

// A Judge turns a measured value into a verdict. It is called by the goroutine that
// feeds the monitor, during the trial, and must give the same for the same again.
type Judge func(m Measured) Verdict

func bySpan(m Measured) Verdict { return BySpan(m.Value, m.Limit, m.Sense) }

// BySpan passes a value whose whole interval keeps the limit, fails one whose
// whole interval breaks it, and calls any other inconclusive.
func BySpan(v Interval, limit int64, sense Sense) Verdict {
	least, most := v.Least, v.Most
	if sense == AtLeast {
		least, most, limit = -v.Most, -v.Least, -limit
	}
	switch {
	case most <= limit:
		return Pass
	case least > limit:
		return Fail
	}
	return Inconclusive
}
