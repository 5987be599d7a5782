package gate

import (
	"errors"
	"fmt"
	"math"
	"time"

	"pintle/rig/linear"
	"pintle/rig/signal"
)

// Figures are what an unhindered machine does at one temperature and one supply,
// found by letting it run. Currents are magnitudes.
type Figures struct {
	Celsius float64
	Supply  float64 // share of the battery's voltage
	Opening Course
	Closing Course

	Volts        float64        // of the battery with nothing drawn, at that supply
	Stall        signal.Current // what the motor draws in the end when it is held
	ShortCircuit signal.Current // what battery and leads drive through a short circuit at the motor; 0 where they have no resistance
	CurrentDecay time.Duration  // electrical time constant with the motor held, L/R
}

// A Course is one way from stop to stop, from standstill.
type Course struct {
	Time  time.Duration // from the motor's start until the gate meets the stop
	RunUp time.Duration // until the acceleration has fallen to a fiftieth of its greatest; Time where it does not
	// Coast is from switching the motor off, nine tenths of the way on, to standstill,
	// and Overshoot the way gone meanwhile, in travels, both as if there were no stop.
	Coast     time.Duration
	Overshoot float64
	Overruns  bool           // the load keeps the gate going without the motor: Overshoot is 1, a whole travel
	Speed     float64        // fastest, in travels per second
	Rim       float64        // fastest, of the output: radians per second, or metres per second where there is a Radius
	Inrush    signal.Current // most in the run-up
	Running   signal.Current // mean after the run-up; less than nothing where the load drives the motor
	Peak      signal.Current // most after the run-up
}

// Figures works the figures out at a temperature in °C and a share of the
// battery's voltage. It reports what cannot be in a machine, and a gate that does
// not get from stop to stop; the figures of the other direction then still hold.
func (m *Machine) Figures(celsius, supply float64) (Figures, error) {
	at := *m
	at.Celsius = celsius
	d, err := at.Compile()
	if err != nil {
		return Figures{}, err
	}
	return d.Figures(supply)
}

// Figures are those at the drive's own temperature.
func (d *Drive) Figures(supply float64) (Figures, error) {
	if !(supply > 0 && supply <= 10) {
		return Figures{}, fmt.Errorf("figures of the gate: a supply of %v of the battery's voltage must be above 0, and at most 10", supply)
	}
	volts := float64(d.volts * supply)
	f := Figures{Celsius: d.machine.Celsius, Supply: supply, Volts: volts,
		Stall:        current(volts / d.ohms),
		CurrentDecay: time.Duration(d.machine.Motor.Inductance / d.ohms * 1e9)}
	_, inside := d.machine.Battery.At(d.machine.Celsius)
	if leads := inside + d.machine.Cable; leads > 0 {
		f.ShortCircuit = current(min(volts/leads, mostFigure))
	}
	var opens, closes error
	f.Opening, opens = d.course(1, supply)
	f.Closing, closes = d.course(-1, supply)
	return f, errors.Join(opens, closes)
}

func current(amperes float64) signal.Current {
	return signal.Current(math.Round(float64(amperes * 1e6)))
}

// course lets the gate go from stop to stop.
func (d *Drive) course(dir, supply float64) (Course, error) {
	p := &mover{d: d, drives: dir, supply: supply, lo: wall{place: 0}, hi: wall{place: 1}}
	if dir < 0 {
		p.s[2] = 1
	}
	p.plan()
	last := p.nodes[len(p.nodes)-1]
	if p.ended(last, dir) {
		return Course{}, fmt.Errorf("figures of the gate: at %v °C and %v of the battery's voltage the motor is too weak for %s: the gate stands at %.3f of its travel",
			d.machine.Celsius, supply, map[float64]string{1: "opening", -1: "closing"}[dir], last.s[2])
	}
	c := Course{Time: last.at}
	c.RunUp = min(p.ranUp(dir), c.Time)
	c.Inrush = current(p.most(0, 0, c.RunUp, dir))
	c.Peak = current(p.most(0, c.RunUp, c.Time, dir))
	c.Running = current(dir * p.mean(c.RunUp, c.Time))
	c.Speed = p.most(1, 0, c.Time, dir) / d.span
	c.Rim = float64(c.Speed * d.machine.Travel)
	p.coast(&c, dir)
	return c, nil
}

