package trend

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"pintle/reports"
	"pintle/rig/rule"
)

// ErrUnknown says that no run has a claim or a scenario of that name.
var ErrUnknown = errors.New("no run there has a claim, a scenario or a rule of that name")

// A Source gives runs with the trials of the named scenarios alone.
type Source interface {
	Part(run string, scenarios ...string) (*reports.Run, error)
}

// A Trend is one series for each rule that was asked for.
type Trend struct {
	Of     string   `json:"of"`
	Series []Series `json:"series"`
}

// A Series is one rule from run to run, the earliest first.
type Series struct {
	Scenario string     `json:"scenario"`
	Rule     string     `json:"rule"`
	Number   int        `json:"number"` // of the rule in the latest run, from 1
	Claims   []string   `json:"claims,omitempty"`
	Unit     string     `json:"unit,omitempty"` // of every figure
	Sense    rule.Sense `json:"-"`
	Points   []Point    `json:"points"`

	unit rule.Unit
	nth  int // of the rules that have the same words, in its scenario
}

// A Point is what one run said of the rule.
type Point struct {
	Run      string       `json:"run"`
	Began    time.Time    `json:"began"`
	Firmware string       `json:"firmware"`
	Digest   string       `json:"firmwareDigest,omitempty"`
	Trials   int          `json:"trials"`
	Measured int          `json:"measured"` // trials that measured a value; the figures are of these
	Median   int64        `json:"median,omitempty"`
	Worst    int64        `json:"worst,omitempty"`
	Limit    int64        `json:"limit,omitempty"`
	Margin   int64        `json:"margin,omitempty"` // of the worst, with all doubt of its measurement counted in
	Verdict  rule.Verdict `json:"-"`
	Said     string       `json:"verdict"`

	worst rule.Finding
}

// Of follows a claim (all rules that rest on it), a scenario (all its rules) or one
// rule, as SCENARIO/RULE with the rule's number or some of its words, through the runs
// named.
func Of(source Source, runs []string, what string) (*Trend, error) {
	t := &Trend{Of: what}
	var known []string
	for _, id := range runs {
		bare, err := source.Part(id)
		if err != nil {
			return nil, err
		}
		chosen, names := choose(bare, what)
		known = append(known, names...)
		if len(chosen) == 0 {
			continue
		}
		run, err := source.Part(id, slices.Collect(func(yield func(string) bool) {
			for s := range chosen {
				if !yield(bare.Scenarios[s].Name) {
					return
				}
			}
		})...)
		if err != nil {
			return nil, err
		}
		for s := range run.Scenarios {
			for _, r := range chosen[s] {
				t.add(run, &run.Scenarios[s], r)
			}
		}
	}
	if len(t.Series) == 0 {
		slices.Sort(known)
		return nil, &Unknown{What: what, Known: slices.Compact(known)}
	}
	return t, nil
}

// An Unknown is an ErrUnknown with the names that there are.
type Unknown struct {
	What  string
	Known []string
}

func (u *Unknown) Error() string { return fmt.Sprintf("%q: %v", u.What, ErrUnknown) }

// Unwrap makes it an ErrUnknown.
func (u *Unknown) Unwrap() error { return ErrUnknown }

// choose gives, by scenario, the rules that are meant, and all names that could have
// been.
func choose(run *reports.Run, what string) (map[int][]int, []string) {
	scenario, part, _ := strings.Cut(what, "/")
	chosen := map[int][]int{}
	var known []string
	for i := range run.Scenarios {
		s := &run.Scenarios[i]
		known = append(known, s.Name)
		for r := range s.Rules {
			known = append(known, s.Rules[r].Claims...)
			onClaim := slices.ContainsFunc(s.Rules[r].Claims, func(c string) bool { return strings.EqualFold(c, what) })
			if onClaim || strings.EqualFold(s.Name, scenario) && meant(&s.Rules[r], r, part) {
				chosen[i] = append(chosen[i], r)
			}
		}
	}
	return chosen, known
}

// meant says whether a rule is the one named by its number or by some of its words; no
// name means them all.
func meant(r *reports.Rule, index int, name string) bool {
	if n, err := strconv.Atoi(name); err == nil {
		return n == index+1
	}
	return strings.Contains(strings.ToLower(r.Name), strings.ToLower(name))
}

// add puts a run's point where it belongs: to the rule of the same words.
func (t *Trend) add(run *reports.Run, s *reports.Scenario, r int) {
	nth := 0
	for i := range r {
		if s.Rules[i].Name == s.Rules[r].Name {
			nth++
		}
	}
	at := slices.IndexFunc(t.Series, func(x Series) bool { return x.Scenario == s.Name && x.Rule == s.Rules[r].Name && x.nth == nth })
	if at < 0 {
		at = len(t.Series)
		t.Series = append(t.Series, Series{Scenario: s.Name, Rule: s.Rules[r].Name, nth: nth})
	}
	series := &t.Series[at]
	series.Number, series.Claims = r+1, s.Rules[r].Claims
	p := pointOf(s, r)
	c := run.Controller
	p.Run, p.Began, p.Firmware, p.Digest = run.ID, run.Began, c.Firmware, c.Digest
	if p.Measured > 0 {
		series.unit, series.Unit, series.Sense = p.worst.Unit, p.worst.Unit.Symbol(), p.worst.Sense
	}
	series.Points = append(series.Points, p)
}

// pointOf sums a rule's trials up.
func pointOf(s *reports.Scenario, r int) Point {
	p := Point{Trials: len(s.Trials)}
	var values []int64
	var verdicts []rule.Verdict
	for i := range s.Trials {
		t := &s.Trials[i]
		at := slices.IndexFunc(t.Findings, func(f rule.Finding) bool { return f.Rule == r })
		if at < 0 {
			verdicts = append(verdicts, silent(t.Verdict))
			continue
		}
		f := t.Findings[at]
		v := reports.Standing(t, f)
		verdicts = append(verdicts, v)
		if !f.Measured || f.Sense == rule.NoSense || v == rule.Void {
			continue
		}
		values = append(values, f.Best())
		if len(values) == 1 || f.Margin() < p.worst.Margin() {
			p.worst = f
		}
	}
	p.Verdict = rule.Worst(verdicts...)
	p.Said = p.Verdict.String()
	if p.Measured = len(values); p.Measured > 0 {
		slices.Sort(values)
		p.Median = median(values)
		p.Worst, p.Limit, p.Margin = p.worst.Best(), p.worst.Limit, p.worst.Margin()
	}
	return p
}

// silent is the verdict on a rule of a trial that has no finding of it: whatever kept
// it from having one, it is no pass.
func silent(trial rule.Verdict) rule.Verdict {
	if trial == rule.Pass {
		return rule.Unsettled
	}
	return trial
}

// median is the middle of sorted values, or half-way between the two in the middle,
// rounded down.
func median(sorted []int64) int64 {
	n := len(sorted)
	low, high := sorted[(n-1)/2], sorted[n/2]
	return low + (high-low)/2
}
