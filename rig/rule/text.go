package rule

import (
	"strconv"
	"strings"
)

// ValueText is a finding's measured value with its expanded uncertainty or, where
// it was not appraised, half the width of its interval, such as 138.0 ms ± 1.5 ms:
// the half rounded up to two figures, the value to the same place. Without a
// measurement it is empty.
func (f Finding) ValueText() string {
	value, doubt := f.ValueParts()
	if doubt != "" {
		value += " ± " + doubt
	}
	return value
}

// ValueParts is ValueText in its two parts: the value, and its uncertainty, which is
// empty where there is none.
func (f Finding) ValueParts() (value, doubt string) {
	if !f.Measured {
		return "", ""
	}
	s, half := scaleOf(f), f.half()
	switch {
	case f.beyond():
		return "more than " + f.leastText(), ""
	case f.Unit == Times && half == 0 && f.Value.Most == 1:
		return "once", ""
	case f.Unit == Times && half == 0:
		return s.write(f.Value.Most, 1) + " times", ""
	case half == 0:
		place := placeOf(max(f.Value.Most, -f.Value.Most) / 100)
		return s.write(nearest(f.Value.Most, place), place) + s.unit, ""
	}
	place := placeOf(half)
	half = (half + place - 1) / place * place
	return s.write(nearest(f.Best(), place), place) + s.unit, s.write(half, place) + s.unit
}

// beyond says that the value is only known to be more than some figure over its limit.
func (f Finding) beyond() bool { return f.Appraisal != nil && f.Appraisal.Beyond }

// over is by how much a value lies over its limit at least, of which no more is known,
// and the place to which that is told; nothing where it is no thousandth of the limit.
func (f Finding) over() (least, place int64) {
	least = f.Best() - 1 - f.Limit // it had not ended at Best: more than one less is what it is
	if place = placeOf(least / 100); least < 1000 || least < f.Limit/1000 {
		return 0, 1
	}
	return least / place * place, place
}

// leastText is what a value is more than, rounded down.
func (f Finding) leastText() string {
	s := scaleOf(f)
	least, place := f.over()
	if least == 0 {
		return f.LimitFigure()
	}
	return s.write(max((f.Best()-1)/place*place, f.Limit), place) + s.unit
}

// half is the farther end of the interval from the best estimate.
func (f Finding) half() int64 {
	v, best := f.Interval(), f.Best()
	return max(v.Most-best, best-v.Least)
}

// LimitText is a finding's limit with the side of it on which a value must be, or
// empty where it has none.
func (f Finding) LimitText() string {
	switch f.Sense {
	case AtMost:
		return "at most " + f.LimitFigure()
	case AtLeast:
		return "at least " + f.LimitFigure()
	}
	return ""
}

// LimitFigure is a finding's limit without its side.
func (f Finding) LimitFigure() string {
	s := scaleOf(f)
	return s.write(f.Limit, 1) + s.unit
}

// MarginText is the room left to a finding's limit in the worst case, rounded
// down; negative where that case breaks the limit. Where the value is only known to be
// more than some figure, the margin is less than that leaves. Without a measurement it is
// empty.
func (f Finding) MarginText() string {
	if !f.Measured || f.Sense == NoSense {
		return ""
	}
	s, margin := scaleOf(f), f.Margin()
	if f.beyond() {
		least, place := f.over()
		return "< " + s.write(-least, place) + s.unit
	}
	half := f.half()
	if half == 0 && f.Unit != Times {
		half = max(margin, -margin) / 100
	}
	place := placeOf(half)
	down := margin / place * place
	if down > margin {
		down -= place
	}
	return s.write(down, place) + s.unit
}

// MarginWords says how a measured value lies to its limit: the margin that is
// left, by how much the limit was broken, or by how much it may have been; nothing where
// only that it was broken is known.
func (f Finding) MarginWords() string {
	if f.Measured && f.beyond() {
		least, place := f.over()
		if s := scaleOf(f); least > 0 {
			return "over by more than " + s.write(least, place) + s.unit
		}
		return ""
	}
	text := f.MarginText()
	beyond := "over"
	if f.Sense == AtLeast {
		beyond = "under"
	}
	rest, negative := strings.CutPrefix(text, "−")
	switch {
	case text == "" || f.Unit == Times && !negative:
		return "" // as often as allowed is as it should be
	case negative && f.Verdict == Fail:
		return beyond + " by up to " + rest
	case negative:
		return "may be " + beyond + " by " + rest
	}
	return text + " to spare"
}

// A scale is a unit and how many of a finding's counts make one.
type scale struct {
	per    int64
	digits int // of per
	unit   string
}

func scaleOf(f Finding) scale {
	size := max(f.Limit, -f.Limit, f.Value.Most, -f.Value.Least)
	switch {
	case f.Unit == Microamperes:
		return scale{1e6, 6, " A"}
	case f.Unit == Millionths:
		return scale{1e4, 4, " %"}
	case f.Unit != Nanoseconds:
		return scale{1, 0, ""}
	case size >= 1e9:
		return scale{1e9, 9, " s"}
	case size >= 1e6:
		return scale{1e6, 6, " ms"}
	case size >= 1e3:
		return scale{1e3, 3, " µs"}
	}
	return scale{1, 0, " ns"}
}

// placeOf is the power of ten at which a half-width has its second figure.
func placeOf(half int64) int64 {
	place := int64(1)
	for half > 99*place {
		place *= 10
	}
	return place
}

func nearest(v, place int64) int64 {
	half := place / 2
	if v < 0 {
		half = -half
	}
	return (v + half) / place * place
}

// write gives a count in the scale's unit, to the place and no further; a place
// of one leaves off the noughts at the end.
func (s scale) write(v, place int64) string {
	sign := ""
	if v < 0 {
		sign, v = "−", -v
	}
	whole, part := strconv.FormatInt(v/s.per, 10), strconv.FormatInt(s.per+v%s.per, 10)[1:]
	if place == 1 {
		part = strings.TrimRight(part, "0")
	} else {
		digits := max(0, s.digits-len(strconv.FormatInt(place, 10))+1)
		part = part[:min(digits, len(part))]
	}
	if part == "" {
		return sign + whole
	}
	return sign + whole + "." + part
}
