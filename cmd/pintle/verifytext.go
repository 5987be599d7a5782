package main

import (
	"fmt"
	"io"
	"strings"

	"pintle/reports"
	"pintle/rig/fold"
	"pintle/rig/wording"
)

// tellVerification prints what came of checking a record, and ends with its status.
func (a *app) tellVerification(v *verification, asJSON bool) error {
	v.Unproven = v.unproven()
	status := statusPass
	switch v.Result = resultGood; {
	case v.Bad != "" || v.Differs > 0 || v.Signature.State == "bad":
		v.Result, status = resultBad, statusFail
	case v.Signature.State != "good":
		v.Result, status = resultOpen, statusInconclusive
	}
	if v.Rules != nil && v.Rules.Otherwise > 0 {
		status = statusFail
	}
	if asJSON {
		if err := reports.WriteJSON(a.raw, v); err != nil {
			return err
		}
	} else {
		var text strings.Builder
		v.text(&text)
		if _, err := io.WriteString(a.out, fold.Page(text.String(), columns(a.out))); err != nil {
			return err
		}
	}
	if status == statusPass {
		return nil
	}
	return &ended{status: status}
}

func (v *verification) text(w io.Writer) {
	if v.record == nil {
		fmt.Fprintf(w, "%s: %s\n\n%s: nothing in it can be relied on; get the file anew from whoever made it\n", v.File, v.Bad, v.Result)
		return
	}
	kind := "record"
	if v.Excerpt {
		kind = "excerpt of one trial from the record"
	}
	fmt.Fprintf(w, "%s of run %s: %s\n%s\n\n", kind, v.Run, v.record.Job, v.record.Controller.Called())
	fmt.Fprintf(w, "signature     %s: %s\n", v.Signature.State, v.Signature.Text)
	if v.Bad != "" {
		fmt.Fprintf(w, "contents      bad: %s\n\n%s\n", v.Bad, v.Result)
		return
	}
	v.contents(w)
	for _, d := range v.Different {
		fmt.Fprintf(w, "  %s: %s is recorded as %s; worked out again it is %s\n", d.Where, d.What, shortened(d.Recorded), shortened(d.Again))
	}
	if n := v.Differs - len(v.Different); n > 0 {
		fmt.Fprintf(w, "  and %d more\n", n)
	}
	v.Rules.text(w)
	fmt.Fprintf(w, "\n%s%s\n\nThis does not prove\n", v.Result, v.claim())
	for _, u := range v.Unproven {
		fmt.Fprintf(w, "- %s\n", u)
	}
}

// contents tells what is there, and what came of judging it again.
func (v *verification) contents(w io.Writer) {
	fmt.Fprintf(w, "contents      good: %s under the tree hash\n              %s\n", wording.Count(v.Entries, "entry", "entries"), v.Root)
	if v.Excerpt {
		fmt.Fprintf(w, "completeness  of the record's trials only this one is here, and nothing is said of the rest\n")
	} else {
		fmt.Fprintf(w, "completeness  %s of %s\n", wording.Count(v.Trials, "trial"), wording.Count(len(v.record.Scenarios), "scenario"))
	}
	for _, g := range v.Lacking {
		fmt.Fprintf(w, "              of %s only %d of %d trials were performed, and the record says so\n", g.Scenario, g.Performed, g.Asked)
	}
	if n := len(v.Left); n > 0 && !v.Excerpt {
		fmt.Fprintf(w, "              %d of %s not performed in this run%s: %s\n", n, wording.Count(v.Of, "scenario"), v.untold(), someOf(v.Left))
	}
	if !v.Excerpt {
		v.inapplicable(w)
		v.BuiltIn.text(w)
	}
	what := "every value, verdict and sum is the same"
	if v.Excerpt {
		what = "every value and verdict of it is the same"
	}
	if v.Differs > 0 {
		what = wording.Count(v.Differs, "difference")
	}
	fmt.Fprintf(w, "judged again  %s, %s, by the rules in the record:\n              %s\n",
		wording.Count(v.Trials, "trial"), wording.Count(int(v.Samples), "sample"), what)
}

