package meter

import (
	"errors"
	"io"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig/signal"
)

// pipe is a port without a descriptor, so that time stands still around it: what
// the far end sends arrives, what is written here is heard there.
type pipe struct {
	toNear, toFar chan []byte
	closed        chan struct{}
	timeout       time.Duration
	rest, farRest []byte
	spoil         atomic.Pointer[func(reply []byte) []byte] // bends what the meter answers
}

func newPipe() *pipe {
	return &pipe{toNear: make(chan []byte, 1000), toFar: make(chan []byte, 1000), closed: make(chan struct{})}
}

func (p *pipe) SetReadTimeout(d time.Duration) error { p.timeout = d; return nil }

func (p *pipe) Read(b []byte) (int, error) {
	if len(p.rest) == 0 {
		select {
		case more, ok := <-p.toNear:
			if !ok {
				return 0, errors.New("input/output error")
			}
			p.rest = more
		case <-p.closed:
			return 0, errors.New("port has been closed")
		case <-time.After(p.timeout):
			return 0, nil
		}
	}
	n := copy(b, p.rest)
	p.rest = p.rest[n:]
	return n, nil
}

func (p *pipe) Write(b []byte) (int, error) {
	select {
	case <-p.closed:
		return 0, errors.New("port has been closed")
	default:
	}
	p.toFar <- append([]byte(nil), b...)
	return len(b), nil
}

func (p *pipe) Close() error {
	select {
	case <-p.closed:
	default:
		close(p.closed)
	}
	return nil
}

// far is the meter's end of a pipe.
type far struct{ *pipe }

func (f far) Read(b []byte) (int, error) {
	if len(f.farRest) == 0 {
		select {
		case more := <-f.toFar:
			f.farRest = more
		case <-f.closed:
			return 0, io.EOF
		}
	}
	n := copy(b, f.farRest)
	f.farRest = f.farRest[n:]
	return n, nil
}

func (f far) Write(b []byte) (int, error) {
	f.toNear <- append([]byte(nil), b...)
	return len(b), nil
}

// send lets the far end say something.
func (p *pipe) send(s string) { p.toNear <- []byte(s) }

const ms = time.Millisecond

// config is a sound configuration of a protocol.
func config(protocol string) Config {
	c := Config{
		Port: "/dev/ttyBench", Protocol: protocol,
		Interval: 10 * ms, Window: 8 * ms, Least: 0, Most: 5 * ms,
		Resolution: 1000, Noise: 1000, Range: 30 * signal.Ampere,
	}
	switch protocol {
	case "scpi":
		c.Interval, c.Baud = 50*ms, 115200
	case "modbus":
		c.Interval, c.Most = 50*ms, 20*ms
		c.Modbus.Unit = 1
	}
	return c
}

// bubble runs a test in simulated time on an open meter.
func bubble(t *testing.T, c Config, test func(m *Meter, p *pipe)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		p := newPipe()
		var m *Meter
		var answering sync.WaitGroup
		opened := make(chan error)
		begin := time.Now()
		go func() {
			var err error
			m, err = On(c, p, func() signal.Instant { return signal.Instant(time.Since(begin)) })
			opened <- err
		}()
		if f, _ := findProtocol(c.Protocol); f.polled {
			answering.Go(func() { answer(t, c, p) })
		}
		require.NoError(t, <-opened)
		test(m, p)
		require.NoError(t, m.Close())
		answering.Wait()
	})
}

// answer plays the meter, from the table's own voice, with the current that it
// reads rising from one question to the next.
func answer(t *testing.T, c Config, p *pipe) {
	v, err := VoiceOf(c)
	require.NoError(t, err)
	var heard []byte
	buf := make([]byte, 100)
	f := far{p}
	for i := 0; ; i++ {
		n, err := f.Read(buf)
		if err != nil {
			return
		}
		heard = append(heard, buf[:n]...)
		reply, used := v.Answer(nil, heard, signal.Current(1_000_000+i*1000))
		heard = heard[used:]
		if spoil := p.spoil.Load(); spoil != nil {
			reply = (*spoil)(reply)
		}
		if len(reply) > 0 {
			f.Write(reply)
		}
	}
}
