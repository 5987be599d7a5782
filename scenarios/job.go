package scenarios

import (
	"pintle/rig/signal"
)

// A Job is all that a job folder says.
type Job struct {
	Title, Place string
	Dir          string // as it was asked for; empty: the embedded demo
	Bench        BenchFile
	Gate         GateFile
	Controller   ControllerFile
	Scenarios    []Scenario // by name
	Files        []File     // every file that the job rests on, by name
	FirmwareFile string     // whose digest was worked out and put into Controller; empty: none
}

// A File is the text of a file that the job rests on. Its name is its path within
// the job folder; that of a built-in scenario begins with built-in/.
type File struct {
	Name string
	Text []byte
}

// Scenario finds a scenario by its name.
func (j *Job) Scenario(name string) (*Scenario, bool) {
	for i := range j.Scenarios {
		if j.Scenarios[i].Name == name {
			return &j.Scenarios[i], true
		}
	}
	return nil, false
}

// Applicable lists the scenarios that can be performed in this job.
func (j *Job) Applicable() []Scenario {
	var all []Scenario
	for _, s := range j.Scenarios {
		if s.NotApplicable == "" {
			all = append(all, s)
		}
	}
	return all
}

// Lines is the set of lines between bench and controller.
func (j *Job) Lines() signal.LineSet { return j.Bench.LineSet() }
