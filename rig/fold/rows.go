package fold

import (
	"regexp"
	"strings"
)

// NoBreak is a space at which no line breaks.
const NoBreak = "\u00a0"

// Held gives a text that stays on one line: a number with its unit, a limit.
func Held(text string) string { return strings.ReplaceAll(text, " ", NoBreak) }

// Figures holds each number in a text to its unit, and a doubt to what is doubted.
func Figures(text string) string {
	text = figures.ReplaceAllString(text, "$1"+NoBreak+"$2$3")
	text = doubt.ReplaceAllString(text, "±"+NoBreak+"$1")
	return doubted.ReplaceAllString(text, "$1"+NoBreak+"±")
}

var (
	doubt   = regexp.MustCompile(`± (\d)`)
	doubted = regexp.MustCompile(`(\d|\x{a0}\pL+|\x{a0}%) ±`)
)

var figures = regexp.MustCompile(`(\d) (h|min|s|ms|µs|ns|kA|A|mA|µA|V|%)([^\pL\d]|$)`)

// A Measure is how wide a text is, in whatever unit its page is laid out. The parts of
// a text must add up to the whole.
type Measure func(text string) float64

// A Cut takes as much of a word as fits on a line of its own. Where it leaves no rest
// the word is whole.
type Cut func(word string) (part, rest string)

// Rows breaks a text into rows no wider than room. Without a cut, a word wider than
// that is a row.
func Rows(text string, room float64, wide Measure, cut Cut) []string {
	f := &folder{first: room, room: room, wide: wide, cut: cut}
	return f.rows(text)
}

type folder struct {
	first, room float64 // for the first row, for the others
	wide        Measure
	cut         Cut

	done []string
	row  string
	used float64
}

func (f *folder) rows(text string) []string {
	space := f.wide(" ")
	for _, word := range strings.FieldsFunc(text, breaks) {
		long := f.wide(word)
		if f.row != "" && f.used+space+long <= f.left() {
			f.row, f.used = f.row+" "+word, f.used+space+long
			continue
		}
		f.end()
		f.begin(word, long)
	}
	f.end()
	return f.done
}

// breaks says where a line may break: at white space of ASCII alone.
func breaks(r rune) bool { return r == ' ' || r >= '\t' && r <= '\r' }

func (f *folder) left() float64 {
	if len(f.done) == 0 {
		return f.first
	}
	return f.room
}

func (f *folder) begin(word string, long float64) {
	for f.cut != nil && long > f.left() {
		part, rest := f.cut(word)
		if rest == "" {
			break
		}
		f.done, word = append(f.done, part), rest
		long = f.wide(word)
	}
	f.row, f.used = word, long
}

func (f *folder) end() {
	if f.row != "" {
		f.done = append(f.done, f.row)
	}
	f.row = ""
}
