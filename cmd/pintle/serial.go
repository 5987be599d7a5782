package main

import (
	"errors"
	"fmt"

	"pintle/drivers/live"
	"pintle/drivers/meter"
	"pintle/drivers/meter/speak"
	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/signal"
	"pintle/scenarios"
)

// serialOpener gives the way to open a bench that keeps real time, with a real
// meter at a serial port. There can be one of it.
func serialOpener(job *scenarios.Job, config virtual.Config) (openBench, int, error) {
	c := meterConfig(job)
	if err := c.Check(); err != nil {
		return nil, 0, usage(fmt.Errorf("bench.yaml describes a meter that cannot be: %w", err))
	}
	return func() (rig.Bench, rig.Facts, error) { return openSerial(job, c, config) }, 1, nil
}

// meterConfig gives the meter's driver what a job folder says.
func meterConfig(job *scenarios.Job) meter.Config {
	m := &job.Bench.Meter
	s := m.Serial
	c := meter.Config{Port: s.Port.Text, Protocol: s.Protocol.Text, Baud: s.Baud.Value, Invert: m.Invert.On,
		Interval: m.Interval.Value, Window: m.Window.Value, Least: m.Least.Value, Most: m.Latest(),
		Resolution: m.Resolution.Value, Noise: m.Noise.Value, Range: m.Range.Value,
		Silence: job.Bench.Guard.MeterSilence.Value}
	c.Text.Unit = s.Unit.Text
	c.SCPI.Query = s.Query.Text
	c.Modbus = meter.ModbusOptions{Unit: s.Address.Value, Function: s.Function.Value, Register: s.Register.Value,
		Type: s.Format.Text, LowFirst: s.WordOrder.Text == "low first", Step: s.Scale.Value}
	return c
}

// openSerial opens the meter, and the wire on which a simulated one speaks where
// the job asks for that.
func openSerial(job *scenarios.Job, c meter.Config, config virtual.Config) (rig.Bench, rig.Facts, error) {
	// The simulated meter takes the shortest time only: what is above it up to the
	// longest is left for the wire.
	config.Meter.Latency, config.Meter.Spread, config.Meter.Jitter = c.Least, 0, 0
	inner, err := virtual.New(config, 0)
	if err != nil {
		return nil, rig.Facts{}, err
	}
	facts := inner.Facts()
	var bench rig.Bench = inner
	var say func(signal.Sample) error
	if wire := job.Bench.Meter.Serial.Rehearsal.Text; wire != "" {
		r, err := rehearse(wire, c, inner)
		if err != nil {
			return nil, rig.Facts{}, err
		}
		bench, say = r, r.say
	}
	clock := live.NewClock()
	m, err := meter.Open(c, clock)
	if err != nil {
		return nil, rig.Facts{}, errors.Join(err, bench.Close())
	}
	opened, facts, err := live.New(live.Config{Lines: bench, Facts: facts, Meter: m, Clock: clock, Speak: say})
	if wire := job.Bench.Meter.Serial.Rehearsal.Text; wire != "" {
		facts.Meter.Name += ", spoken to by this program at " + wire + ": no current was measured"
	}
	return opened, facts, err
}

// A rehearsal is the simulated lines together with the wire on which their meter
// speaks.
type rehearsal struct {
	rig.Bench
	say  func(signal.Sample) error
	hush func() error
}

func rehearse(wire string, c meter.Config, inner rig.Bench) (*rehearsal, error) {
	say, hush, err := speak.Open(wire, c)
	if err != nil {
		return nil, fmt.Errorf("open the rehearsal wire: %w", err)
	}
	return &rehearsal{inner, say, hush}, nil
}

// Close lets go of the wire as well.
func (r *rehearsal) Close() error { return errors.Join(r.Bench.Close(), r.hush()) }
