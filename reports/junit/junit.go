package junit

import (
	"cmp"
	"encoding/xml"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"pintle/reports"
	"pintle/rig/rule"
)

type suites struct {
	XMLName  xml.Name `xml:"testsuites"`
	Name     string   `xml:"name,attr"`
	Tests    int      `xml:"tests,attr"`
	Failures int      `xml:"failures,attr"`
	Errors   int      `xml:"errors,attr"`
	Skipped  int      `xml:"skipped,attr"`
	Time     string   `xml:"time,attr"`
	Suite    suite    `xml:"testsuite"`
}

type suite struct {
	Name       string     `xml:"name,attr"`
	Tests      int        `xml:"tests,attr"`
	Failures   int        `xml:"failures,attr"`
	Errors     int        `xml:"errors,attr"`
	Skipped    int        `xml:"skipped,attr"`
	Time       string     `xml:"time,attr"`
	Timestamp  string     `xml:"timestamp,attr"`
	Properties []property `xml:"properties>property"`
	Cases      []testcase `xml:"testcase"`
}

type property struct {
	Name  string `xml:"name,attr"`
	Value string `xml:"value,attr"`
}

type testcase struct {
	Name      string   `xml:"name,attr"`
	Classname string   `xml:"classname,attr"`
	Time      string   `xml:"time,attr"`
	Failure   *problem `xml:"failure"`
	Error     *problem `xml:"error"`
	Skipped   *skipped `xml:"skipped"`
	Out       *output  `xml:"system-out"`
}

type problem struct {
	Message string `xml:"message,attr"`
	Type    string `xml:"type,attr"`
	Text    string `xml:",cdata"`
}

type output struct {
	Text string `xml:",cdata"`
}

type skipped struct {
	Message string `xml:"message,attr"`
}

// These begin the reason of a scenario that is not in the run: one that cannot be
// performed on this controller or bench, and one that could have been.
const notApplicable, notPerformed = "not applicable", "not performed"

// Write writes a run as one suite with a case for each scenario of the job.
func Write(w io.Writer, run *reports.Run) error {
	s := suite{Name: run.Job, Timestamp: run.Began.UTC().Format("2006-01-02T15:04:05"), Properties: properties(run)}
	var took time.Duration
	for i := range run.Scenarios {
		c, d := caseOf(run, &run.Scenarios[i])
		s.Cases = append(s.Cases, c)
		took += d
	}
	s.skip(run.Job, notPerformed, run.NotPerformed)
	s.skip(run.Job, notApplicable, run.LeftOut)
	if c := runCase(run, s.Cases); c != nil {
		s.Cases = append(s.Cases, *c)
	}
	s.count()
	s.Time = seconds(took)
	doc := suites{
		Name: run.ID, Tests: s.Tests, Failures: s.Failures, Errors: s.Errors, Skipped: s.Skipped, Time: s.Time, Suite: s,
	}
	text, err := xml.MarshalIndent(doc, "", "  ")
	if err != nil {
		return fmt.Errorf("run %s: XML for build servers: %w", run.ID, err)
	}
	_, err = io.WriteString(w, xml.Header+string(text)+"\n")
	return err
}

// skip lists scenarios of a job that are not in its run.
func (s *suite) skip(job, what string, all []reports.LeftOut) {
	for _, l := range all {
		s.Cases = append(s.Cases, testcase{Name: l.Name, Classname: job, Time: seconds(0), Skipped: &skipped{what + ": " + l.Why}})
	}
}

func (s *suite) count() {
	for _, c := range s.Cases {
		s.Tests++
		switch {
		case c.Failure != nil:
			s.Failures++
		case c.Error != nil:
			s.Errors++
		case c.Skipped != nil:
			s.Skipped++
		}
	}
}