func (p *mover) ended(n node, dir float64) bool {
	return dir > 0 && n.s[2] < 1 || dir < 0 && n.s[2] > 0
}

// looks is how many times a stretch between two nodes is looked at: they are
// short where much happens.
const looks = 16

// ranUp is when the acceleration has fallen to a fiftieth of its greatest.
func (p *mover) ranUp(dir float64) time.Duration {
	greatest := 0.0
	for i := range p.nodes[:len(p.nodes)-1] {
		n, t := &p.nodes[i], p.d.table(&p.nodes[i])
		step := (p.nodes[i+1].at - n.at) / looks
		s := n.s
		for k := range looks {
			if n.regime == still {
				break
			}
			a := float64(t.Rate(s, n.u)[1] * dir)
			greatest = max(greatest, a)
			next := t.Over(step, s, n.u)
			slow := func(s linear.State) bool { return float64(t.Rate(s, n.u)[1]*dir*50) > greatest }
			if !slow(next) && step > 0 {
				d, _ := t.First(step, s, n.u, slow)
				return n.at + step*time.Duration(k) + d
			}
			s = next
		}
	}
	return p.nodes[len(p.nodes)-1].at
}

// most is the most that one variable comes to along dir between two times.
func (p *mover) most(which int, from, to time.Duration, dir float64) float64 {
	most := math.Inf(-1)
	for i := range p.nodes[:len(p.nodes)-1] {
		n, t := &p.nodes[i], p.d.table(&p.nodes[i])
		begin, end := max(n.at, from), min(p.nodes[i+1].at, to)
		if end <= begin {
			continue
		}
		step := max((end-begin)/looks, 1)
		s := t.Over(begin-n.at, n.s, n.u)
		rises := func(s linear.State) bool { return float64(t.Rate(s, n.u)[which]*dir) > 0 }
		most = max(most, float64(s[which]*dir))
		for at := begin + step; at <= end; at += step {
			next := t.Over(step, s, n.u)
			if rises(s) && !rises(next) {
				_, top := t.First(step, s, n.u, rises)
				most = max(most, float64(top[which]*dir))
			}
			s = next
			most = max(most, float64(s[which]*dir))
		}
	}
	return most
}

// mean is the mean current between two times of one way: what of the voltage is
// not used up by the change of current and by the motor's own voltage is used up
// in the resistance.
func (p *mover) mean(from, to time.Duration) float64 {
	if to <= from {
		return p.before(to)[0]
	}
	a, b := p.state(from), p.before(to)
	seconds := (to - from).Seconds()
	used := float64(p.d.machine.Motor.Inductance*(b[0]-a[0])) + float64(p.d.machine.Motor.Constant*p.d.span*(b[2]-a[2]))
	return (float64(p.voltage()*seconds) - used) / (p.d.ohms * seconds)
}

// before is the state a moment before whatever happens at a time.
func (p *mover) before(t time.Duration) linear.State { return p.state(max(t-1, 0)) }

// coast fills in what happens when the motor is switched off.
func (p *mover) coast(c *Course, dir float64) {
	place := 0.5 + float64(0.4*dir)
	q := mover{d: p.d, supply: p.supply, lo: wall{place: place - 1}, hi: wall{place: place + 1}}
	for i := range p.nodes[:len(p.nodes)-1] {
		if float64((p.nodes[i+1].s[2]-place)*dir) >= 0 {
			q.s = p.state(p.passes(i, place, dir))
			break
		}
	}
	start := q.s
	q.plan()
	for _, n := range q.nodes {
		c.Coast, c.Overshoot = n.at, float64((n.s[2]-start[2])*dir)
		if float64(n.s[1]*dir) <= float64(start[1]*dir*1e-6) {
			break
		}
	}
	c.Overruns = c.Overshoot >= 1-1e-6
}
