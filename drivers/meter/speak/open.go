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
// port that nobody empties blocks whoever says something. To hush is to let go of
// the port; it may be done more than once.
func Open(port string, c meter.Config) (say func(signal.Sample) error, hush func() error, err error) {
	c.Port = port
	if err := c.Check(); err != nil {
		return nil, nil, fmt.Errorf("speak on %s: %w", port, err)
	}
	p, err := meter.OpenPort(c)
	if err != nil {
		return nil, nil, fmt.Errorf("speak on %s: %w", port, err)
	}
	s, err := New(c, p)
	if err != nil {
		return nil, nil, errors.Join(err, p.Close())
	}
	served := make(chan struct{})
	go func() {
		defer close(served)
		_ = s.Serve() // the port's end; whoever asks and gets no answer notices
	}()
	say = func(m signal.Sample) error { return s.Say(m.To, m.Current) }
	hush = func() error {
		if err := p.Close(); err != nil {
			return fmt.Errorf("speak on %s: close: %w", port, err) // its goroutine may be blocked for good
		}
		<-served
		return nil
	}
	return say, hush, nil
}
