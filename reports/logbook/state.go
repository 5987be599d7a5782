package logbook

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"

	"pintle/reports"
	"pintle/rig/rule"
)

// state is how far a run has come. The numbers are in the file.
type state int

const (
	underWay state = 1
	finished state = 2
	broken   state = 3 // marked void: its program ended before it did
)

// Broken is the reason of a run that was marked void.
const Broken = "the program ended before the run did"

// digest is the SHA-256 of bytes, in hexadecimal.
func digest(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

// skeleton is the JSON of a run without what the logbook keeps elsewhere: its
// trials and the texts of its files.
func skeleton(run *reports.Run) ([]byte, error) {
	bare := *run
	bare.Files = make([]reports.File, len(run.Files))
	for i, f := range run.Files {
		bare.Files[i] = reports.File{Name: f.Name, SHA256: f.SHA256}
	}
	bare.Scenarios = make([]reports.Scenario, len(run.Scenarios))
	for i, s := range run.Scenarios {
		bare.Scenarios[i] = s
		bare.Scenarios[i].Trials = nil
	}
	return json.Marshal(&bare)
}

// abandon makes a run that never ended say so.
func abandon(run *reports.Run) {
	run.Verdict, run.Reason = rule.Void, Broken
	settle(run)
}

// settle sums up the scenarios of a run that nobody has summed up. A scenario that
// lacks trials is void: what was not performed says nothing of the controller.
func settle(run *reports.Run) {
	for i := range run.Scenarios {
		s := &run.Scenarios[i]
		if len(s.Trials) < run.Trials || len(s.Trials) == 0 {
			s.Verdict = rule.Void
			s.Reason = fmt.Sprintf("%d of %d trials were performed", len(s.Trials), run.Trials)
			continue
		}
		verdicts := make([]rule.Verdict, len(s.Trials))
		for j := range s.Trials {
			verdicts[j] = s.Trials[j].Verdict
		}
		s.Verdict, s.Reason = rule.Worst(verdicts...), ""
	}
}
