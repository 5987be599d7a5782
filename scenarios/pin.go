package scenarios

import (
	"pintle/rig/header"
	"pintle/scenarios/yamlfile"
)

// A Pin is a pin of the bench that a line may be on.
type Pin struct {
	yamlfile.Source
	At header.Pin // the zero Pin where none is given, or none that there is
}

// Set finds the pin.
func (p *Pin) Set(src yamlfile.Source, _ yamlfile.Field) []yamlfile.Problem {
	p.Source = src
	at, err := header.Find(src.Text)
	if err != nil {
		return []yamlfile.Problem{{Text: err.Error(), Hint: yamlfile.Expected("a pin that may be driven or sensed, such as GPIO17")}}
	}
	p.At = at
	return nil
}

// Shape describes the name.
func (Pin) Shape(yamlfile.Field) yamlfile.Shape {
	return yamlfile.Shape{What: "a pin", Pattern: `^([Gg][Pp][Ii][Oo])?[0-9]+$`, Number: true, Range: "1 to 40", Examples: []string{"GPIO17"}}
}
