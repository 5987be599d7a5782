package meter

import (
	"errors"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"

	"pintle/rig"
	"pintle/rig/signal"
)

// A Reading is one thing that came from the meter: a sample, or a trouble in its
// place.
type Reading struct {
	At      signal.Instant // when it had arrived
	Sample  signal.Sample
	Trouble *rig.BenchTrouble // nil with a sample
	Began   signal.Instant    // of a trouble: as early as this may be what it tells of
}

// A Meter is an open meter. One goroutine reads its port and stamps what comes.
type Meter struct {
	c        Config
	identity string
	port     Port
	readings chan Reading
	begin    func()        // called first of all in the goroutine that reads; may be nil
	take     func(Reading) // takes readings in place of the channel; may be nil
	closing  atomic.Bool
	quit     chan struct{}
	done     chan struct{}
	once     sync.Once
	closeErr error
}

// ahead is how many readings the meter keeps for a reader that is busy.
const ahead = 4096

// Open opens the port and makes the meter known: a meter that waits to be asked
// must answer. The clock gives the present instant of the bench; it is called in
// the meter's own goroutine.
func Open(c Config, clock func() signal.Instant) (*Meter, error) {
	return OpenTo(c, clock, nil, nil)
}

// OpenTo is Open for those who want each reading as it comes, in the goroutine that
// reads the port: take is called with it there and must not wait. Readings gives
// nothing then. What begin does to the goroutine's thread is done before all else.
func OpenTo(c Config, clock func() signal.Instant, begin func(), take func(Reading)) (*Meter, error) {
	c = c.Filled()
	if err := c.Check(); err != nil {
		return nil, fmt.Errorf("meter %s: %w", c.Port, err)
	}
	port, err := OpenPort(c)
	if err != nil {
		return nil, fmt.Errorf("meter %s: %w", c.Port, err)
	}
	return on(c, port, clock, begin, take)
}

// On is Open on a port that is open already. The meter closes it.
func On(c Config, port Port, clock func() signal.Instant) (*Meter, error) {
	return on(c, port, clock, nil, nil)
}

func on(c Config, port Port, clock func() signal.Instant, begin func(), take func(Reading)) (*Meter, error) {
	c = c.Filled()
	if err := c.Check(); err != nil {
		return nil, errors.Join(fmt.Errorf("meter %s: %w", c.Port, err), port.Close())
	}
	p, _ := findProtocol(c.Protocol)
	l, r := &link{port: port, clock: clock}, p.reader(&c)
	l.arrival = clock()
	identity, err := r.greet(l)
	if err != nil {
		err = fmt.Errorf("meter %s, protocol %s at %d baud: %w", c.Port, c.Protocol, c.Baud, err)
		return nil, errors.Join(err, port.Close())
	}
	m := &Meter{
		c: c, identity: identity, port: port, begin: begin, take: take,
		readings: make(chan Reading, ahead), quit: make(chan struct{}), done: make(chan struct{}),
	}
	go m.run(l, r)
	return m, nil
}

// Readings gives what comes from the meter, in the order of time. It is closed
// when the meter is, and after the trouble that says that the port is gone.
func (m *Meter) Readings() <-chan Reading { return m.readings }

// Identity is what the meter says it is, as far as its protocol lets it.
func (m *Meter) Identity() string { return m.identity }

// Facts are what a bench says of the meter.
func (m *Meter) Facts() rig.MeterFacts {
	f := m.c.Facts()
	if p, _ := findProtocol(m.c.Protocol); p.says {
		f.Says = m.identity
	}
	return f
}

// Close lets go of the port. It may be called more than once.
func (m *Meter) Close() error {
	m.once.Do(func() {
		m.closing.Store(true)
		close(m.quit)
		if err := m.port.Close(); err != nil {
			m.closeErr = fmt.Errorf("meter %s: close: %w", m.c.Port, err)
			return // its goroutine may be blocked for good
		}
		<-m.done
	})
	return m.closeErr
}

// run reads until the port ends.
func (m *Meter) run(l *link, r reader) {
	defer close(m.done)
	defer close(m.readings)
	if m.begin != nil {
		m.begin()
	}
	s := sampler{c: &m.c}
	var backlog missed
	for {
		got, f, err := r.next(l)
		if m.closing.Load() {
			return
		}
		if err != nil {
			now := l.clock()
			m.last(Reading{At: now, Began: now, Trouble: s.complain(fault{HungUp, strings.TrimPrefix(err.Error(), errGone.Error()+": ")}, nil)})
			return
		}
		out, ok := s.take(got, f, l)
		if !ok {
			continue
		}
		backlog = m.deliver(out, backlog, &s)
	}
}

// A missed is what a reader who was too slow has not been given.
type missed struct {
	count  uint64
	latest signal.Instant // when the latest of them began
}

func (m missed) and(out *Reading) missed { return missed{m.count + 1, max(out.Sample.From, out.Began)} }

// deliver never waits: a reader who is too slow must not make the stamps late.
// What he misses is told as a trouble, once there is room.
func (m *Meter) deliver(out Reading, backlog missed, s *sampler) missed {
	if m.take != nil {
		m.take(out)
		return missed{}
	}
	if backlog.count > 0 {
		told := Reading{At: out.At, Began: backlog.latest,
			Trouble: s.complain(fault{Lost, fmt.Sprintf("the bench did not take %d readings in time", backlog.count)}, nil)}
		select {
		case m.readings <- told:
		default:
			return backlog.and(&out)
		}
	}
	select {
	case m.readings <- out:
	default:
		return missed{}.and(&out)
	}
	return missed{}
}

// last delivers what must not be lost.
func (m *Meter) last(out Reading) {
	if m.take != nil {
		m.take(out)
		return
	}
	select {
	case m.readings <- out:
	case <-m.quit:
	}
}
