package main

import (
	"archive/zip"
	"bytes"
	"fmt"

	"pintle/reports"
	"pintle/rig/motion"
	"pintle/rig/signal"
	"pintle/scenarios"
)

// recordedBench reads the job's own files again, as the run has kept them. The
// scenarios are left out: nothing is performed.
func recordedBench(run *reports.Run) (*scenarios.Job, error) {
	var folder bytes.Buffer
	w := zip.NewWriter(&folder) // a folder that is not on a disk
	for _, f := range run.Files {
		switch f.Name {
		case "bench.yaml", "gate.yaml", "controller.yaml":
			entry, err := w.Create(f.Name)
			if err != nil {
				return nil, err
			}
			if _, err := entry.Write([]byte(f.Text)); err != nil {
				return nil, err
			}
		}
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	r, err := zip.NewReader(bytes.NewReader(folder.Bytes()), int64(folder.Len()))
	if err != nil {
		return nil, err
	}
	job, err := scenarios.Load(r, "run "+run.ID)
	if err != nil {
		return nil, fmt.Errorf("read the files that run %s rests on: %w", run.ID, err)
	}
	return job, nil
}

// motorSeen works out what the motor was seen doing in a trial, by the thresholds that
// the run was judged with.
func motorSeen(run *reports.Run, trace *signal.Trace) ([]motion.Change, error) {
	job, err := recordedBench(run)
	if err != nil {
		return nil, err
	}
	d, err := motion.NewDetector(thresholdsOf(job))
	if err != nil {
		return nil, fmt.Errorf("run %s: when the motor counts as moving: %w", run.ID, err)
	}
	var changes []motion.Change
	for _, s := range trace.Samples {
		if c, any := d.Sample(s); any {
			changes = append(changes, c)
		}
	}
	return changes, nil
}
