package speak

import (
	"errors"
	"fmt"

	"pintle/drivers/meter"
	"pintle/rig/signal"
)

// Open plays a meter of the configuration on a serial port, whose name takes the
// place of the configuration's. What is said goes out as a line where the meter
// sends by itself, and is the answer from then on where it waits to be asked. A
// port that nobody empties blocks whoever says something.
func Open(port string, c meter.Config) (say func(signal.Sample) error, hush func() error, err error) {
	c.Port = port
	p, err := meter.OpenPort(c)
	if err != nil {
		return nil, nil, fmt.Errorf("speak on %s: %w", port, err)
	}
	s, err := New(c, p)
	if err != nil {
		return nil, nil, errors.Join(err, p.Close())
	}
	served := make(chan error, 1)
	go func() { served <- s.Serve() }()
	say = func(m signal.Sample) error { return s.Say(m.To, m.Current) }
	hush = func() error {
		err := p.Close()
		if err == nil {
			<-served // it ends in an error that says that the port is closed
		}
		return err
	}
	return say, hush, nil
}
