package chart

// A Pen draws on something. Its units are its own: Metrics says how large things
// are in them. X runs to the right and y downwards.
type Pen interface {
	Metrics() Metrics
	Line(ink Ink, from, to Point)
	Polyline(ink Ink, points []Point)
	Rect(wash Wash, a Area)
	// Text writes on one line; at.Y is the line on which the letters stand.
	Text(s Style, at Point, anchor Anchor, text string)
	Width(s Style, text string) float64
}

// A Point is a place on a drawing.
type Point struct{ X, Y float64 }

// An Area is a part of a drawing; X and Y are its upper left corner.
type Area struct{ X, Y, W, H float64 }

// Metrics are the sizes of things in the units of a pen.
type Metrics struct {
	Coarse   bool    // a pen of characters: fine detail is left out
	Step     float64 // least distance along the time axis worth drawing
	Margin   float64 // around everything
	Pad      float64 // between a text and what stands beside it
	Row      float64 // height of a row of ordinary text
	TitleRow float64
	Lane     float64 // height of the lane of one line
	Swing    float64 // how far its pen moves
	Current  float64 // height of the lane of the current
	Overview float64 // height of the strip that shows the whole trial
	Tick     float64 // least distance between two time ticks
	Inset    float64 // from the edge of the current's lane to the ends of its axis
	Edge     float64 // height of the edge of the paper, where its holes are
}

// An Ink is what a line means. A pen gives it a colour, a width and a dash.
type Ink uint8

const (
	GridFine    Ink = 1
	GridMain    Ink = 2
	Frame       Ink = 3
	Perforation Ink = 4 // the holes along the edges of the paper
	Trace       Ink = 5 // what was recorded
	Faint       Ink = 6 // the same, in the overview
	MarkLine    Ink = 7 // a step of the script
	Limit       Ink = 8 // the rule line of a limit
	Hatch       Ink = 9 // on its forbidden side
	Measure     Ink = 10
	Broken      Ink = 11 // a limit that was broken: the red pencil
	Cut         Ink = 12 // an end at which the strip was cut out of a longer one; of coarse pens alone
)

// A Wash is what a filled area means.
type Wash uint8

const (
	Paper Wash = 1
	Band  Wash = 2 // the span of a requirement
	Shown Wash = 3 // the part of an overview that the strip shows
	Doubt Wash = 4 // where a thing can have happened
	// Ground is paper laid over ink, for a text to stand on.
	Ground Wash = 5
)

// A Style is what a text is.
type Style uint8

const (
	Title       Style = 1
	Label       Style = 2
	Small       Style = 3
	LimitWords  Style = 4
	Measured    Style = 5
	BrokenWords Style = 6
)

// An Anchor says which part of a text stands at its point.
type Anchor uint8

const (
	Start  Anchor = 0
	Middle Anchor = 1
	End    Anchor = 2
)

// before is how much of a text lies left of where it is anchored.
func (a Anchor) before(wide float64) float64 {
	switch a {
	case Middle:
		return wide / 2
	case End:
		return wide
	}
	return 0
}
