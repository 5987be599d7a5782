package rig

import (
	"fmt"

	"pintle/rig/fault"
	"pintle/rig/gate"
	"pintle/rig/signal"
)

// A part is what a scenario needs each time that it is performed.
type part struct {
	scenario *Scenario
	faults   []fault.Fault // what is wrong with the lines, and the sensors' own bounce
	gates    map[machine]*gate.Model
	*judgement
}

// gateOf gives the gate of a day.
func (p *part) gateOf(spec *gate.Spec, d Day) (*gate.Model, error) {
	kind := d.machine()
	if spec.Machine == nil {
		kind = machine{1, 0} // a gate by the stopwatch moves alike on every day
	}
	if g, ok := p.gates[kind]; ok {
		return g, nil
	}
	that := *spec
	if spec.Machine != nil && d.Varied {
		m := spec.Machine.On(kind.load, kind.kelvin)
		that.Machine = &m
	}
	g, err := gate.New(&that, p.scenario.Start)
	if err != nil {
		return nil, fmt.Errorf("prepare the gate for scenario %s: %w", p.scenario.Name, err)
	}
	p.gates[kind] = g
	return g, nil
}

// prepare gets everything ready for a trial: what the scenario needs is made once and
// used again.
func (c *Conductor) prepare(s *Scenario, seed uint64, day Day) error {
	p, ok := c.cast[s]
	if !ok {
		j, err := newJudgement(c.job, s)
		if err != nil {
			return fmt.Errorf("prepare scenario %s: %w", s.Name, err)
		}
		p = &part{s, withBounces(&c.job.Gate, s.Faults), map[machine]*gate.Model{}, j}
		c.cast[s] = p
	}
	g, err := p.gateOf(&c.job.Gate, day)
	if err != nil {
		return err
	}
	c.refresh(seed, day)
	c.part, c.seed, c.day, c.gate = p, seed, day, g
	c.gate.Reset(s.Start)
	c.samples, c.sags, c.dips = 0, false, false
	c.sensed = [signal.LineCount]signal.Level{}
	c.supply(0)
	c.lines.reset()
	c.owed.reset()
	c.trace.Reset()
	c.script.reset(s.Script, s.Repeat)
	c.origin = c.bench.Now()
	c.guard = newGuarding(c.job, c.origin)
	c.at, c.latest, c.raised = 0, c.limit(), false
	c.end, c.trouble = signal.Never, nil
	c.readings = readings{meter: c.facts.Meter}
	c.readings.begin(-signal.Never)
	return nil
}

// refresh lets the bench begin anew, or go on as if it did.
func (c *Conductor) refresh(seed uint64, day Day) {
	c.since = -signal.Never
	if b, ok := Can[Reseeder](c.bench); ok {
		b.Reset(seed)
	}
	if b, ok := Can[Forgetter](c.bench); ok {
		b.Forget()
		c.since = c.bench.Now()
	}
	if b, ok := Can[Varier](c.bench); ok {
		b.Vary(day)
	}
}

// withBounces adds what the sensors' contacts do of their own: the gate's model
// gives the first edge of each burst, and the rest comes as a fault would. A contact
// bounces where a fault has put its edge, and interference on the wire does not
// make it bounce.
func withBounces(g *gate.Spec, faults []fault.Fault) []fault.Fault {
	var all, wire []fault.Fault
	for _, f := range faults {
		if f.Kind.Info().Wire {
			wire = append(wire, f)
		} else {
			all = append(all, f)
		}
	}
	var done signal.LineSet
	for _, s := range g.Sensors {
		if s.Bounce > 0 && !done.Has(s.Line) {
			done |= signal.SetOf(s.Line)
			all = append(all, fault.Fault{Kind: fault.Bounce, Line: s.Line, For: s.Bounce})
		}
	}
	return append(all, wire...)
}
