package speak_test

import (
	"bytes"
	"io"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/drivers/meter"
	"pintle/drivers/meter/metertest"
	"pintle/drivers/meter/speak"
	"pintle/rig/signal"
)

func config(protocol string) meter.Config {
	c := meter.Config{
		Protocol: protocol, Interval: 20 * time.Millisecond, Most: 20 * time.Millisecond,
		Resolution: 1000, Range: 30 * signal.Ampere,
	}
	c.Modbus.Unit = 1
	if protocol == "scpi" {
		c.Interval, c.Most = time.Second, time.Second
	}
	return c
}

// line is a wire of which one end is a text and the other is kept.
type line struct {
	io.Reader
	bytes.Buffer
}

func (l *line) Read(p []byte) (int, error) { return l.Reader.Read(p) }

// oneByte gives one byte at a time, as a slow wire does.
type oneByte struct{ text []byte }

func (o *oneByte) Read(p []byte) (int, error) {
	if len(o.text) == 0 {
		return 0, io.EOF
	}
	p[0], o.text = o.text[0], o.text[1:]
	return 1, nil
}

// Questions are answered each for itself, whether they come in one piece or in
// many, and with the latest current.
func TestAnswers(t *testing.T) {
	request := "\x01\x04\x00\x00\x00\x01\x31\xca" // its check sums, and those of the answers, are pymodbus's
	for _, c := range []struct{ protocol, asked, answered string }{
		{"scpi", "*IDN?\nMEAS:CURR?\n", "PINTLE,SPEAKER,0,0\n-7.25100000000E+00\n"},
		{"scpi", "meas:curr?\r\nSYST:ERR?\n", "-7.25100000000E+00\n0,\"No error\"\n"},
		{"scpi", "NO:SUCH?\nSYST:ERR?\nSYST:ERR?\n", "-113,\"Undefined header\"\n0,\"No error\"\n"},
		{"scpi", "MEAS:CURR?", ""},
		{"modbus", request, "\x01\x04\x02\xe3\xad\x31\xbd"},
		{"modbus", request + request, "\x01\x04\x02\xe3\xad\x31\xbd\x01\x04\x02\xe3\xad\x31\xbd"},
		{"modbus", request[:7], ""},
		{"text", "anything\n", ""},
	} {
		for name, in := range map[string]io.Reader{"at once": bytes.NewReader([]byte(c.asked)), "byte by byte": &oneByte{[]byte(c.asked)}} {
			l := &line{Reader: in}
			s, err := speak.New(config(c.protocol), l)
			require.NoError(t, err)
			require.NoError(t, s.Say(0, 5*signal.Ampere))
			require.NoError(t, s.Say(0, -7_251_000))
			l.Buffer.Reset()
			require.NoError(t, s.Serve(), "the end of the line is no error")
			require.Equalf(t, c.answered, l.Buffer.String(), "%s %q %s", c.protocol, c.asked, name)
		}
	}
}

func TestSaysLines(t *testing.T) {
	for _, c := range []struct {
		o    meter.TextOptions
		want string
	}{
		{meter.TextOptions{}, "-7.251000 A\r\n"},
		{meter.TextOptions{Unit: "mA"}, "-7251.000 mA\r\n"},
		{meter.TextOptions{Unit: "uA"}, "-7251000 uA\r\n"},
		{meter.TextOptions{Stamp: true}, "1.500000000s, -7.251000 A\r\n"},
	} {
		conf, l := config("text"), &line{}
		conf.Text = c.o
		s, err := speak.New(conf, l)
		require.NoError(t, err)
		require.NoError(t, s.Say(1_500_000_000, -7_251_000))
		require.Equal(t, c.want, l.Buffer.String())
	}
}

func TestOpen(t *testing.T) {
	wire := metertest.NewWire(t)
	say, hush, err := speak.Open(wire.A, config("modbus"))
	require.NoError(t, err)
	require.NoError(t, say(signal.Sample{Current: 3 * signal.Ampere}))
	conf := config("modbus")
	conf.Port, conf.Most, conf.Silence = wire.B, 10*time.Second, 10*time.Second
	begin := time.Now()
	m, err := meter.Open(conf, func() signal.Instant { return signal.Instant(time.Since(begin)) })
	require.NoError(t, err)
	r := <-m.Readings()
	require.Nil(t, r.Trouble)
	require.Equal(t, 3*signal.Ampere, r.Sample.Current)
	require.NoError(t, m.Close())
	require.NoError(t, hush())
	require.NoError(t, hush(), "a second time")
}

func TestOpenFails(t *testing.T) {
	_, _, err := speak.Open("/dev/no-such-port", config("text"))
	require.ErrorContains(t, err, "speak on /dev/no-such-port")
	wrong := config("text")
	wrong.Interval = 0
	_, _, err = speak.Open("/dev/no-such-port", wrong)
	require.ErrorContains(t, err, "interval")
	_, err = speak.New(wrong, nil)
	require.ErrorContains(t, err, "interval")
}
