package scenarios

import (
	"fmt"

	"pintle/rig/rule"
	"pintle/scenarios/quantity"
	"pintle/scenarios/yamlfile"
)

// figures works out what bench.yaml says of the simulated controller's own
// figures, which may refer to the claims.
func (j *Job) figures() yamlfile.Mistakes {
	var bad yamlfile.Mistakes
	v := &j.Bench.Virtual.Controller
	names := scenarioClaims(j)
	for _, e := range v.Really {
		k, known := KnownClaimNamed(e.Name.Text)
		if !known {
			if _, claimed := j.Controller.Claim(e.Name.Text); !claimed {
				bad = append(bad, e.Name.Wrong(fmt.Sprintf("there is no claim %q", yamlfile.Short(e.Name.Text)), yamlfile.DidYouMean(e.Name.Text, names)))
			}
		}
		f := e.Value
		f.Want = k.Of
		value, problems := f.Work(func(name string) (quantity.Value, bool) {
			c, ok := j.Controller.Claim(name)
			return c.Value, ok
		}, names)
		for _, p := range problems {
			bad = append(bad, f.Mistake(p))
		}
		v.Figures = append(v.Figures, Claim{Name: e.Name.Text, Text: f.Text, Value: value, Means: k.Means, Sense: k.Sense})
	}
	return bad
}

// Figure gives the simulated controller's own figure of a well-known claim: what
// bench.yaml says that it really is, or its claim with room to spare. A promise of
// at least something is kept with room above, any other with room below; the
// stall current is a threshold, and no room is taken from it.
func (j *Job) Figure(name string) quantity.Value {
	for _, f := range j.Bench.Virtual.Controller.Figures {
		if f.Name == name {
			return f.Value
		}
	}
	k, _ := KnownClaimNamed(name)
	return k.own(j.Controller.Value(name), j.Bench.Virtual.Controller.Keeps.Value)
}

// own gives a simulated controller's own figure from the one that it claims.
func (k KnownClaim) own(claimed quantity.Value, keeps float64) quantity.Value {
	switch {
	case k.Name == "stall current" || keeps <= 0:
		return claimed
	case k.Sense == rule.AtLeast:
		return claimed.Times(1 / keeps)
	}
	return claimed.Times(keeps)
}
