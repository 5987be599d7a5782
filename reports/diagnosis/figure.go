package diagnosis

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"pintle/rig/rule"
	"pintle/rig/signal"
)

// gap is the time from one span to another and half the width in which it lies.
func gap(from, to signal.Span) (d, half time.Duration) {
	return to.Mid().Sub(from.Mid()), (from.Width() + to.Width()) / 2
}

// spell writes a time with no more figures than it is known to, and with no more
// than three.
func spell(d, half time.Duration) string {
	size := d.Abs()
	place := time.Duration(1)
	for place*10 <= half || place*1000 <= size {
		place *= 10
	}
	size = (size + place/2) / place * place
	if size >= place*1000 {
		place *= 10 // rounding has given it one figure more
	}
	if size == 0 && half > 0 {
		return "less than " + spell(place, place)
	}
	unit, name := time.Nanosecond, " ns"
	switch {
	case size >= time.Second || place >= time.Second:
		unit, name = time.Second, " s"
	case size >= time.Millisecond || place >= time.Millisecond:
		unit, name = time.Millisecond, " ms"
	case size >= time.Microsecond || place >= time.Microsecond:
		unit, name = time.Microsecond, " µs"
	}
	digits := 0
	for p := unit; p > place; p /= 10 {
		digits++
	}
	return strconv.FormatFloat(float64(size)/float64(unit), 'f', digits, 64) + name
}

// relative tells when a span was, seen from another: 1.24 s later, 30 ms earlier, or
// at the same time as far as it can be told.
func relative(to, from signal.Span) string {
	d, half := gap(from, to)
	switch {
	case d.Abs() <= half:
		return "at the same time"
	case d > 0:
		return spell(d, half) + " later"
	}
	return spell(d, half) + " earlier"
}

// limit names what the limit is: the claim that it is, where it is one as it stands, or
// just the limit.
func (y *story) limit() string {
	name := "limit"
	written, _, _ := strings.Cut(y.r.Limit, " (") // and what it comes to
	if claim, ok := strings.CutPrefix(written, "claim "); ok && slices.Equal(y.r.Claims, []string{claim}) {
		name = claim
	}
	return "the " + name + " of " + y.f.LimitFigure()
}

// over is by how much a measured value lies beyond its limit, as it was measured.
func (y *story) over() string {
	excess := *y.f
	if excess.Appraisal != nil {
		a := *excess.Appraisal
		a.Value, a.Low, a.High = a.Value-y.f.Limit, a.Low-y.f.Limit, a.High-y.f.Limit
		excess.Appraisal = &a
	}
	excess.Value = rule.Interval{Least: y.f.Value.Least - y.f.Limit, Most: y.f.Value.Most - y.f.Limit}
	if y.f.Sense == rule.AtLeast {
		flip(&excess)
	}
	excess.Limit = 0
	if excess.Unit == rule.Nanoseconds {
		v := excess.Interval()
		return spell(time.Duration(excess.Best()), time.Duration(v.Most-v.Least)/2)
	}
	value, _ := excess.ValueParts()
	return strings.TrimPrefix(value, "−")
}

func flip(f *rule.Finding) {
	f.Value = rule.Interval{Least: -f.Value.Most, Most: -f.Value.Least}
	if a := f.Appraisal; a != nil {
		a.Value, a.Low, a.High = -a.Value, -a.High, -a.Low
	}
}

// value is what was measured, without its uncertainty.
func (y *story) value() string {
	value, _ := y.f.ValueParts()
	return value
}

// beyond says that the value is only known to be more than its limit.
func beyond(f *rule.Finding) bool { return f.Appraisal != nil && f.Appraisal.Beyond }

func quoted(text string) string { return `"` + text + `"` }
