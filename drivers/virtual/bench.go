package virtual

import (
	"errors"

	"pintle/rig"
	"pintle/rig/signal"
)

var _ rig.Bench = (*Bench)(nil)

// A Bench is a virtual bench. Its time goes on only within Next.
type Bench struct {
	c          Config
	facts      rig.Facts
	controller Controller
	motor      motor
	meter      meter

	now    signal.Instant
	closed bool
	lines  [signal.LineCount]wire
	// The earliest edge that is still to come, of all lines.
	edgeAt   signal.Instant
	edgeLine signal.Line

	share float64 // of its usual voltage that the battery has, on this day

	sensed      [2]rig.Observation // what the drive lines did at now and nobody has asked for yet
	sensedCount int
}

// New makes a bench with the built-in model of a controller.
func New(c Config, seed uint64) (*Bench, error) {
	if err := c.Check(); err != nil {
		return nil, err
	}
	return NewWith(c, seed, newPorter(c.Controller, c.Battery))
}

// NewWith makes a bench for another controller. Of the Config, Controller is
// checked but not used.
func NewWith(c Config, seed uint64, controller Controller) (*Bench, error) {
	if err := c.Check(); err != nil {
		return nil, err
	}
	b := &Bench{c: c, controller: controller, meter: newMeter(c.Meter)}
	b.motor = newMotor(c.Motor, c.Battery, b.meter.stretches())
	if c.Lines.Has(signal.MotorShort) {
		b.motor.shunt(c.Battery, b.meter.stretches())
	}
	b.facts = rig.Facts{
		Name: c.Name, Virtual: true, Simulated: true, Lines: c.Lines,
		Late:  1, // an edge may have to make way for the one before it
		Meter: b.meter.facts,
	}
	b.Reset(seed)
	return b, nil
}

// Reset makes the bench as new, from another seed, in the memory that it has.
func (b *Bench) Reset(seed uint64) {
	b.now, b.closed, b.sensedCount, b.share = 0, false, 0, 1
	for l := range b.lines {
		b.lines[l].reset()
	}
	b.findEdge()
	b.motor.reset()
	b.motor.warm(0)
	b.meter.reset(mix(seed ^ 0x6d65746572))
	b.controller.Reset(mix(seed^0x626f617264), &b.motor)
}

// Vary gives the bench a day other than the ordinary one. It comes right after Reset.
func (b *Bench) Vary(d rig.Day) {
	if !d.Varied {
		return
	}
	volts := b.c.Battery.OpenCircuit
	b.share = max(0, d.Battery*(volts+float64(b.c.Battery.VoltsPerCelsius*d.Kelvin))/volts)
	b.motor.warm(d.Kelvin)
	b.motor.heavier, b.motor.burden = d.Load, d.Load
	b.meter.at = signal.Instant(d.Meter * float64(b.c.Meter.Interval))
	if c, ok := b.controller.(interface{ wakeAt(phase float64) }); ok {
		c.wakeAt(d.Loop)
	}
}

// Facts say what the bench is.
func (b *Bench) Facts() rig.Facts { return b.facts }

// Now is the present instant.
func (b *Bench) Now() signal.Instant { return b.now }

var errClosed = errors.New("virtual bench: the bench is closed")

// Close makes the bench safe. It needs Reset before it can be used again.
func (b *Bench) Close() error {
	if b.closed {
		return nil
	}
	err := b.Safe()
	b.closed = true
	return err
}

// Next goes on to the next thing that is seen. Of what happens at one instant,
// edges come first, then what the controller does about them, then the meter. A
// sample is put together where it is returned: there are a thousand in a second,
// and copying them took a tenth of a trial's time.
func (b *Bench) Next(until signal.Instant) (o rig.Observation, err error) {
	if b.closed {
		return o, errClosed
	}
	if b.sensedCount > 0 && b.now <= until {
		return b.takeSensed(), nil
	}
	for until >= b.now {
		at := min(until, b.meter.at, b.meter.next, b.edgeAt)
		edge := b.edgeAt == at
		if changed := b.run(at, edge); changed {
			if b.sensedCount > 0 {
				return b.takeSensed(), nil
			}
			continue
		}
		b.now = at
		switch at {
		case b.edgeAt:
			return b.emit(), nil
		case b.meter.at:
			b.motor.advance(at)
			b.meter.boundary(&b.motor)
		case b.meter.next:
			o.Kind, o.Span = rig.Sampled, signal.At(at)
			o.Sample = b.meter.deliver()
			return o, nil
		default:
			return rig.Observation{Kind: rig.Reached, Span: signal.At(at)}, nil
		}
	}
	return rig.Observation{Kind: rig.Reached, Span: signal.At(until)}, nil
}

// run lets the controller go on to an instant, or to just before it if an edge is
// to come first.
func (b *Bench) run(to signal.Instant, before bool) (changed bool) {
	if before {
		to--
	}
	at, changed := b.controller.Run(to)
	if changed {
		b.now = max(b.now, at)
		b.bridge()
	}
	return changed
}

// bridge puts the motor under what the controller's outputs and the supply make
// of it now.
func (b *Bench) bridge() {
	opens := b.sense(signal.DriveOpen)
	closes := b.sense(signal.DriveClose)
	supply := b.supply()
	switch {
	case b.made(signal.LeadCut):
		b.motor.sever(b.now)
	// Both at once would be a dead short through the bridge, which is taken to
	// lock itself against that.
	case !b.made(signal.Supply) || opens == closes:
		b.motor.release(b.now, supply)
	case opens:
		b.motor.drive(b.now, supply)
	default:
		b.motor.drive(b.now, -supply)
	}
}

// supply is the battery's voltage with nothing drawn.
func (b *Bench) supply() float64 {
	volts := float64(b.c.Battery.OpenCircuit * b.share)
	if b.made(signal.SupplySag) {
		volts = b.c.Battery.Sagging
	}
	if b.made(signal.SupplyDip) {
		volts = min(volts, b.c.Battery.Dipped)
	}
	return volts
}

func (b *Bench) made(line signal.Line) bool { return b.lines[line].level == signal.Made }

// sense reads one of the controller's outputs. Where it is wired to the bench, a
// change is seen.
func (b *Bench) sense(line signal.Line) bool {
	level := signal.Broken
	if b.controller.Output(line) == High {
		level = signal.Made
	}
	if w := &b.lines[line]; w.level != level {
		w.level = level
		if b.c.Lines.Has(line) {
			b.sensed[b.sensedCount] = rig.Observation{Kind: rig.Sensed, Line: line, Level: level, Span: signal.At(b.now)}
			b.sensedCount++
		}
	}
	return level == signal.Made
}

func (b *Bench) takeSensed() rig.Observation {
	o := b.sensed[0]
	b.sensed[0] = b.sensed[1]
	b.sensedCount--
	return o
}
