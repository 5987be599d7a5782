package main

import (
	"errors"
	"fmt"
	"os"

	"pintle/drivers/pi"
	"pintle/drivers/pi/board"
	"pintle/drivers/pi/hands"
	"pintle/drivers/pi/lines"
	"pintle/rig"
	"pintle/rig/signal"
	"pintle/scenarios"
)

// piOpener gives the way to open a bench with real lines. There can be one of it.
func piOpener(job *scenarios.Job) (openBench, int, error) {
	c, err := piConfig(job)
	if err != nil {
		return nil, 0, usage(err)
	}
	return func() (rig.Bench, rig.Facts, error) { return openPi(c) }, 1, nil
}

// openPi opens the bench, and says what it was not granted.
func openPi(c pi.Config) (rig.Bench, rig.Facts, error) {
	b, facts, ready, err := pi.New(c)
	if err != nil {
		return nil, rig.Facts{}, err
	}
	for _, lost := range ready.Lost {
		fmt.Fprintf(os.Stderr, "pintle: %s\n", lost)
	}
	if ready.Identity != "" {
		facts.Meter.Name += ", " + ready.Identity
	}
	return b, facts, nil
}

// guardedPi opens the bench anew, with hands whose guard allows less: theirs is the one
// that counts when the conductor is late.
func guardedPi(job *scenarios.Job, checked rig.Bench, most signal.Current) (rig.Bench, func() error, error) {
	if err := checked.Close(); err != nil {
		return nil, nil, fmt.Errorf("let go of the bench that was checked: %w", err)
	}
	c, err := piConfigGuarded(job, most)
	if err != nil {
		return nil, nil, err
	}
	b, _, err := openPi(c)
	if err != nil {
		return nil, nil, fmt.Errorf("open the bench with a lower guard: %w", err)
	}
	return b, b.Close, nil
}

// piConfigGuarded is the bench that a job describes with a guard that allows less.
func piConfigGuarded(job *scenarios.Job, most signal.Current) (pi.Config, error) {
	c, err := piConfig(job)
	c.Hands.Guard.MostCurrent = min(c.Hands.Guard.MostCurrent, most)
	return c, err
}

// pulls are the words of the bench file for a pin's own resistor.
var pulls = map[string]lines.Bias{"none": lines.NoPull, "up": lines.PullUp, "down": lines.PullDown}

// piConfig gives the bench what a job folder says.
func piConfig(job *scenarios.Job) (pi.Config, error) {
	b := &job.Bench
	m := meterConfig(job)
	g, t := b.Guard, thresholdsOf(job)
	c := pi.Config{Name: piName(job), Meter: m.Facts(), Lead: b.Lead.Value, Late: b.Late.Value,
		Hands: hands.Config{Labels: board.ChipLabels(), Meter: &m,
			Guard: hands.Guard{MostCurrent: g.MostCurrent.Value, LongestDrive: g.LongestDrive.Value, MeterSilence: g.MeterSilence.Value,
				Runs: t.Runs, Stops: t.Stops}}}
	if b.Chip.Given() {
		c.Hands.Labels = []string{b.Chip.Text}
	}
	errs := []error{m.Check()}
	for _, e := range b.Lines {
		w := wireOf(e.Name.Text, e.Value)
		if w.Line.Info().Driven {
			c.Hands.Outputs = append(c.Hands.Outputs, w)
		} else {
			c.Hands.Inputs = append(c.Hands.Inputs, w)
		}
	}
	if err := errors.Join(errs...); err != nil {
		return c, fmt.Errorf("bench.yaml describes a bench that cannot be: %w", err)
	}
	return c, nil
}

func piName(*scenarios.Job) string { return "bench on " + boardName() }

// boardName is the board that this runs on, as far as it says.
func boardName() string {
	if model, _, err := board.Model(); err == nil && model != "" {
		return model
	}
	return "a machine that does not say what it is"
}

// wireOf is how a line is wired.
func wireOf(name string, f scenarios.LineFile) hands.Wire {
	line, _ := signal.LineNamed(name)
	return hands.Wire{Line: line, Offset: f.Pin.At.Line, ActiveLow: f.Active.Text == "low", OpenDrain: f.Drive.Text == "open drain", Bias: pulls[f.Pull.Text],
		Rest: f.Contact.Text == "normally closed"}
}
