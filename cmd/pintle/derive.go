package main

import (
	"encoding/json"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"pintle/rig/derive"
	"pintle/rig/gate"
	"pintle/rig/signal"
	"pintle/scenarios"
	"pintle/scenarios/quantity"
)

func deriveCommand(a *app) *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "derive [DIR]",
		Short: "work out from the gate's figures which claims are sound",
		Long: `Works out from gate.yaml what each claim of a controller can soundly be for that gate: the
least value that lets it work, the most that its motor, bridge and stops can stand, and a
value between them. Every line of the reasoning is shown, so that it can be followed by
hand. Where no value satisfies both sides it says so, and what would have to change.

What is declared in controller.yaml is held against it.

Exit status: 0 where every declared claim is sound, 1 where one is not.`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			dir := ""
			if len(args) > 0 {
				dir = args[0]
			}
			return a.derive(dir, asJSON)
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print as JSON")
	return c
}

func (a *app) derive(dir string, asJSON bool) error {
	job, err := loadJob(dir)
	if err != nil {
		return err
	}
	proposals, err := derived(job)
	if err != nil {
		return err
	}
	unsound := unsoundClaims(job, proposals)
	if asJSON {
		e := json.NewEncoder(a.out)
		e.SetIndent("", "  ")
		err = e.Encode(map[string]any{"gate": job.Gate.Spec.Title, "proposals": proposals, "unsound": unsound})
	} else {
		fmt.Fprintf(a.out, "%s\nWhat a controller of this gate can soundly claim\n\n", job.Gate.Spec.Title)
		err = derive.Sheet(a.out, columns(a.out), proposals)
		a.unsound(unsound)
	}
	if err != nil {
		return fmt.Errorf("print the claims worked out: %w", err)
	}
	if len(unsound) > 0 {
		return &ended{status: statusFail}
	}
	return nil
}

// unsound tells the declared claims that are outside their worked-out range.
func (a *app) unsound(all []string) {
	if len(all) == 0 {
		return
	}
	fmt.Fprintf(a.out, "\nDeclared in controller.yaml, and not sound for this gate:\n")
	for _, s := range all {
		a.paragraph(s)
	}
}

// derived works the claims out for a job's gate.
func derived(job *scenarios.Job) ([]derive.Proposal, error) {
	g := given(job)
	if err := g.Check(); err != nil {
		return nil, usage(fmt.Errorf("work out claims from gate.yaml: %w", err))
	}
	return derive.Derive(g), nil
}

// unsoundClaims holds what is declared against what is worked out.
func unsoundClaims(job *scenarios.Job, proposals []derive.Proposal) []string {
	var out []string
	for _, p := range proposals {
		declared, ok := job.Controller.Claim(p.Claim)
		if !ok || p.Sensor != "" {
			continue
		}
		if sound, why := p.Judge(unitsOf(declared.Value)); !sound {
			out = append(out, why)
		}
	}
	return out
}

// unitsOf gives a claim in nanoseconds or microamperes.
func unitsOf(v quantity.Value) int64 {
	if v.Of == quantity.Current {
		return int64(v.Current())
	}
	return int64(v.Duration())
}

// given is what gate.yaml says that claims can be worked out from.
func given(job *scenarios.Job) derive.Given {
	s := &job.Gate.Spec
	g := derive.Given{
		Opening:   directionOf(s.Opening, s.OpeningCurrent, s.StallCurrent),
		Closing:   directionOf(s.Closing, s.ClosingCurrent, s.StallCurrent),
		StallCold: s.StallCurrent.Abs(),
	}
	g.Motor, _ = ratingOf(job, "motor")
	g.Bridge, g.BridgeSwitching = ratingOf(job, "bridge")
	for _, sensor := range s.Sensors {
		g.Sensors = append(g.Sensors, sensorOf(sensor))
	}
	return g
}

func ratingOf(job *scenarios.Job, part string) (derive.Rating, time.Duration) {
	p, _ := job.Gate.Part(part)
	return derive.Rating{Continuous: p.Continuous.Value, Short: p.Short.Value, Stands: p.Stands.Value}, p.Switching.Value
}

// directionOf takes the first rush of current for the stall current: a motor that
// has just been switched on is one that stands.
func directionOf(t gate.Travel, running, stall signal.Current) derive.Direction {
	speed := 2 / (2*t.Time - t.RunUp).Seconds()
	return derive.Direction{Time: t.Time, CoastTime: t.Coast, CoastDistance: speed * t.Coast.Seconds() / 2,
		Running: running.Abs(), InrushPeak: stall.Abs(), InrushLength: t.RunUp}
}

func sensorOf(s gate.Sensor) derive.Sensor {
	out := derive.Sensor{Name: s.Line.String(), Kind: derive.Lever}
	switch s.Line {
	case signal.OpenLimit, signal.HallOpen:
		out.End, out.Window = derive.AtOpen, 1-s.From
	case signal.ClosedLimit, signal.HallClosed:
		out.End, out.Window = derive.AtClosed, s.To
	}
	return out
}
