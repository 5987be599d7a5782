package meter_test

import (
	"io"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/drivers/meter"
	"pintle/drivers/meter/metertest"
	"pintle/drivers/meter/speak"
	"pintle/rig/signal"
)

// These tests are in real time, over pseudo terminals. They wait for what comes
// and not for time to pass, and assert no figure that a busy computer may miss.

func clock() func() signal.Instant {
	begin := time.Now()
	return func() signal.Instant { return signal.Instant(time.Since(begin)) }
}

func realConfig(protocol, port string) meter.Config {
	c := meter.Config{
		Port: port, Protocol: protocol, Interval: 20 * time.Millisecond, Most: 10 * time.Second,
		Resolution: 1000, Range: 30 * signal.Ampere, Silence: 10 * time.Second,
	}
	c.Modbus.Unit = 1
	return c
}

func openReal(t *testing.T, c meter.Config) *meter.Meter {
	t.Helper()
	m, err := meter.Open(c, clock())
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, m.Close()) })
	return m
}

func nextReading(t *testing.T, m *meter.Meter) meter.Reading {
	t.Helper()
	select {
	case r, ok := <-m.Readings():
		require.True(t, ok, "the meter has ended")
		return r
	case <-time.After(30 * time.Second):
		t.Fatal("nothing comes from the meter")
		return meter.Reading{}
	}
}

func nextSample(t *testing.T, m *meter.Meter) signal.Sample {
	t.Helper()
	r := nextReading(t, m)
	require.Nil(t, r.Trouble, "%v", r.Trouble)
	return r.Sample
}

func nextTrouble(t *testing.T, m *meter.Meter) string {
	t.Helper()
	for {
		if r := nextReading(t, m); r.Trouble != nil {
			return r.Trouble.Code
		}
	}
}

func write(t *testing.T, w io.Writer, s string) {
	t.Helper()
	_, err := io.WriteString(w, s)
	require.NoError(t, err)
}

func TestTextOverPty(t *testing.T) {
	far, name := metertest.Port(t)
	now := clock()
	m, err := meter.Open(realConfig("text", name), now)
	require.NoError(t, err)
	defer m.Close()
	write(t, far, "half a line 99 A\r\n")
	for _, c := range []struct {
		line string
		want signal.Current
	}{{"7.251 A\r\n", 7_251_000}, {"-80 mA\n", -80_000}, {"12 µA\r", 12}} {
		before := now()
		write(t, far, c.line[:2])
		write(t, far, c.line[2:])
		s := nextSample(t, m)
		assert.Equal(t, c.want, s.Current)
		assert.GreaterOrEqual(t, s.To, before, "it cannot have arrived before it was sent")
		assert.LessOrEqual(t, s.To, now())
		assert.Equal(t, 10*time.Second+20*time.Millisecond, s.To.Sub(s.From))
	}
	write(t, far, "\x00\xff garbage\n")
	require.Equal(t, meter.Garbage, nextTrouble(t, m))
	require.NoError(t, far.Close())
	require.Equal(t, meter.HungUp, nextTrouble(t, m), "the plug has been pulled")
	_, open := <-m.Readings()
	require.False(t, open)
}

func TestPolledOverPty(t *testing.T) {
	for _, protocol := range []string{"scpi", "modbus"} {
		t.Run(protocol, func(t *testing.T) {
			far, name := metertest.Port(t)
			c := realConfig(protocol, name)
			c.Invert = true
			s, err := speak.New(c, far)
			require.NoError(t, err)
			require.NoError(t, s.Say(0, -7_251_000))
			served := make(chan error, 1)
			go func() { served <- s.Serve() }()
			m := openReal(t, c)
			last := signal.Sample{}
			for range 10 {
				got := nextSample(t, m)
				require.Equal(t, signal.Current(-7_251_000), got.Current, "inverted there and back")
				require.GreaterOrEqual(t, got.To, last.To)
				last = got
			}
			require.NoError(t, s.Say(0, 1_000_000))
			require.Eventually(t, func() bool { return nextSample(t, m).Current == 1_000_000 }, 30*time.Second, time.Nanosecond)
			require.NoError(t, far.Close())
			require.Equal(t, meter.HungUp, nextTrouble(t, m))
			require.Error(t, <-served, "the speaker's line is gone too")
		})
	}
}

// Whatever is said at one end of a wire is read at the other.
func TestWireCarriesSamples(t *testing.T) {
	wire := metertest.NewWire(t)
	c := realConfig("text", wire.A)
	c.Text.Stamp = true
	port, err := meter.OpenPort(realConfig("text", wire.B))
	require.NoError(t, err)
	defer port.Close()
	s, err := speak.New(c, port)
	require.NoError(t, err)
	m := openReal(t, c)
	write(t, port, "\n")
	for i := range signal.Current(50) {
		at := signal.Instant(i) * signal.Instant(c.Interval)
		require.NoError(t, s.Say(at, i*i*1000-1_000_000))
		require.Equal(t, i*i*1000-1_000_000, nextSample(t, m).Current)
	}
	wire.Cut()
	require.Equal(t, meter.HungUp, nextTrouble(t, m))
}

// Closing while the port waits for bytes ends at once; and no write after it
// reaches a file that has taken over the port's number.
func TestCloseIsClose(t *testing.T) {
	_, name := metertest.Port(t)
	port, err := meter.OpenPort(realConfig("text", name))
	require.NoError(t, err)
	read := make(chan error, 1)
	go func() { _, err := port.Read(make([]byte, 1)); read <- err }()
	require.NoError(t, port.Close())
	require.Error(t, <-read)
	file, err := os.CreateTemp(t.TempDir(), "victim")
	require.NoError(t, err)
	defer file.Close()
	_, err = port.Write([]byte("spoilt"))
	require.Error(t, err)
	info, err := file.Stat()
	require.NoError(t, err)
	require.Zero(t, info.Size())
	require.NoError(t, port.Close())
}

// A write that is blocked does not block Close, which says so; the port is let go
// of when the write ends.
func TestCloseWithABlockedWrite(t *testing.T) {
	far, name := metertest.Port(t)
	port, err := meter.OpenPort(realConfig("text", name))
	require.NoError(t, err)
	wrote := make(chan error, 1)
	go func() {
		_, err := port.Write(make([]byte, 1<<20)) // far more than a terminal keeps
		wrote <- err
	}()
	// Once something has come through, the write is under way, and nobody takes the rest.
	_, err = far.Read(make([]byte, 1))
	require.NoError(t, err)
	require.ErrorContains(t, port.Close(), "blocked")
	go io.Copy(io.Discard, far)
	<-wrote
	_, err = port.Write([]byte("x"))
	require.Error(t, err)
}
