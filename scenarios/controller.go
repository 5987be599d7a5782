package scenarios

import (
	"regexp"

	"pintle/rig/signal"
	"pintle/scenarios/quantity"
	"pintle/scenarios/yamlfile"
)

// A ControllerFile is controller.yaml: which controller is put to the test, and
// what its builder claims.
type ControllerFile struct {
	Board          yamlfile.Text                  `key:"board" need:"yes" doc:"what the board is called"`
	Maker          yamlfile.Text                  `key:"maker" doc:"who built it"`
	Serial         yamlfile.Text                  `key:"serial" doc:"the number of this board among its like"`
	Firmware       yamlfile.Text                  `key:"firmware" doc:"the version of its program"`
	FirmwareDigest Digest                         `key:"firmware digest" doc:"the SHA-256 of its program, 64 hexadecimal digits"`
	Customer       CustomerFile                   `key:"customer" doc:"whom the certificate is for; what is not given here is left as a line to fill in by hand"`
	Received       Date                           `key:"received" doc:"when the controller came in, as year-month-day"`
	Condition      yamlfile.Text                  `key:"condition" doc:"what state the controller came in"`
	Has            []LineName                     `key:"has" doc:"the lines that the controller reads; remote, open-limit and closed-limit where this is not given"`
	Looks          quantity.Duration              `key:"looks every" limit:"positive" doc:"how often it looks at its inputs; for working claims out"`
	Claims         yamlfile.Map[quantity.Formula] `key:"claims" need:"yes" names:"claim" doc:"what the builder promises: a name and a figure, or an expression with other claims"`
	Defects        []yamlfile.Text                `key:"defects" doc:"of the simulated controller only: faults to seed into it on purpose"`
	Scenarios      Selection                      `key:"scenarios" doc:"which scenarios apply; all of them where this is not given"`

	Values []Claim // the claims worked out, in the order of the file
}

// A CustomerFile is whom the certificate is for.
type CustomerFile struct {
	Name    yamlfile.Text `key:"name" doc:"who asked for the trials"`
	Address yamlfile.Text `key:"address" doc:"where they are, in one line"`
	Contact yamlfile.Text `key:"contact" doc:"whom to ask there, and how"`
}

// A Selection says which scenarios apply to a job.
type Selection struct {
	BuiltIn yamlfile.Text   `key:"built-in" words:"all|none" default:"all" doc:"all built-in scenarios, or none"`
	Without []yamlfile.Text `key:"without" doc:"scenarios that are left out, by name"`
}

// Claim gives a claim by its name.
func (c *ControllerFile) Claim(name string) (Claim, bool) {
	for _, v := range c.Values {
		if v.Name == name {
			return v, true
		}
	}
	return Claim{}, false
}

// Value gives the figure that a controller claims, or the default of the
// well-known claim.
func (c *ControllerFile) Value(name string) quantity.Value {
	if v, ok := c.Claim(name); ok {
		return v.Value
	}
	if k, ok := KnownClaimNamed(name); ok {
		return k.DefaultValue()
	}
	return quantity.Value{}
}

// Lines is the set of lines that the controller reads.
func (c *ControllerFile) Lines() signal.LineSet {
	if c.Has == nil {
		return signal.SetOf(signal.Remote, signal.OpenLimit, signal.ClosedLimit)
	}
	var set signal.LineSet
	for _, l := range c.Has {
		set |= signal.SetOf(l.Line)
	}
	return set
}

// A Digest is a SHA-256 in hexadecimal digits.
type Digest struct{ yamlfile.Source }

var digestPattern = regexp.MustCompile(`^[0-9a-f]{64}$`)

// Set checks the digits.
func (d *Digest) Set(src yamlfile.Source, _ yamlfile.Field) []yamlfile.Problem {
	d.Source = src
	if !digestPattern.MatchString(src.Text) {
		return []yamlfile.Problem{{Text: "this is no SHA-256", Hint: yamlfile.Expected("64 hexadecimal digits, small letters")}}
	}
	return nil
}

// Shape describes the digits. Digits alone can be taken for a number.
func (Digest) Shape(yamlfile.Field) yamlfile.Shape {
	return yamlfile.Shape{What: "a SHA-256", Pattern: digestPattern.String()}
}
