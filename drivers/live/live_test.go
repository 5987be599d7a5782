package live_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/drivers/benchtest"
	"pintle/drivers/live"
	"pintle/drivers/meter"
	"pintle/drivers/meter/metertest"
	"pintle/drivers/meter/speak"
	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/signal"
)

// config is a meter that reads twenty times a second. Its latency leaves room for a
// computer that is busy with something else.
func config(protocol string) meter.Config {
	c := meter.Config{
		Protocol: protocol, Baud: 115200, Interval: 50 * time.Millisecond, Window: 50 * time.Millisecond,
		Most: 2 * time.Second, Resolution: 10_000, Range: 60 * signal.Ampere, Silence: 10 * time.Second,
	}
	if protocol == "modbus" {
		c.Modbus = meter.ModbusOptions{Unit: 1, Type: "int32"}
	}
	return c
}

// open makes a live bench over the virtual one: its simulated meter speaks at one
// end of a wire, and a real meter driver hears it at the other.
func open(t *testing.T, protocol string) (rig.Bench, rig.Facts) {
	t.Helper()
	v := virtual.DefaultConfig()
	v.Meter.Interval, v.Meter.Window = 50*time.Millisecond, 50*time.Millisecond
	inner, err := virtual.New(v, 1)
	require.NoError(t, err)

	wire := metertest.NewWire(t)
	c := config(protocol)
	say, hush, err := speak.Open(wire.A, c)
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, hush()) })
	clock := live.NewClock()
	c.Port = wire.B
	m, err := meter.Open(c, clock)
	require.NoError(t, err)
	b, facts, err := live.New(live.Config{Lines: inner, Facts: inner.Facts(), Meter: m, Clock: clock, Speak: say,
		Late: 500 * time.Millisecond})
	require.NoError(t, err)
	return b, facts
}

func TestContract(t *testing.T) {
	benchtest.Patiently(t, func(t *testing.T) (rig.Bench, rig.Facts) { return open(t, "text") })
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
			end := now.Add(12 * time.Second) // it runs until its cut-out, and is heard long before
			for b.Now() < end && most <= 5*signal.Ampere {
				o, err := b.Next(min(end, b.Now().Add(100*time.Millisecond)))
				require.NoError(t, err)
				require.Nil(t, o.Trouble)
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
