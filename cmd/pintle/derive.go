package main

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"pintle/reports"
	"pintle/rig/derive"
	"pintle/rig/gate"
	"pintle/rig/signal"
	"pintle/scenarios"
	"pintle/scenarios/quantity"
	"pintle/scenarios/yamlfile"
)

func deriveCommand(a *app) *cobra.Command {
	var asJSON bool
	var claims []string
	c := &cobra.Command{
		Use:   "derive [DIR]",
		Short: "work out from the gate's figures which claims are sound",
		Long: `Works out from gate.yaml what each claim of a controller can soundly be for that gate: the
least value that lets it work, the most that its motor, bridge and stops can stand, and a
value between them. Every line of the reasoning is shown, so that it can be followed by
hand. Where no value satisfies both sides it says so, and what would have to change.

What is declared in controller.yaml is held against it. Where the sheet says that the duty or
the beam's delay is not given: they are duty and beam delay in gate.yaml; how often the
controller looks at its inputs is looks every in controller.yaml.

Exit status: 0 where every declared claim is sound, 1 where one is not.`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			dir := ""
			if len(args) > 0 {
				dir = args[0]
			}
			return a.derive(dir, claims, asJSON)
		},
	}
	c.Flags().StringArrayVar(&claims, "claim", nil, "work out only this claim; may be given several times")
	c.Flags().BoolVar(&asJSON, "json", false, "print as JSON")
	return c
}

