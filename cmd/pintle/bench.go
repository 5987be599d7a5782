package main

import (
	"fmt"

	"pintle/drivers/meter"
	"pintle/rig"
	"pintle/rig/signal"
	"pintle/scenarios"
	"pintle/scenarios/yamlfile"
)

// openBench opens a bench.
type openBench = func() (rig.Bench, rig.Facts, error)

// A benchKind is a kind of bench.
type benchKind struct {
	scenarios.BenchKind // its name in bench.yaml, what it means, whether its lines are on real pins

	simulated bool // its time is simulated, unless a real meter keeps it
	checked   bool // it is put to the test before it judges, and its meter's noise is what was measured then

	called func(*scenarios.Job) string // in records, in reports, on the live page

	// open gives the way to open the bench that a job asks for, and how many may be open at
	// once.
	open func(*scenarios.Job) (open openBench, most int, err error)

	// guarded opens the bench that is being put to the test anew, with a guard of its own that
	// allows less current; nil: it has none beside the conductor's.
	guarded func(job *scenarios.Job, tested rig.Bench, most signal.Current) (rig.Bench, func() error, error)
}

// benches is the table of all kinds of bench: adding one is adding a row.
var benches = []benchKind{
	{
		BenchKind: scenarios.BenchKind{Name: "virtual", Means: "lines, motor and controller are simulated"},
		simulated: true,
		called:    virtualName,
		open:      virtualOpener,
	},
	{
		BenchKind: scenarios.BenchKind{Name: "pi", Means: "real lines on the pins of a Raspberry Pi, or of another machine with GPIO lines", Pins: true},
		checked:   true,
		called:    piName,
		open:      piOpener,
		guarded:   guardedPi,
	},
}

// equipment is what bench.yaml may name.
func equipment() (e scenarios.Equipment) {
	for _, b := range benches {
		e.Benches = append(e.Benches, b.BenchKind)
	}
	for _, p := range meter.Protocols() {
		kind := scenarios.Protocol{Name: p.Name, Means: p.What, Query: p.Query}
		for _, f := range p.Forms {
			kind.Formats = append(kind.Formats, yamlfile.Name{Name: f.Name, Doc: f.What})
		}
		e.Protocols = append(e.Protocols, kind)
	}
	return e
}

// kindOfBench is the kind of bench that a job asks for. No file is read that names another.
func kindOfBench(job *scenarios.Job) *benchKind {
	for i := range benches {
		if benches[i].Name == job.Bench.Kind.Text {
			return &benches[i]
		}
	}
	panic(fmt.Sprintf("there is no bench %q", job.Bench.Kind.Text))
}

// anyPace says that the bench's time is simulated.
func anyPace(job *scenarios.Job) bool { return kindOfBench(job).simulated && !realMeter(job) }

// realMeter says that the bench has a real meter.
func realMeter(job *scenarios.Job) bool { return job.Bench.Meter.Kind.Text == "serial" }

func benchName(job *scenarios.Job) string { return kindOfBench(job).called(job) }

// opener gives the way to open the bench that the job asks for, and how many may
// be open at once.
func opener(job *scenarios.Job) (openBench, int, error) {
	kind := kindOfBench(job)
	open, most, err := kind.open(job)
	if err != nil {
		return nil, 0, err
	}
	return func() (rig.Bench, rig.Facts, error) {
		b, facts, err := open()
		facts.Name = kind.called(job)
		return b, facts, err
	}, most, nil
}
