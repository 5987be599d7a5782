package scenarios

import (
	"fmt"
	"strings"

	"pintle/rig/signal"
	"pintle/scenarios/yamlfile"
)

// A LineName is the name of a line in a file. The field's limit narrows it:
// "button" to lines that are pressed, "driven" to lines that the bench drives, "seen" to those that it only sees,
// "faulty" to those of them that a fault can be on.
type LineName struct {
	yamlfile.Source
	Line signal.Line
}

// Set finds the line.
func (n *LineName) Set(src yamlfile.Source, field yamlfile.Field) []yamlfile.Problem {
	n.Source = src
	l, ok := signal.LineNamed(src.Text)
	if !ok {
		return []yamlfile.Problem{{Text: fmt.Sprintf("there is no line %q", yamlfile.Short(src.Text)), Hint: yamlfile.DidYouMean(src.Text, lineNames(field.Limit))}}
	}
	if !fits(l.Info(), field.Limit) {
		return []yamlfile.Problem{{Text: fmt.Sprintf(unfit[field.Limit], src.Text), Hint: yamlfile.Expected(yamlfile.OneOf(lineNames(field.Limit)))}}
	}
	n.Line = l
	return nil
}

// unfit says why a line is not within a limit.
var unfit = map[string]string{
	"button": "%q is no button",
	"seen":   "the bench drives %q, and reads nothing by it",
	"driven": "the bench only sees %q, it does not drive it",
	"faulty": "no fault can be on %q",
}

// Shape lists the lines.
func (LineName) Shape(field yamlfile.Field) yamlfile.Shape {
	return yamlfile.Shape{Name: strings.TrimSpace(field.Limit + " line"), What: "the name of a line", Words: lineNames(field.Limit)}
}

func fits(info signal.LineInfo, limit string) bool {
	switch limit {
	case "button":
		return info.Of == signal.OfRemote
	case "seen":
		return !info.Driven
	case "driven":
		return info.Driven
	case "faulty":
		return info.Driven && info.Of != signal.OfBench
	}
	return true
}

func lineNames(limit string) []string {
	var names []string
	for _, info := range signal.Lines {
		if fits(info, limit) {
			names = append(names, info.Name)
		}
	}
	return names
}

// setOfLines lists the lines of a set.
func setOfLines(set signal.LineSet) []signal.Line {
	var lines []signal.Line
	for _, info := range signal.Lines {
		if set.Has(info.Line) {
			lines = append(lines, info.Line)
		}
	}
	return lines
}

// lineOfKey finds the line that a free key names.
func lineOfKey(key yamlfile.Text) (signal.Line, yamlfile.Mistakes) {
	var n LineName
	var bad yamlfile.Mistakes
	for _, p := range n.Set(key.Source, yamlfile.Field{Key: key.Text}) {
		bad = append(bad, key.Mistake(p))
	}
	return n.Line, bad
}
