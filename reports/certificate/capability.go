package certificate

import (
	"fmt"
	"strings"

	"pintle/reports"
	"pintle/reports/account"
	"pintle/rig/fold"
	"pintle/rig/rule"
)

// capability says how finely the bench can decide each claim, and when it was last put
// to the test itself.
func (s *sheet) capability() {
	s.heading("What the bench can tell", 30)
	s.paragraph("", 8, ink, "Last check of the bench itself: "+sentence(lastCheck(s.run.Bench)))
	if len(s.run.Bench.Finest) == 0 {
		s.paragraph("", 8, ink, "How finely it can decide each claim was not worked out for this run.")
		return
	}
	s.down(0.6)
	s.paragraph("", 8, ink, "At the limit of a claim, a value would have this expanded uncertainty; what is nearer to the limit than the guard band is neither a clear pass nor a clear fail. "+
		"The uncertainty of what was measured is beside each value.")
	s.down(0.6)
	t := &table{points: 7.6, columns: []column{{"claim", 0.42, false}, {"limit", 0.2, false}, {"uncertainty there", 0.14, true}, {"guard band", 0.12, true}, {"of the limit", 0.12, true}}}
	for _, r := range s.run.Bench.Finest {
		note := say("nothing")
		if r.Guard != 0 && r.Limit != 0 {
			share := float64(r.Guard) / float64(max(r.Limit, -r.Limit))
			note = say(fmt.Sprintf("%.2g%s%%", 100*share, glue))
			if share >= 1 {
				note = bold("cannot be decided")
			}
		}
		scale := reports.ScaleOf(r.Unit)
		f := rule.Finding{Unit: r.Unit, Sense: r.Sense, Limit: r.Limit}
		t.row(say(r.Claim), say(fold.Held(f.LimitText())), say("±"+glue+account.Figure(float64(r.Expanded), scale)), say(account.Figure(float64(r.Guard), scale)), note)
	}
	s.table(t)
}

// lastCheck is what is known of the bench's own check.
func lastCheck(b reports.Bench) string {
	switch {
	case b.LastCheck != "":
		return b.LastCheck
	case b.Virtual:
		return "none; a virtual bench is what its files say"
	}
	return "none on record"
}

// finestText is the least uncertainty of a time, and of a current, at the limit of a
// claim.
func finestText(b reports.Bench) string {
	var parts []string
	for _, unit := range []rule.Unit{rule.Nanoseconds, rule.Microamperes} {
		least := int64(-1)
		for _, r := range b.Finest {
			if r.Unit == unit && (least < 0 || r.Expanded < least) {
				least = r.Expanded
			}
		}
		if scale := reports.ScaleOf(unit); least >= 0 {
			parts = append(parts, map[rule.Unit]string{rule.Nanoseconds: "times", rule.Microamperes: "currents"}[unit]+" to ±"+glue+account.Figure(float64(least), scale)+" at best")
		}
	}
	return strings.Join(parts, ", ")
}
