package reliability

import (
	"fmt"
	"strings"
)

// A Choice is one way to demonstrate, with what it costs and what it risks, all
// exactly computed.
type Choice struct {
	Name    string  `json:"name"`
	Most    int     `json:"most"`    // trials, at most
	Allowed int     `json:"allowed"` // failures, at most
	Passing int     `json:"passing"` // trials if none fails
	AtP0    float64 `json:"at_p0"`   // mean number of trials at P0, ended as soon as decided
	AtP1    float64 `json:"at_p1"`   // and at P1
	Alpha   float64 `json:"alpha"`   // probability of rejection at P0
	Beta    float64 `json:"beta"`    // probability of acceptance at P1
}

// A Comparison sets a sequential test beside the fixed plans it could be traded for:
// the one without allowed failures, which keeps the user's risk alone, and the one
// that keeps both.
type Comparison struct {
	Hypotheses
	Sequential  Choice `json:"sequential"`
	NoFailure   Choice `json:"no_failure"`
	BothRisks   Choice `json:"both_risks"`
	WaldPassing int    `json:"wald_passing"` // trials at which Wald's own line accepts if none fails
}

// Compare sets the test beside the fixed plans for its Hypotheses.
func (s *Sequential) Compare() (Comparison, error) {
	if err := s.Check(); err != nil {
		return Comparison{}, err
	}
	n, allowed, err := s.Matched()
	if err != nil {
		return Comparison{}, fmt.Errorf("compare a sequential test with fixed plans: %w", err)
	}
	lines, err := s.Wald()
	if err != nil {
		return Comparison{}, err
	}
	none := fewest(0, s.P1, 1-s.P1, s.Beta) // not above n
	return Comparison{
		Hypotheses:  s.Hypotheses,
		Sequential:  s.choice("sequential", s.Hypotheses),
		NoFailure:   curtailed(none, 0, s.Hypotheses).choice("fixed, no failure allowed", s.Hypotheses),
		BothRisks:   curtailed(n, allowed, s.Hypotheses).choice("fixed, both risks kept", s.Hypotheses),
		WaldPassing: lines.Passing(),
	}, nil
}

func (s *Sequential) choice(name string, h Hypotheses) Choice {
	good, bad := s.at(h.P0), s.at(h.P1)
	return Choice{
		Name: name, Most: s.Most, Allowed: len(s.Lines) - 1, Passing: s.Lines[0].Accept,
		AtP0: good.Expected, AtP1: bad.Expected, Alpha: good.Reject, Beta: bad.Accept,
	}
}

// String prints the comparison in lines of at most 80 columns.
func (c Comparison) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "Failure probability %.4g (p0, to be accepted) against %.4g (p1, to be rejected)\n", c.P0, c.P1)
	fmt.Fprintf(&b, "%-26s %22s   %24s\n", "", "trials", "on average at / risk at")
	fmt.Fprintf(&b, "%-26s %6s %7s %7s %7s %7s %7s %6s\n", "", "most", "allowed", "passing", "p0", "p1", "p0", "p1")
	for _, x := range []Choice{c.Sequential, c.NoFailure, c.BothRisks} {
		fmt.Fprintf(&b, "%-26s %6d %7d %7d %7.1f %7.1f %6.2f%% %5.2f%%\n",
			x.Name, x.Most, x.Allowed, x.Passing, x.AtP0, x.AtP1, 100*x.Alpha, 100*x.Beta)
	}
	if more := c.Sequential.Passing - c.NoFailure.Passing; more > 0 {
		fmt.Fprintf(&b, "If nothing fails, the sequential test takes %d trials more than the fixed plan\nwithout failures, which rejects a controller of p0 in %.1f %% of cases.\n",
			more, 100*c.NoFailure.Alpha)
	}
	return b.String()
}
