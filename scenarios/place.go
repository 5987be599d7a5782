package scenarios

import (
	"strings"

	"pintle/scenarios/quantity"
	"pintle/scenarios/yamlfile"
)

// A Place is a place on the gate's way, as a fraction from 0 (closed) to 1 (open).
type Place struct {
	yamlfile.Source
	Value float64 // negative: here, wherever the gate is
}

// placeWords is the table of places with a name of their own.
var placeWords = []struct {
	word  string
	value float64
}{{"closed", 0}, {"open", 1}, {"half open", 0.5}}

// Set takes a word or a part of the way. The limit "here" is for what happens
// where the gate is; it takes that word in place of the others.
func (p *Place) Set(src yamlfile.Source, field yamlfile.Field) []yamlfile.Problem {
	p.Source = src
	if field.Limit == "here" && src.Text == "here" {
		p.Value = -1
		return nil
	}
	for _, w := range placeWords {
		if field.Limit != "here" && w.word == src.Text {
			p.Value = w.value
			return nil
		}
	}
	v, bad := quantity.Parse(src.Text, quantity.Number)
	if bad != nil || v.Of != quantity.Number || v.Float() < 0 || v.Float() > 1 {
		words := p.Shape(field).Examples
		hint := yamlfile.DidYouMean(src.Text, words)
		if strings.Trim(src.Text, "+-.0123456789 %") == "" {
			hint = yamlfile.Expected("from 0 % (closed) to 100 % (open)")
		}
		return []yamlfile.Problem{{Text: "\"" + yamlfile.Short(src.Text) + "\" is no place on the gate's way", Hint: hint}}
	}
	p.Value = v.Float()
	return nil
}

// Shape describes the text.
func (Place) Shape(field yamlfile.Field) yamlfile.Shape {
	words := []string{"here"}
	if field.Limit != "here" {
		words = nil
		for _, w := range placeWords {
			words = append(words, w.word)
		}
	}
	pattern := `^[+]?[0-9]+(\.[0-9]+)? *%?$`
	for _, w := range words {
		pattern += "|^" + w + "$"
	}
	return yamlfile.Shape{What: "a place on the gate's way", Pattern: pattern, Number: true, Range: "0 to 1", Examples: append(words, "40 %")}
}
