package summary

import (
	"fmt"
	"io"
	"strings"
	"time"

	"pintle/reports"
	"pintle/rig/rule"
	"pintle/rig/wording"
)

// Detail lists all findings of one trial of a scenario of a run.
func Detail(w io.Writer, run *reports.Run, s *reports.Scenario, t *reports.Trial, o Options) error {
	p := newPage(o)
	p.wrapped("", 0, fmt.Sprintf("%s: %s", s.Name, s.Title))
	if s.Why != "" {
		p.wrapped("", 2, s.Why)
	}
	p.line("")
	p.entry(t.Verdict, which(s, t), 24, fmt.Sprintf("run %s, seed %d, took %s, %d samples", run.ID, t.Seed, readable(t.Took), t.Samples))
	if t.Reason != "" {
		p.wrapped("", verdictColumn, t.Reason)
	}
	if t.Day != "" {
		p.wrapped("", verdictColumn, "not as usual: "+t.Day)
	}
	if s.Shown != nil {
		p.wrapped("", verdictColumn, "the scenario: "+s.Shown.Text())
	}
	for _, trouble := range t.Troubles {
		p.wrapped("", verdictColumn, "bench: "+trouble)
	}
	for _, f := range t.Findings {
		p.line("")
		p.finding(s, t, f)
		if tolerance := reports.ToleranceText(run, s, f.Rule); tolerance != "" {
			p.wrapped("", verdictColumn, tolerance)
		}
	}
	if len(t.Findings) == 0 {
		p.line("")
		p.wrapped("", verdictColumn, "no finding: nothing was judged")
	}
	_, err := io.WriteString(w, p.String())
	return err
}

// which says which trial of how many it is; one that was repeated by itself is of none.
func which(s *reports.Scenario, t *reports.Trial) string {
	if t.Number > len(s.Trials) {
		return fmt.Sprintf("trial %d by itself", t.Number)
	}
	return fmt.Sprintf("trial %d of %d", t.Number, len(s.Trials))
}

func (p *page) finding(s *reports.Scenario, t *reports.Trial, f rule.Finding) {
	name, source := ruleName(s, f), ""
	if f.Rule >= 0 && f.Rule < len(s.Rules) {
		r := s.Rules[f.Rule]
		source = r.Source
		if len(r.Claims) > 0 {
			source += ", by the claim " + strings.Join(r.Claims, ", ")
		}
	}
	p.wrapped(pad(reports.Standing(t, f).String(), verdictColumn), verdictColumn, name)
	if f.Measured {
		p.wrapped("", verdictColumn, figures(f))
	}
	if risk := reports.Risk(f); risk != "" {
		p.wrapped("", verdictColumn, "probability that the limit is broken: "+risk)
	}
	if f.Reason != "" {
		p.wrapped("", verdictColumn, f.Reason)
	}
	told := []string{fmt.Sprintf("put to the test %s", wording.Times(f.Exercised))}
	for _, d := range f.Decided {
		told = append(told, "at "+readable(d.Mid().Sub(0)))
	}
	p.wrapped("", verdictColumn, strings.Join(told, ", "))
	if source != "" {
		p.wrapped("", verdictColumn, source)
	}
}

// readable rounds a time to a tenth of a millisecond: what was decided was decided
// on all digits, and the record has them.
func readable(d time.Duration) string { return wording.Time(d.Round(100 * time.Microsecond)) }
