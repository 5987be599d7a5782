package reports

import (
	"fmt"

	"pintle/rig/rule"
	"pintle/rig/uncertainty"
)

// Budget is the uncertainty budget of a finding, as it was recorded. There is none
// where the finding was not appraised or is known exactly. The error is of a record
// that does not hold together.
func Budget(run *Run, name string, f rule.Finding) (*uncertainty.Budget, bool, error) {
	a := f.Appraisal
	if a == nil || len(a.Lines) == 0 {
		return nil, false, nil
	}
	b := &uncertainty.Budget{Quantity: name, Unit: f.Unit.Symbol(), Offset: float64(a.Value), Coverage: float64(run.Coverage) / 1e6}
	for _, l := range a.Lines {
		s, ok := run.source(l.Source)
		if !ok {
			return nil, false, fmt.Errorf("budget of %q: the run has no source of uncertainty %d", name, l.Source)
		}
		in := uncertainty.Input{Name: s.Name, Value: float64(l.Shift), Sensitivity: 1, Source: s.Assumes}
		if err := in.Distribution.UnmarshalText([]byte(s.Distribution)); err != nil {
			return nil, false, fmt.Errorf("budget of %q: %s: %w", name, s.Name, err)
		}
		if in.Distribution == uncertainty.Normal {
			in.Standard = float64(l.Width)
		} else {
			in.HalfWidth = float64(l.Width)
		}
		b.Offset -= float64(l.Shift)
		b.Add(in)
	}
	return b, true, nil
}

func (r *Run) source(number uint8) (Source, bool) {
	for _, s := range r.Sources {
		if s.Number == number {
			return s, true
		}
	}
	return Source{}, false
}

// ScaleOf is the unit that a finding's figures are printed in.
func ScaleOf(u rule.Unit) uncertainty.Scale {
	switch u {
	case rule.Nanoseconds:
		return uncertainty.Milliseconds
	case rule.Microamperes:
		return uncertainty.Amperes
	case rule.Millionths:
		return uncertainty.Scale{Unit: "%", Per: 1e4}
	}
	return uncertainty.Scale{}
}

// Risk tells the probability that a finding's limit is broken, given what was
// measured; empty where it was not worked out.
func Risk(f rule.Finding) string {
	switch a := f.Appraisal; {
	case a == nil:
		return ""
	case a.Beyond:
		return "certain"
	default:
		return uncertainty.Percent(a.Broken)
	}
}
