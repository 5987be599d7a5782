package meter

import (
	"bufio"
	"bytes"
	"encoding/hex"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/drivers/meter/metertest"
	"pintle/rig/need"
	"pintle/rig/signal"
)

// The far side of these tests is Python with pymodbus and pyserial: other people's
// reading of the same standards, and their bytes.

const howPython = "apt-get install python3-pymodbus python3-serial"

// python gives the first Python that has what the far side needs. The one that
// the system's package manager serves may not be the first in the path.
func python(t testing.TB) string {
	t.Helper()
	first := need.Tool(t, "python3", howPython)
	for _, path := range []string{first, "/usr/bin/python3"} {
		if exec.Command(path, "-c", "import pymodbus.factory, serial").Run() == nil {
			return path
		}
	}
	need.Missing(t, "no python3 here has pymodbus and pyserial", howPython)
	return ""
}

// ask lets the far side work on lines, and gives its answers.
func ask(t *testing.T, what string, lines []string) []string {
	t.Helper()
	cmd := exec.Command(python(t), "testdata/outside.py", what)
	cmd.Stdin = strings.NewReader(strings.Join(lines, "\n") + "\n")
	var wrong bytes.Buffer
	cmd.Stderr = &wrong
	out, err := cmd.Output()
	require.NoErrorf(t, err, "%s", wrong.String())
	answers := strings.Fields(string(out))
	require.Len(t, answers, len(lines))
	return answers
}

// serve starts the far side and waits until it is there. It ends with the test.
func serve(t *testing.T, args ...string) {
	t.Helper()
	cmd := exec.Command(python(t), append([]string{"testdata/outside.py"}, args...)...)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	t.Cleanup(func() { _ = cmd.Process.Kill(); _ = cmd.Wait() }) // killed, it cannot but fail
	ready, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err)
	require.Equal(t, "ready\n", ready)
}

func TestCRCAgainstPymodbus(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	var frames []string
	for n := range 300 {
		frame := make([]byte, 1+n%40)
		for i := range frame {
			frame[i] = byte(random.Uint32())
		}
		frames = append(frames, hex.EncodeToString(frame))
	}
	for i, want := range ask(t, "crc", frames) {
		frame := unhex(t, frames[i])
		sent := appendCRC(frame)[len(frame):]
		require.Equalf(t, want, fmt.Sprintf("%X", sent), "%s", frames[i])
	}
}

// Python's decimal module works to a hundred digits here.
func TestNumbersAgainstDecimal(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	numbers := []string{"0.0000005", "-0.0000005", "0.0000004999999999999", "9223372036854", "7.251E0", "-1e-7", "5e-7", "123E-9"}
	for range 500 {
		s := []string{"", "+", "-"}[random.IntN(3)] + strconv.Itoa(random.IntN(100_000))
		if random.IntN(4) > 0 {
			s += fmt.Sprintf(".%0*d", 1+random.IntN(12), random.Int64N(100_000))
		}
		if random.IntN(2) == 0 {
			s += fmt.Sprintf("E%+03d", random.IntN(20)-14)
		}
		numbers = append(numbers, s)
	}
	for i, want := range ask(t, "micro", numbers) {
		got, f := parseSCPI([]byte(numbers[i]))
		require.Emptyf(t, f.code, "%q", numbers[i])
		require.Equalf(t, want, strconv.FormatInt(int64(got), 10), "%q", numbers[i])
		if strings.ContainsAny(numbers[i], "eE") {
			continue // text lines have no exponents
		}
		r, f := parseText([]byte(numbers[i]+" A"), &TextOptions{})
		require.Emptyf(t, f.code, "%q", numbers[i])
		require.Equalf(t, want, strconv.FormatInt(int64(r.current), 10), "%q", numbers[i])
	}
}

// outside is a Modbus meter as the far side plays it.
func outside(port string, o ModbusOptions) Config {
	o.Unit = 17
	return Config{
		Port: port, Protocol: "modbus", Interval: 50 * ms, Most: 2 * time.Second, Silence: 3 * time.Second,
		Resolution: 1, Range: 5000 * signal.Ampere, Modbus: o,
	}
}

// next waits for one reading of a real port.
func next(t *testing.T, m *Meter) Reading {
	t.Helper()
	select {
	case r, ok := <-m.Readings():
		require.True(t, ok, "the meter has ended")
		return r
	case <-time.After(20 * time.Second): // only if something is wrong
		require.Fail(t, "no reading")
	}
	return Reading{}
}

func monotonic() func() signal.Instant {
	began := time.Now()
	return func() signal.Instant { return signal.Instant(time.Since(began)) }
}

func TestModbusAgainstPymodbus(t *testing.T) {
	wire := metertest.NewWire(t)
	serve(t, wire.B)
	for _, c := range []struct {
		o    ModbusOptions
		want signal.Current
		code string
	}{
		{ModbusOptions{Type: "int16"}, -12_345_000, ""},
		{ModbusOptions{Type: "uint16", Register: 1}, 65_000_000, ""},
		{ModbusOptions{Type: "int16", Register: 2}, 0, OverRange},
		{ModbusOptions{Function: 3, Type: "int16", Register: 7, Step: 10}, 43210, ""},
		{ModbusOptions{Type: "int32", Register: 10, Step: 1}, -7_251_000, ""},
		{ModbusOptions{Type: "uint32", Register: 12, Step: 1}, 4_000_000_000, ""},
		{ModbusOptions{Type: "int32", Register: 14, Step: 1, LowFirst: true}, 7_251_000, ""},
		{ModbusOptions{Type: "float32", Register: 20}, 7_250_000, ""},
		{ModbusOptions{Type: "float32", Register: 22, LowFirst: true}, -80_000, ""},
		{ModbusOptions{Type: "float32", Register: 24}, 0, NotANumber},
		{ModbusOptions{Type: "float32", Register: 26}, 0, OverRange},
	} {
		name := fmt.Sprintf("%s at %d", c.o.Type, c.o.Register)
		m, err := Open(outside(wire.A, c.o), monotonic())
		require.NoError(t, err, name)
		r := next(t, m)
		if c.code != "" {
			require.NotNil(t, r.Trouble, name)
			assert.Equal(t, c.code, r.Trouble.Code, name)
		} else {
			require.Nil(t, r.Trouble, name)
			assert.Equal(t, c.want, r.Sample.Current, name)
		}
		require.NoError(t, m.Close(), name)
	}
	_, err := Open(outside(wire.A, ModbusOptions{Register: 5000}), monotonic())
	require.ErrorContains(t, err, "exception 2, illegal data address")
}

func TestTextAgainstPyserial(t *testing.T) {
	wire := metertest.NewWire(t)
	c := Config{Port: wire.A, Protocol: "text", Interval: 10 * ms, Most: time.Second, Resolution: 1000, Range: 30 * signal.Ampere, Silence: 5 * time.Second}
	m, err := Open(c, monotonic())
	require.NoError(t, err)
	serve(t, "text", wire.B)
	first := next(t, m)
	require.Nil(t, first.Trouble)
	for i := range 20 {
		r := next(t, m)
		require.Nil(t, r.Trouble)
		require.Equal(t, first.Sample.Current+signal.Current(i+1)*10_000, r.Sample.Current)
	}
	require.NoError(t, m.Close())
}