func properties(run *reports.Run) []property {
	return []property{
		{"run", run.ID}, {"program", run.Program}, {"place", run.Place}, {"gate", run.Gate},
		{"board", run.Controller.Board}, {"serial", run.Controller.Serial},
		{"firmware", run.Controller.Firmware}, {"firmwareDigest", run.Controller.Digest},
		{"bench", run.Bench.Name}, {"virtual", strconv.FormatBool(run.Bench.Virtual)}, {"simulated", strconv.FormatBool(run.Bench.Simulated)}, {"meter", run.Bench.Meter},
		{"seed", strconv.FormatUint(run.Seed, 10)}, {"trials", strconv.Itoa(run.Trials)},
		{"decision", run.Decision}, {"verdict", run.Verdict.String()},
	}
}

func caseOf(run *reports.Run, s *reports.Scenario) (testcase, time.Duration) {
	var took time.Duration
	for _, t := range s.Trials {
		took += t.Took
	}
	c := testcase{Name: s.Name, Classname: run.Job, Time: seconds(took)}
	message := cmp.Or(reason(s), s.Verdict.String())
	switch {
	case s.Verdict == rule.Pass:
		c.Out = &output{text(s)}
	case s.Verdict == rule.Fail:
		c.Failure = &problem{message, s.Verdict.String(), text(s)}
	default:
		c.Error = &problem{message, s.Verdict.String(), text(s)}
	}
	return c, took
}

// runCase speaks for a run that is no pass though each of its cases looks like
// one, as when it was broken off or held nothing.
func runCase(run *reports.Run, cases []testcase) *testcase {
	if run.Verdict == rule.Pass && len(run.Scenarios) > 0 {
		return nil
	}
	for _, c := range cases {
		if c.Failure != nil || c.Error != nil {
			return nil
		}
	}
	message := cmp.Or(run.Reason, "the run as a whole is "+run.Verdict.String())
	if len(run.Scenarios) == 0 {
		message = cmp.Or(run.Reason, "no scenario was performed")
	}
	return &testcase{Name: "run " + run.ID, Classname: run.Job, Time: seconds(0), Error: &problem{message, run.Verdict.String(), ""}}
}

func reason(s *reports.Scenario) string {
	trial, finding, ok := reports.Tightest(s)
	if !ok {
		return s.Reason
	}
	f := s.Trials[trial].Findings[finding]
	words := []string{}
	if r := cmp.Or(s.Reason, f.Reason, s.Trials[trial].Reason); r != "" {
		words = append(words, r)
	}
	if f.Measured && reports.Standing(&s.Trials[trial], f) != rule.Void {
		words = append(words, strings.TrimSuffix(f.ValueText()+", "+f.LimitText(), ", "))
	}
	return strings.Join(words, ": ")
}

// text lists the tightest finding of each rule, and the trials that are no pass.
func text(s *reports.Scenario) string {
	var b strings.Builder
	b.WriteString("\n")
	for i, r := range s.Rules {
		trial, finding, ok := reports.TightestOf(s, i)
		if !ok {
			fmt.Fprintf(&b, "%s: no finding\n", r.Name)
			continue
		}
		t := &s.Trials[trial]
		f := t.Findings[finding]
		fmt.Fprintf(&b, "%s: %s", r.Name, reports.Standing(t, f))
		if f.Measured {
			fmt.Fprintf(&b, ", %s", f.ValueText())
			for _, more := range []string{f.LimitText(), f.MarginWords()} {
				if more != "" {
					b.WriteString(", " + more)
				}
			}
		}
		if f.Reason != "" {
			fmt.Fprintf(&b, " (%s)", f.Reason)
		}
		fmt.Fprintf(&b, " in trial %d\n", t.Number)
	}
	for _, t := range s.Trials {
		if t.Verdict != rule.Pass {
			fmt.Fprintf(&b, "trial %d, seed %d: %s %s\n", t.Number, t.Seed, t.Verdict, t.Reason)
		}
	}
	return legal(b.String())
}

// legal leaves out what XML cannot hold, which a CDATA section would let through.
func legal(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n', r == '\t', r >= ' ' && r < 0xD800, r >= 0xE000 && r < 0xFFFE, r > 0xFFFF:
			return r
		}
		return -1
	}, strings.ToValidUTF8(s, "\uFFFD"))
}

// seconds are plain, with three decimals and no thousands separators.
func seconds(d time.Duration) string {
	return strconv.FormatFloat(float64(d)/1e9, 'f', 3, 64)
}
