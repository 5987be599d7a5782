package meter

import (
	"errors"
	"fmt"
	"time"

	"pintle/rig"
	"pintle/rig/signal"
)

// A Config says which meter is on which port, and what is known of it. Fields
// left zero take the protocol's usual value where there is one.
type Config struct {
	Name     string // for messages and records; empty: protocol and port
	Port     string // such as /dev/serial/by-id/...
	Protocol string // one of Protocols

	Baud     int    // zero: what is usual with the protocol
	Parity   string // none, even or odd; empty: what is usual with the protocol
	DataBits int    // 7 or 8; zero: 8
	StopBits int    // 1 or 2; zero: 1

	Invert   bool          // the meter is wired so that opening reads negative
	Interval time.Duration // from one reading to the next
	Window   time.Duration // over which the meter averages one reading; zero: the interval

	// Least and Most are the shortest and longest time from the end of the window
	// to the program having read the last byte: the meter's own delay, the bytes
	// on the wire, the latency timer of a USB bridge (16 ms where nothing was done
	// about it, 1 ms in low-latency mode), the computer. A meter that is asked may
	// also answer with a reading as old as its own interval.
	Least, Most time.Duration

	Resolution signal.Current // one step of the reading
	Noise      signal.Current // standard deviation of a reading
	Range      signal.Current // largest magnitude that can be read
	Silence    time.Duration  // longest time without a reading, or to wait for an answer; zero: three intervals, the longest latency and 100 ms
	Stuck      int            // so many equal readings in a row are a trouble, unless they are zero; 0: never

	Text   TextOptions
	SCPI   SCPIOptions
	Modbus ModbusOptions
}

// Filled gives the configuration with the usual values put in.
func (c Config) Filled() Config {
	if c.DataBits == 0 {
		c.DataBits = 8
	}
	if c.StopBits == 0 {
		c.StopBits = 1
	}
	if c.Window == 0 {
		c.Window = c.Interval
	}
	if c.Silence == 0 {
		c.Silence = 3*c.Interval + c.Most + 100*time.Millisecond
	}
	if c.Name == "" {
		c.Name = c.Protocol + " meter on " + c.Port
	}
	p, ok := findProtocol(c.Protocol)
	if !ok {
		return c
	}
	if c.Baud == 0 {
		c.Baud = p.baud
	}
	if c.Parity == "" {
		c.Parity = p.parity
	}
	p.fill(&c)
	return c
}

// Check reports every mistake in the configuration, each as an error of its own
// joined to the others.
func (c Config) Check() error {
	c = c.Filled()
	var errs []error
	bad := func(wrong bool, format string, args ...any) {
		if wrong {
			errs = append(errs, fmt.Errorf(format, args...))
		}
	}
	bad(c.Port == "", "port is not given")
	bad(c.Baud < 0 || c.Baud > 10_000_000, "speed %d baud is outside 1 to 10000000", c.Baud)
	_, known := parities[c.Parity]
	bad(c.Parity != "" && !known, "parity %q%s", c.Parity, nearest(c.Parity, []string{"none", "even", "odd"}))
	bad(c.DataBits != 7 && c.DataBits != 8, "%d data bits are neither 7 nor 8", c.DataBits)
	bad(c.StopBits != 1 && c.StopBits != 2, "%d stop bits are neither 1 nor 2", c.StopBits)
	bad(c.Interval <= 0, "interval %v is not above zero", c.Interval)
	bad(c.Window < 0, "window %v is negative", c.Window)
	bad(c.Least < 0, "least latency %v is negative", c.Least)
	bad(c.Most < c.Least, "most latency %v is shorter than the least, %v", c.Most, c.Least)
	bad(c.Resolution <= 0, "resolution %v is not above zero", c.Resolution)
	bad(c.Noise < 0, "noise %v is negative", c.Noise)
	bad(c.Range <= 0, "range %v is not above zero", c.Range)
	bad(c.Silence < c.Interval, "silence %v is shorter than the interval, %v", c.Silence, c.Interval)
	bad(c.Stuck < 0 || c.Stuck == 1, "stuck after %d equal readings: takes two or more, or 0 for never", c.Stuck)
	bad(c.Stuck > 1 && c.Noise < c.Resolution, "stuck after %d equal readings needs a noise of at least the resolution, %v: a steadier meter repeats itself", c.Stuck, c.Resolution)
	return errors.Join(append(errs, c.checkProtocol()...)...)
}

func (c *Config) checkProtocol() []error {
	p, ok := findProtocol(c.Protocol)
	if !ok {
		var names []string
		for _, p := range protocols {
			names = append(names, p.name)
		}
		return []error{fmt.Errorf("protocol %q%s", c.Protocol, nearest(c.Protocol, names))}
	}
	return append(p.check(c), c.checkWire(p)...)
}

// checkWire compares what was said of the meter's times with the time that its
// bytes take.
func (c *Config) checkWire(p *protocol) (errs []error) {
	if c.Baud <= 0 || c.Interval <= 0 {
		return nil
	}
	question, answer := p.size(c)
	if wire := c.onWire(answer); c.Most < wire {
		errs = append(errs, fmt.Errorf("most latency %v is shorter than the %v that a reading of %d bytes takes at %d baud; where the speed means nothing, as on a meter with USB of its own, set a higher one", c.Most, wire, answer, c.Baud))
	}
	exchange := c.onWire(question + answer)
	if p.gap != nil {
		exchange += 2 * p.gap(c.Baud)
	}
	if exchange > c.Interval {
		errs = append(errs, fmt.Errorf("interval %v is shorter than the %v that question and answer take at %d baud", c.Interval, exchange, c.Baud))
	}
	return errs
}

// onWire is how long so many bytes take: a start bit, the data, parity and stop
// bits each.
func (c *Config) onWire(bytes int) time.Duration {
	bits := 1 + c.DataBits + c.StopBits
	if c.Parity != "none" {
		bits++
	}
	return time.Duration(bytes*bits) * time.Second / time.Duration(c.Baud)
}

// Facts are what a bench says of the meter.
func (c Config) Facts() rig.MeterFacts {
	c = c.Filled()
	return rig.MeterFacts{
		Name: c.Name, Interval: c.Interval, Window: c.Window, Least: c.Least, Most: c.Most,
		Resolution: c.Resolution, Noise: c.Noise, Range: c.Range,
	}
}
