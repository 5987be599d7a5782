package derive_test

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/derive"
)

// The figures in formulas that are nobody's: margin, five time constants, two looks and
// the like, half as long again, a whole, a circle, 2 s, copper. Each is in the line's words
// or among the sources.
var constants = strings.Fields("1 1.25 1.5 2 5 100 360 0.00393")

var number1 = regexp.MustCompile(`[0-9]+(\.[0-9]+)?`)

// said are the numbers that steps say.
func said(known map[string]bool, texts ...string) {
	for _, text := range texts {
		for _, n := range number1.FindAllString(text, -1) {
			known[n] = true
		}
	}
}

// traced holds that each figure of each formula is on the sheet: among what the figures
// rest on, in a line above, or in what another claim comes to.
func traced(t tester, g derive.Given) {
	t.Helper()
	ps := derive.Derive(g)
	known := map[string]bool{}
	said(known, constants...)
	for _, s := range derive.Basis(g, ps) {
		lookUp(t, known, "basis", s)
	}
	for _, p := range ps {
		for _, s := range p.Steps {
			said(known, s.Result)
		}
		said(known, p.Unit.Text(p.Proposed))
	}
	for _, p := range ps {
		own := map[string]bool{}
		for n := range known {
			own[n] = true
		}
		for _, s := range p.Steps {
			lookUp(t, own, p.Name(), s)
		}
	}
}

func lookUp(t tester, known map[string]bool, name string, s derive.Step) {
	t.Helper()
	said(known, s.Text)
	if s.Formula == s.Result {
		said(known, s.Formula)
	}
	for _, n := range number1.FindAllString(s.Formula, -1) {
		require.True(t, known[n], "%s: %s %s = %s: whence is %s?", name, s.Text, s.Formula, s.Result, n)
	}
	said(known, s.Result)
}

func TestEveryFigureIsOnTheSheet(t *testing.T) {
	for _, g := range []derive.Given{boatyard(), awkward(), powered()} {
		traced(t, g)
	}
	rapid.Check(t, func(t *rapid.T) { traced(t, gates.Draw(t, "gate")) })
}

// powered is the boatyard with what its motor and battery are in place of what they draw.
func powered() derive.Given {
	g := boatyard()
	s := &g.Sensors[1]
	s.PerTravel, s.Facing, s.Window = 0.25, 4, (4+11.459/2)/90 // 12 mm of a path of 60 mm radius are 11.459°
	return g.Powered(derive.Circuit{Winding: 0.38, Inductance: 8e-4, Leads: 0.02, LeadsCold: 0.03, Celsius: 20, Coldest: -10, Full: 12, FullCold: 12, Lowest: 0.9})
}
