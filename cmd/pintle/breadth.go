package main

import (
	"fmt"
	"io"

	"pintle/reports"
	"pintle/rig/wording"
	"pintle/scenarios"
	"pintle/scenarios/builtin"
)

// A breadth is what a record's job has of the scenarios that are built into this program. A
// record of another version may lack some, and so does one out of whose files somebody took
// them: nothing in it tells the two apart, so both are told.
type breadth struct {
	Of       int      `json:"of"`                 // built into this program
	Absent   []string `json:"absent,omitempty"`   // not in the job
	Reworded []string `json:"reworded,omitempty"` // in the job, by another text
}

func breadthOf(run *reports.Run, job *scenarios.Job) breadth {
	texts := map[string]string{}
	for _, f := range run.Files {
		texts[f.Name] = f.Text
	}
	all := builtin.All()
	s := breadth{Of: len(all)}
	for _, b := range all {
		if _, ok := job.Scenario(b.Name); !ok {
			s.Absent = append(s.Absent, b.Name)
		} else if texts[scenarios.BuiltInFile(b.Name)] != string(b.Text) { // or one of the job's own has its name
			s.Reworded = append(s.Reworded, b.Name)
		}
	}
	return s
}

// text tells what stands in the way of taking the job for all that can be asked.
func (s breadth) text(w io.Writer) {
	if n := len(s.Absent); n > 0 {
		fmt.Fprintf(w, "              not in the job of this record, %d of the %d scenarios built into this program: %s\n", n, s.Of, someOf(s.Absent))
	}
	if n := len(s.Reworded); n > 0 {
		is := "that are"
		if n == 1 {
			is = "that is"
		}
		fmt.Fprintf(w, "              worded otherwise than in this program, %s %s built into it: %s\n", wording.Count(n, "scenario"), is, someOf(s.Reworded))
	}
}

// claim is what the verdict of a run is not of.
func (s breadth) claim() string {
	if len(s.Absent) == 0 {
		return ""
	}
	return fmt.Sprintf(", of a job without %d of the %d scenarios built into this program", len(s.Absent), s.Of)
}
