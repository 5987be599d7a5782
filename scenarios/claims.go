package scenarios

import (
	"fmt"

	"pintle/rig/rule"
	"pintle/scenarios/quantity"
	"pintle/scenarios/yamlfile"
)

// A KnownClaim is a promise that the built-in scenarios ask for by name.
type KnownClaim struct {
	Name    string
	Of      quantity.Dimension
	Sense   rule.Sense // whether the controller promises at most or at least this
	Means   string     // the promise as a sentence
	Default string     // the figure of a simulated controller whose file does not give it
}

// KnownClaims is the table of well-known claims. A controller may claim more, by
// names of its own.
var KnownClaims = []KnownClaim{
	{"run-time cut-out", quantity.Time, rule.AtMost, "The motor is switched off when it has run this long without reaching a limit.", "15s"},
	{"start delay", quantity.Time, rule.AtMost, "The motor runs no later than this after a press that is to start it.", "250ms"},
	{"stop after press", quantity.Time, rule.AtMost, "The motor stands no later than this after a press that is to stop it.", "200ms"},
	{"stop after limit", quantity.Time, rule.AtMost, "The motor stands no later than this after the limit at the end of its way has made.", "150ms"},
	{"stop after beam", quantity.Time, rule.AtMost, "A closing motor stands no later than this after the beam has been interrupted.", "200ms"},
	{"reversal after beam", quantity.Time, rule.AtMost, "A closing motor opens no later than this after the beam has been interrupted.", "2s"},
	{"stall current", quantity.Current, rule.AtMost, "A current above this counts as a stall.", "20A"},
	{"stall time", quantity.Time, rule.AtMost, "The motor stands no later than this after its current has risen above the stall current and stayed there.", "800ms"},
	{"most current", quantity.Current, rule.AtMost, "The motor current is never above this, starting and stalling included.", "40A"},
	{"dead time", quantity.Time, rule.AtLeast, "The motor stands at least this long between one direction and the other.", "500ms"},
	{"shortest press", quantity.Time, rule.AtMost, "A press of at least this length is obeyed.", "80ms"},
	{"ignored press", quantity.Time, rule.AtLeast, "A press of less than this length is not obeyed.", "10ms"},
	{"reversal after stall", quantity.Time, rule.AtMost, "A closing motor that is stalled opens no later than this after the stall began.", "2s"},
	{"open-circuit time", quantity.Time, rule.AtMost, "A drive in which no current flows is given up after this long, and does not begin again by itself.", "1500ms"},
	{"short-circuit current", quantity.Current, rule.AtMost, "A current above this counts as a short circuit.", "42A"},
	{"short-circuit time", quantity.Time, rule.AtMost, "The motor is without current no later than this after its current has risen above the short-circuit current.", "60ms"},
	{"shortest limit pulse", quantity.Time, rule.AtMost, "A limit that is made for at least this long at the end of the way is obeyed.", "40ms"},
	{"ignored glitch", quantity.Time, rule.AtLeast, "A change of any input that lasts less than this is not obeyed.", "1ms"},
	{"power-up quiet", quantity.Time, rule.AtLeast, "The motor stands at least this long after the supply has come on, whatever the lines say.", "300ms"},
}

// KnownClaimNamed finds a well-known claim.
func KnownClaimNamed(name string) (KnownClaim, bool) {
	for _, k := range KnownClaims {
		if k.Name == name {
			return k, true
		}
	}
	return KnownClaim{}, false
}

// DefaultValue is the claim's default as a value.
func (k KnownClaim) DefaultValue() quantity.Value {
	v, bad := quantity.Parse(k.Default, k.Of)
	if bad != nil {
		panic("scenarios: the default of a claim is wrong: " + k.Name)
	}
	return v
}

// A Claim is a figure that the controller's builder promises.
type Claim struct {
	Name  string
	Text  string // as written
	Value quantity.Value
	Means string     // of a well-known claim: the promise as a sentence
	Sense rule.Sense // of a well-known claim
}

// claimNames lists the well-known claims' names and those given.
func claimNames(claims []Claim) []string {
	var names []string
	for _, c := range claims {
		names = append(names, c.Name)
	}
	return names
}

// resolveClaims works out what the controller file claims.
func resolveClaims(c *ControllerFile) yamlfile.Mistakes {
	var bad yamlfile.Mistakes
	var list []quantity.Claim
	for _, e := range c.Claims {
		if p := checkClaimName(e.Name.Text); p != nil {
			bad = append(bad, e.Name.Mistake(*p))
		}
		list = append(list, quantity.Claim{Name: e.Name.Text, Expression: e.Value.Expression})
	}
	values, problems := quantity.Resolve(list)
	for _, p := range problems {
		bad = append(bad, c.Claims[p.Claim].Value.Mistake(p.Problem))
	}
	for _, e := range c.Claims {
		claim := Claim{Name: e.Name.Text, Text: e.Value.Text, Value: values[e.Name.Text]}
		if claim.Value.Of == quantity.Unknown {
			c.Values = append(c.Values, claim)
			continue
		}
		f := e.Value
		if k, ok := KnownClaimNamed(claim.Name); ok {
			f.Want, claim.Means, claim.Sense = k.Of, k.Means, k.Sense
		}
		// Work checks the claim's own dimension and sign; its references are known
		// to be good.
		v, problems := f.Work(func(name string) (quantity.Value, bool) { return values[name], true }, nil)
		for _, p := range problems {
			bad = append(bad, f.Mistake(p))
		}
		claim.Value = v
		c.Values = append(c.Values, claim)
	}
	return bad
}

// checkClaimName refuses names that an expression or a condition could not refer to.
func checkClaimName(name string) *yamlfile.Problem {
	at, word := 0, ""
	wrong := func(text string) *yamlfile.Problem {
		return &yamlfile.Problem{Offset: at - len([]rune(word)), Text: text, Hint: yamlfile.Expected("words of small letters, digits and hyphens, such as run-time cut-out")}
	}
	flush := func() *yamlfile.Problem {
		switch word {
		case "and", "or", "not", "claim":
			return wrong(fmt.Sprintf("%q cannot be a word of a claim's name", word))
		}
		return nil
	}
	for i, r := range []rune(name + " ") {
		at = i
		switch {
		case r == ' ' && word == "":
			return wrong("a claim's name has one space between its words, and none around it")
		case r == ' ':
			if p := flush(); p != nil {
				return p
			}
			word = ""
		case r >= 'a' && r <= 'z', word != "" && (r == '-' || r >= '0' && r <= '9'):
			word += string(r)
		case i > 0 && r >= '0' && r <= '9':
			word += string(r)
		default:
			word = ""
			return wrong(fmt.Sprintf("%q cannot stand in a claim's name", string(r)))
		}
	}
	return nil
}
