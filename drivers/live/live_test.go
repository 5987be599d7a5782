package live_test

import (
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/drivers/benchtest"
	"pintle/drivers/live"
	"pintle/drivers/meter"
	"pintle/drivers/meter/speak"
	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/signal"
)

// config is a meter that sends a hundred plain text readings a second.
func config(protocol string) meter.Config {
	c := meter.Config{
		Protocol: protocol, Baud: 115200, Interval: 10 * time.Millisecond, Window: 10 * time.Millisecond,
		Most: 60 * time.Millisecond, Resolution: 10_000, Range: 60 * signal.Ampere, Silence: 2 * time.Second,
	}
	c.SCPI.Query = "MEAS:CURR?"
	c.Modbus = meter.ModbusOptions{Unit: 1, Type: "int32"}
	return c
}

// open makes a live bench over the virtual one: its simulated meter speaks into a
// real pseudo-terminal, and a real meter driver hears it at the other end.
func open(t *testing.T, protocol string) (rig.Bench, rig.Facts) {
	t.Helper()
	v := virtual.DefaultConfig()
	v.Meter.Interval, v.Meter.Window = 10*time.Millisecond, 10*time.Millisecond
	inner, err := virtual.New(v, 1)
	require.NoError(t, err)

	wire, tty, err := pty.Open()
	require.NoError(t, err)
	t.Cleanup(func() { wire.Close(); tty.Close() })
	c := config(protocol)
	c.Port = tty.Name()
	clock := live.NewClock()
	speaker, err := speak.New(c, wire)
	require.NoError(t, err)
	go speaker.Serve()
	m, err := meter.Open(c, clock)
	require.NoError(t, err)
	b, facts, err := live.New(live.Config{Lines: inner, Facts: inner.Facts(), Meter: m, Clock: clock,
		Speak: func(s signal.Sample) error { return speaker.Say(s.To, s.Current) }})
	require.NoError(t, err)
	return b, facts
}

func TestContract(t *testing.T) {
	benchtest.Contract(t, func(t *testing.T) (rig.Bench, rig.Facts) { return open(t, "text") })
}

// TestTheMotorIsHeardRunning puts the supply on and presses the button in real
// time, with each protocol: the motor's current comes back as real bytes.
func TestTheMotorIsHeardRunning(t *testing.T) {
	for _, protocol := range []string{"text", "scpi", "modbus"} {
		t.Run(protocol, func(t *testing.T) {
			t.Parallel()
			b, facts := open(t, protocol)
			defer func() { require.NoError(t, b.Close()) }()
			assert.False(t, facts.Virtual)
			now := b.Now()
			require.NoError(t, b.Plan(signal.Supply, []signal.Edge{{At: now.Add(10 * time.Millisecond), Level: signal.Made}}))
			require.NoError(t, b.Plan(signal.Remote, []signal.Edge{
				{At: now.Add(1200 * time.Millisecond), Level: signal.Made}, {At: now.Add(1400 * time.Millisecond), Level: signal.Broken}}))
			var most signal.Current
			end := now.Add(2 * time.Second)
			for b.Now() < end {
				o, err := b.Next(min(end, b.Now().Add(100*time.Millisecond)))
				require.NoError(t, err)
				require.NotEqual(t, rig.Trouble, o.Kind, "%v", o.Trouble)
				if o.Kind == rig.Sampled {
					most = max(most, o.Sample.Current.Abs())
				}
			}
			assert.Greater(t, most, 5*signal.Ampere)
		})
	}
}

func TestAMeterThatIsGoneIsATrouble(t *testing.T) {
	inner, err := virtual.New(virtual.DefaultConfig(), 1)
	require.NoError(t, err)
	readings := make(chan meter.Reading)
	close(readings)
	b, _, err := live.New(live.Config{Lines: inner, Facts: inner.Facts(), Meter: source(readings), Clock: live.NewClock()})
	require.NoError(t, err)
	defer b.Close()
	o, err := b.Next(b.Now().Add(time.Second))
	require.NoError(t, err)
	require.Equal(t, rig.Trouble, o.Kind)
	assert.Equal(t, meter.HungUp, o.Trouble.Code)
}

type source chan meter.Reading

func (s source) Readings() <-chan meter.Reading { return s }
func (s source) Facts() rig.MeterFacts          { return rig.MeterFacts{Interval: time.Millisecond} }
func (s source) Close() error                   { return nil }