// inapplicable tells of scenarios that the record says nothing of, because its gate or its
// controller has not what they are about.
func (v *verification) inapplicable(w io.Writer) {
	var names []string
	for _, s := range v.record.LeftOut {
		names = append(names, s.Name)
	}
	if n := len(names); n > 0 {
		fmt.Fprintf(w, "              %s not applicable, by the files of its job: %s\n", wording.Count(n, "scenario"), someOf(names))
	}
}

// untold says where it is known from that scenarios were not performed, of a record that was
// made before records listed them.
func (v *verification) untold() string {
	if !v.Untold {
		return ""
	}
	return " (this record does not say so: worked out from the files in it)"
}

// claim is what a good record says, or what is the matter with another one.
func (v *verification) claim() string {
	if v.Result == resultBad {
		return v.wrong()
	}
	words := v.verdict()
	if v.Result == resultOpen {
		words += ", and who says so is unproven"
	}
	return words
}

// verdict is of the run, as far as it reaches; of the one trial that an excerpt shows.
func (v *verification) verdict() string {
	if v.Excerpt {
		return fmt.Sprintf(": %s; that the verdict of the run is %s is only told, for its other trials are not here", v.Trial, v.Verdict)
	}
	words := ": the verdict of the run is " + v.Verdict
	if len(v.Left) > 0 {
		words += fmt.Sprintf(", of %d of %s", v.Of-len(v.Left), wording.Count(v.Of, "scenario"))
	}
	return words + v.BuiltIn.claim()
}

// wrong says what the result hangs on, and what to make of it.
func (v *verification) wrong() string {
	if v.Differs > 0 {
		return ": what is recorded is not what comes of its own traces and files; go by nothing in it, and ask whoever sent it for the record as it was made"
	}
	return ": the signature does not hold; ask whoever sent it, by another way than the record, which key is theirs"
}

func (r *otherRules) text(w io.Writer) {
	if r == nil {
		return
	}
	fmt.Fprintf(w, "\nby the rules of %s\n", r.Dir)
	for _, d := range r.Different {
		fmt.Fprintf(w, "  %s: %s was %s, and is %s\n", d.Where, d.What, shortened(d.Recorded), shortened(d.Again))
	}
	if n := r.Otherwise - len(r.Different); n > 0 {
		fmt.Fprintf(w, "  and %d more\n", n)
	}
	if r.Otherwise == 0 {
		fmt.Fprintln(w, "  nothing came out otherwise")
	}
	if len(r.Scripts) > 0 {
		fmt.Fprintf(w, "  what is done to the controller is other there than in the record, whose traces these are: %s\n", strings.Join(r.Scripts, ", "))
	}
}

// unproven says what no check of a record can tell.
func (v *verification) unproven() []string {
	var all []string
	if v.Signature.State != "good" {
		all = append(all, "who made the record, or that it is not made up as a whole: no signature was verified with a key that you vouch for")
	}
	if v.record != nil && v.record.Bench.Simulated {
		all = append(all, "anything about hardware: the controller was simulated")
	}
	return append(all,
		"that the bench was wired to the controller that is named, or that it ran the firmware that is named",
		"that program, machine, bench and meter are those that are named",
		"that meter and bench told the truth: the traces are taken as they were recorded",
		"that the clock on the wall was right, or when the run was made",
		"that no other run was made and kept back",
		"that the claims are safe ones for the gate: they are the builder's, and were only held against what was measured")
}

// shortened keeps a line readable.
func shortened(s string) string {
	if r := []rune(s); len(r) > 300 {
		return string(r[:300]) + " ..."
	}
	if s == "" {
		return "nothing"
	}
	return s
}