func (a *app) derive(dir string, claims []string, asJSON bool) error {
	job, err := loadJob(dir)
	if err != nil {
		return err
	}
	known, proposals, err := derived(job)
	if err != nil {
		return err
	}
	if proposals, err = only(proposals, claims); err != nil {
		return err
	}
	unsound := unsoundClaims(job, proposals)
	if asJSON {
		err = reports.WriteJSON(a.raw, map[string]any{"gate": job.Gate.Spec.Title, "basis": derive.Basis(known, proposals),
			"proposals": proposals, "unsound": unsound, "cautions": derive.Cautions()})
	} else {
		fmt.Fprintf(a.out, "%s\nWhat a controller of this gate can soundly claim\n\n", job.Gate.Spec.Title)
		err = derive.Sheet(a.out, columns(a.out), known, proposals, speller(a.out))
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

// only gives the proposals for some claims, by name; for all where none is named.
func only(all []derive.Proposal, claims []string) ([]derive.Proposal, error) {
	if len(claims) == 0 {
		return all, nil
	}
	var known []string
	for _, p := range all {
		known = append(known, p.Name())
	}
	var chosen []derive.Proposal
	var errs []error
	for _, name := range claims {
		found := named(all, name)
		if len(found) == 0 {
			errs = append(errs, fmt.Errorf("nothing is worked out for a claim %q%s", name, then(suggestion(name, known), "pintle derive alone works out all")))
		}
		chosen = append(chosen, found...)
	}
	if len(errs) > 0 {
		return nil, usage(errors.Join(errs...))
	}
	return chosen, nil
}

// named gives the proposals of a name; of debounce alone, those of all sensors.
func named(all []derive.Proposal, name string) (found []derive.Proposal) {
	for _, p := range all {
		if p.Name() == name || p.Claim == name {
			found = append(found, p)
		}
	}
	return found
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

// derived works the claims out for a job's gate, and gives what is known of that.
func derived(job *scenarios.Job) (derive.Given, []derive.Proposal, error) {
	g, err := given(job)
	if err != nil {
		return g, nil, usage(fmt.Errorf("work out claims from gate.yaml: %w", err))
	}
	return g, derive.Derive(g), nil
}

// unsoundClaims holds what is declared against what is worked out.
func unsoundClaims(job *scenarios.Job, proposals []derive.Proposal) []string {
	out := []string{}
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
func given(job *scenarios.Job) (derive.Given, error) {
	s := &job.Gate.Spec
	g := derive.Given{
		Opening:   directionOf(s.Opening, s.OpeningCurrent, s.StallCurrent),
		Closing:   directionOf(s.Closing, s.ClosingCurrent, s.StallCurrent),
		StallCold: s.StallCurrent.Abs(),
		Origin:    "Times, ways and currents are those of gate.yaml.",
	}
	g.Opening.Slowest, g.Closing.Slowest = job.Gate.Opening.Slowest.Value, job.Gate.Closing.Slowest.Value
	if s.Machine != nil {
		if err := machineSays(job, &g); err != nil {
			return g, err
		}
	}
	stopsSay(s, &g)
	g.Motor, _ = ratingOf(job, "motor")
	g.Bridge, g.BridgeSwitching = ratingOf(job, "bridge")
	g.Duty, g.BeamDelay, g.Loop = job.Gate.Duty.Value, job.Gate.BeamDelay.Value, job.Controller.Looks.Value
	for _, e := range job.Gate.Sensors {
		g.Sensors = append(g.Sensors, sensorOf(job, e, max(g.Opening.Speed, g.Closing.Speed)))
	}
	return g, g.Check()
}

// stopsSay puts in what a gate does that runs onto a stop.
func stopsSay(s *gate.Spec, g *derive.Given) {
	g.Opening.Rebound, g.Closing.Rebound = s.Open.Restitution, s.Closed.Restitution
	if m := s.Machine; m != nil {
		closed, open := 0.0, 0.0 // what pulls towards closed at either stop
		if n := len(m.Load); n > 0 {
			closed, open = m.Load[0].Torque, m.Load[n-1].Torque
		}
		g.Opening, g.Closing = g.Opening.Thrown(pullOf(m, -open)), g.Closing.Thrown(pullOf(m, closed))
		return
	}
	g.Opening.Hop, g.Opening.Fall = s.Open.Return, s.Open.Return
	g.Closing.Hop, g.Closing.Fall = s.Closed.Return, s.Closed.Return
}

func pullOf(m *gate.Machine, weight float64) derive.Pull {
	p := derive.Pull{Weight: weight, Friction: m.Friction.Coulomb, Static: m.Friction.Static, Inertia: m.Inertia,
		Motor: m.Motor.Inertia, Gear: m.Gear, Travel: m.Travel}
	if m.Radius > 0 {
		p.Gear, p.Slides = m.Gear/m.Radius, true
	}
	return p
}

func ratingOf(job *scenarios.Job, part string) (derive.Rating, time.Duration) {
	p, _ := job.Gate.Part(part)
	return derive.Rating{Continuous: p.Continuous.Value, Short: p.Short.Value, Stands: p.Stands.Value}, p.Switching.Value
}

// directionOf takes the first rush of current for the stall current: a motor that
// has just been switched on is one that stands.
func directionOf(t gate.Travel, running, stall signal.Current) derive.Direction {
	return derive.Direction{Time: t.Time, CoastTime: t.Coast, CoastDistance: fullSpeed(t) * t.Coast.Seconds() / 2,
		Speed: fullSpeed(t), Running: running.Abs(), InrushPeak: stall.Abs(), InrushLength: t.RunUp}
}

// fullSpeed is that of an even run-up, in travels per second.
func fullSpeed(t gate.Travel) float64 { return 2 / (2*t.Time - t.RunUp).Seconds() }

// machineSays puts in what the machine does on the day of the trials and on the
// worst one: as cold as it gets, on a battery that is nearly empty.
func machineSays(job *scenarios.Job, g *derive.Given) error {
	m, b := job.Gate.Spec.Machine, job.Gate.Machine.Battery
	usual, err := m.Figures(m.Celsius, 1)
	if err != nil {
		return fmt.Errorf("let the gate of gate.yaml run: %w", err)
	}
	full, err := m.Figures(b.Coldest.Value, 1)
	if err != nil {
		return fmt.Errorf("let the gate of gate.yaml run at %v °C: %w", b.Coldest.Value, err)
	}
	worst, err := m.Figures(b.Coldest.Value, b.Lowest.Value)
	if err != nil {
		return fmt.Errorf("let the gate of gate.yaml run at %v °C on %v of its voltage: %w", b.Coldest.Value, b.Lowest.Value, err)
	}
	g.Opening, g.Closing = courseOf(usual.Opening, full.Opening, worst.Opening), courseOf(usual.Closing, full.Closing, worst.Closing)
	g.Origin = fmt.Sprintf("Times, ways and currents are what the machine of gate.yaml does when the bench lets it run: usually at %v °C on a full battery, on the worst honest day at %v °C on a nearly empty one. They alone are not worked out by hand.", minus(m.Celsius), minus(b.Coldest.Value))
	*g = g.Powered(circuitOf(m, b, usual, full))
	return nil
}

// minus writes a number as the sheet does.
func minus(x float64) string {
	return strings.Replace(strconv.FormatFloat(x, 'f', -1, 64), "-", "−", 1)
}

func circuitOf(m *gate.Machine, b scenarios.GateBattery, usual, full gate.Figures) derive.Circuit {
	_, inside := m.Battery.At(m.Celsius)
	_, cold := m.Battery.At(full.Celsius)
	return derive.Circuit{Winding: m.Motor.Resistance, Inductance: m.Motor.Inductance, Leads: inside + m.Cable, LeadsCold: cold + m.Cable,
		Celsius: m.Celsius, Coldest: full.Celsius, Full: usual.Volts, FullCold: full.Volts, Lowest: b.Lowest.Value}
}

// courseOf takes from each day what is worst on it.
func courseOf(usual, full, worst gate.Course) derive.Direction {
	return derive.Direction{Time: usual.Time, Slowest: max(worst.Time, usual.Time), CoastTime: usual.Coast, CoastDistance: usual.Overshoot,
		Speed:   max(usual.Speed, full.Speed),
		Running: max(usual.Peak, worst.Peak, 0), InrushPeak: max(usual.Inrush, full.Inrush), InrushLength: max(usual.RunUp, worst.RunUp)}
}

// sensorOf says of a sensor what bears on its debounce and on the stop after it. What
// the file does not say is as the table of kinds has it.
func sensorOf(job *scenarios.Job, e yamlfile.Entry[scenarios.SensorFile], fastest float64) derive.Sensor {
	f := e.Value
	kind, _ := gate.KindNamed(f.Kind.Text)
	out := derive.Sensor{Name: e.Name.Text, Kind: derive.Kind(kind.String()), Contactless: !kind.Info().Bounces, Bounce: f.Bounce.Value, Delay: f.Delay.Value}
	if !f.Bounce.Given() {
		out.Bounce, out.BounceFrom = kind.Info().MostBounce, kind.Info().BounceFrom
	}
	if !f.Delay.Given() {
		out.Delay, out.DelayFrom = kind.Info().Delay, kind.Info().DelayFrom
	}
	line, _ := signal.LineNamed(e.Name.Text)
	out.End, out.Window = placed(line, job.Gate.Spec.Sensors)
	if f.Wheel == nil {
		out.Release = f.Hysteresis.Value
		out.Passed = out.End == derive.AtOpen && f.To.Value < 1 || out.End == derive.AtClosed && f.From.Value > 0
	}
	if f.Wheel != nil {
		w := f.Wheel.Model()
		out.Arc, out.WheelRadius, out.PerTravel, out.Fastest = w.Arc, w.Radius, w.Turns, fastest
		out.Facing = slices.Max(w.Magnets) * 180 / math.Pi
		if out.End == derive.AtClosed {
			out.Facing = slices.Min(w.Magnets) * 180 / math.Pi
		}
	}
	return out
}

// placed says at which end the sensor of a line stands, and over how much of the travel it
// is made there.
func placed(line signal.Line, all []gate.Sensor) (end derive.End, window float64) {
	for _, s := range all {
		switch {
		case s.Line != line:
		case line == signal.OpenLimit || line == signal.HallOpen:
			end, window = derive.AtOpen, stretch(s)
		case line == signal.ClosedLimit || line == signal.HallClosed:
			if end == "" {
				end, window = derive.AtClosed, stretch(s)
			}
		}
	}
	return end, window
}

// stretch is how much of the travel a sensor is made over.
func stretch(s gate.Sensor) float64 { return min(s.To, 1) - max(s.From, 0) }
