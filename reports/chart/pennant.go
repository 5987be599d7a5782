package chart

// A pennant is a mark of the script: a stroke from its row down to the strip, and
// a text beside it. Of a row below zero only a stroke on the strip is drawn.
type pennant struct {
	x      float64
	text   string
	anchor Anchor
	row    int
	lo, hi float64 // what the text takes of its row
}

const mostMarkRows = 5

// placeMarks gives each mark the first row in which its text stands apart from the
// others and no stroke goes through a text; failing that, the first in which the
// texts stand apart.
func (l *layout) placeMarks() {
	for _, mark := range l.c.trace.Marks {
		x := l.x(mark.At)
		if !l.inside(x) || mark.Text == "" {
			continue
		}
		f := pennant{x: x, text: mark.Text, row: -1}
		wide := l.p.Width(Small, f.text) + l.m.Pad
		f.lo, f.hi = x, x+wide
		if f.hi > l.right {
			f.anchor, f.lo, f.hi = End, x-wide, x
		}
		if f.lo >= l.left {
			f.row = rowFor(f, l.marks, l.m.Pad, !l.m.Coarse)
		}
		l.markRows = max(l.markRows, f.row+1)
		l.marks = append(l.marks, f)
	}
}

// rowFor finds the row for a pennant among others, or -1 where there is none. Where
// a text covers what it stands on, strokes do not matter.
func rowFor(f pennant, others []pennant, gap float64, strokes bool) int {
	fallback := -1
	for f.row = 0; f.row < mostMarkRows; f.row++ {
		apart, clear := true, true
		for _, q := range others {
			if q.row == f.row && f.lo < q.hi+gap && q.lo < f.hi+gap {
				apart = false
			}
			if strokes && (f.strikes(q) || q.strikes(f)) {
				clear = false
			}
		}
		if apart && clear {
			return f.row
		}
		if apart && fallback < 0 {
			fallback = f.row
		}
	}
	return fallback
}

// strikes says that the pennant's stroke goes through the text of another.
func (f pennant) strikes(q pennant) bool {
	return f.row >= 0 && q.row > f.row && f.x > q.lo && f.x < q.hi
}
