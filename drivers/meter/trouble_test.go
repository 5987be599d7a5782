package meter_test

import (
	"bytes"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/drivers/meter"
	"pintle/drivers/meter/metertest"
	"pintle/drivers/meter/speak"
	"pintle/rig/signal"
)

// until waits for a trouble and gives the samples before it.
func until(t *testing.T, m *meter.Meter, code string) (before []signal.Sample) {
	t.Helper()
	for {
		r := nextReading(t, m)
		switch {
		case r.Trouble == nil:
			before = append(before, r.Sample)
		case r.Trouble.Code == code:
			return before
		case r.Trouble.Code != meter.Silent: // which a busy computer may add
			require.Failf(t, "another trouble", "%s: %s; expected %s", r.Trouble.Code, r.Trouble.Text, code)
		}
	}
}

// Every trouble that a meter which sends by itself can have, over real bytes. Each
// comes between a sound 1 A and a sound 2 A, and nothing else becomes a sample.
func TestTextTroublesOverPty(t *testing.T) {
	for _, c := range []struct {
		code, bytes string
		set         func(*meter.Config)
	}{
		{meter.Garbage, "\x80\x81 ?\n", nil},
		{meter.WrongUnit, "12.4 V\n", nil},
		{meter.WrongUnit, "12.4\n", nil},
		{meter.WrongSign, "--5 A\n", nil},
		{meter.OverRange, "OL\n", nil},
		{meter.OverRange, "30.000001 A\n", nil},
		{meter.NotANumber, "NaN A\n", nil},
		{meter.Stuck, "1 A\n", func(c *meter.Config) { c.Stuck, c.Noise = 2, 1000 }},
		{meter.PartialLine, "3.0", func(c *meter.Config) { c.Silence = 200 * time.Millisecond }},
		{meter.Silent, "", func(c *meter.Config) { c.Silence = 200 * time.Millisecond }},
	} {
		t.Run(c.code, func(t *testing.T) {
			t.Parallel() // nearly all of it is waiting
			far, name := metertest.Port(t)
			conf := realConfig("text", name)
			if c.set != nil {
				c.set(&conf)
			}
			m := openReal(t, conf)
			write(t, far, "\n1 A\n"+c.bytes)
			before := until(t, m, c.code)
			write(t, far, "\n2 A\n")
			for len(before) < 2 {
				if r := nextReading(t, m); r.Trouble == nil {
					before = append(before, r.Sample)
				}
			}
			require.Equal(t, 1*signal.Ampere, before[0].Current)
			require.Equal(t, 2*signal.Ampere, before[1].Current)
			require.NoError(t, far.Close())
			require.Empty(t, until(t, m, meter.HungUp))
		})
	}
}

// The same where the meter is asked. It answers 1 A until one answer is spoilt,
// and 2 A from then on.
func TestPolledTroublesOverPty(t *testing.T) {
	cut := func(b []byte) []byte { return b[:len(b)-2] }
	mute := func([]byte) []byte { return nil }
	says := func(s string) func([]byte) []byte { return func([]byte) []byte { return []byte(s) } }
	for _, c := range []struct {
		protocol, code string
		bend           func([]byte) []byte
	}{
		{"scpi", meter.Silent, mute},
		{"scpi", meter.PartialLine, cut},
		{"scpi", meter.OverRange, says("9.9E37\n")},
		{"scpi", meter.NotANumber, says("9.91E37\n")},
		{"scpi", meter.WrongUnit, says("1.0 V\n")},
		{"scpi", meter.WrongSign, says("-+1.0\n")},
		{"scpi", meter.Garbage, says("?\n")},
		{"modbus", meter.Silent, mute},
		{"modbus", meter.PartialLine, cut},
		{"modbus", meter.BadCRC, func(b []byte) []byte { b[4] ^= 0x10; return b }},
		{"modbus", meter.Exception, says("\x01\x84\x04\x42\xc3")},         // server device failure; these check sums are pymodbus's
		{"modbus", meter.OverRange, says("\x01\x04\x02\x7f\xff\xd9\x40")}, // the highest int16
		{"modbus", meter.Garbage, says("\x02\x04\x02\x00\x01\x3c\xf0")},   // of another unit
	} {
		t.Run(c.protocol+" "+c.code, func(t *testing.T) {
			t.Parallel()
			far, name := metertest.Port(t)
			conf := realConfig(c.protocol, name)
			conf.Silence = 2 * time.Second
			s, err := speak.New(conf, far)
			require.NoError(t, err)
			var due atomic.Bool
			one, _ := answered(t, conf, signal.Ampere)
			s.Spoil = func(b []byte) []byte {
				if bytes.Equal(b, one) && due.CompareAndSwap(true, false) {
					return c.bend(bytes.Clone(b))
				}
				return b
			}
			require.NoError(t, s.Say(0, signal.Ampere))
			served := make(chan error, 1)
			go func() { served <- s.Serve() }()
			m := openReal(t, conf)
			require.Equal(t, signal.Ampere, nextSample(t, m).Current)
			due.Store(true)
			for _, sample := range until(t, m, c.code) {
				require.Equal(t, signal.Ampere, sample.Current)
			}
			require.NoError(t, s.Say(0, 2*signal.Ampere))
			for after := signal.Current(0); after != 2*signal.Ampere; {
				if r := nextReading(t, m); r.Trouble == nil {
					after = r.Sample.Current
					require.Contains(t, []signal.Current{signal.Ampere, 2 * signal.Ampere}, after)
				}
			}
			require.NoError(t, far.Close())
			<-served
		})
	}
}

// answered is what a speaker of the configuration answers to the driver's question
// for a reading, and the question.
func answered(t *testing.T, c meter.Config, current signal.Current) (answer, question []byte) {
	t.Helper()
	v, err := meter.VoiceOf(c)
	require.NoError(t, err)
	question = []byte("MEAS:CURR?\n")
	if c.Protocol == "modbus" {
		question = []byte("\x01\x04\x00\x00\x00\x01\x31\xca")
	}
	answer, used := v.Answer(nil, question, current)
	require.Equal(t, len(question), used)
	return answer, question
}
