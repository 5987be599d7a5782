package reports

import (
	"strconv"
	"time"

	"pintle/rig/rule"
	"pintle/rig/signal"
)

// ValueText is a finding's measured value with half the width of its interval.
func ValueText(f rule.Finding) string {
	if !f.Measured {
		return ""
	}
	half := (f.Value.Most - f.Value.Least + 1) / 2
	return quantity(f.Value.Mid(), f.Unit) + " ± " + quantity(half, f.Unit)
}

// LimitText is a finding's limit and on which side of it a value must be.
func LimitText(f rule.Finding) string {
	switch f.Sense {
	case rule.AtMost:
		return "at most " + quantity(f.Limit, f.Unit)
	case rule.AtLeast:
		return "at least " + quantity(f.Limit, f.Unit)
	}
	return ""
}

// MarginText is the room left to a finding's limit.
func MarginText(f rule.Finding) string {
	if !f.Measured {
		return ""
	}
	return quantity(f.Margin(), f.Unit)
}

func quantity(v int64, u rule.Unit) string {
	switch u {
	case rule.Nanoseconds:
		return time.Duration(v).String()
	case rule.Microamperes:
		return signal.Current(v).String()
	}
	return strconv.FormatInt(v, 10)
}
