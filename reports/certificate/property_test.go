package certificate_test

import (
	"io"
	"testing"

	"pgregory.net/rapid"

	"pintle/reports"
	"pintle/reports/certificate"
	"pintle/reports/reportstest"
	"pintle/rig/rule"
)

// TestNoTextStopsIt writes runs with any characters at all in every text, and any
// figures in the findings.
func TestNoTextStopsIt(t *testing.T) {
	run := own(t, reportstest.Mixed())
	run.Scenarios = run.Scenarios[:3]
	c, s := &run.Controller, &run.Scenarios[0]
	texts := []*string{&run.ID, &run.Job, &run.Gate, &run.Decision, &run.Reason, &c.Board, &c.Digest, &c.Claims[0].Name, &c.Claims[1].Means,
		&run.Bench.Name, &run.Bench.Meter, &s.Name, &s.Title, &s.Why, &s.Reason, &s.Rules[0].Name, &s.Trials[0].Findings[0].Reason, &run.Laboratory.Name, &run.Laboratory.Address, &run.At, &run.Customer.Name,
		&run.Customer.Address, &run.Customer.Contact, &c.Received, &c.Condition, &run.Bench.LastCheck}
	run.Bench.Finest = []reports.Reach{{}}
	run.Deviations = []string{""}
	var o certificate.Options
	texts = append(texts, &run.Bench.Finest[0].Claim, &run.Deviations[0], &o.Root, &o.Record, &o.Key, &o.Replaces, &o.Because)
	f := &s.Trials[0].Findings[0]
	n := 0
	count := rapid.Int64Range(-1<<53, 1<<53) // what a record can hold
	rapid.Check(t, func(rt *rapid.T) {
		if n++; n > 25 { // a document takes some time
			return
		}
		for _, p := range texts {
			*p = rapid.OneOf(rapid.String(), rapid.StringMatching(`[\x00-\xff]{0,90}`)).Draw(rt, "text")
		}
		f.Value = rule.Interval{Least: count.Draw(rt, "least"), Most: count.Draw(rt, "most")}
		f.Limit = count.Draw(rt, "limit")
		f.Unit = rule.Unit(rapid.IntRange(0, 3).Draw(rt, "unit"))
		run.Bench.Finest[0].Limit, run.Bench.Finest[0].Expanded, run.Bench.Finest[0].Guard = count.Draw(rt, "l"), count.Draw(rt, "e"), count.Draw(rt, "g")
		o.Letter = rapid.Bool().Draw(rt, "letter")
		for _, traces := range []reports.TraceSource{noTraces{}, nil} {
			if err := certificate.Write(io.Discard, run, traces, o); err != nil {
				rt.Fatalf("write: %v", err)
			}
		}
	})
}
