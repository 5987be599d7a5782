package meter_test

import (
	"bufio"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/drivers/meter"
	"pintle/drivers/meter/metertest"
	"pintle/rig/need"
	"pintle/rig/signal"
)

// libmodbusServer builds the server once and runs it on a port.
func libmodbusServer(t *testing.T, port string, baud, unit int) {
	t.Helper()
	const how = "apt-get install gcc libmodbus-dev"
	gcc := need.Tool(t, "gcc", how)
	if _, err := os.Stat("/usr/include/modbus/modbus.h"); err != nil {
		need.Missing(t, "libmodbus is not installed", how)
	}
	program := filepath.Join(t.TempDir(), "server")
	out, err := exec.Command(gcc, "-o", program, "testdata/server.c", "-lmodbus").CombinedOutput()
	require.NoError(t, err, "%s", out)
	server := exec.Command(program, port, strconv.Itoa(baud), strconv.Itoa(unit))
	server.Stderr = os.Stderr
	said, err := server.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, server.Start())
	t.Cleanup(func() { server.Process.Kill(); server.Wait() })
	ready, err := bufio.NewReader(said).ReadString('\n')
	require.NoError(t, err)
	require.Equal(t, "ready\n", ready)
}

// TestAgainstLibmodbus reads from a server that is not ours: libmodbus, as Debian
// has it. Its registers hold known figures in every type.
func TestAgainstLibmodbus(t *testing.T) {
	wire := metertest.NewWire(t)
	libmodbusServer(t, wire.A, 19200, 17)
	for _, c := range []struct {
		name     string
		function int
		register int
		kind     string
		lowFirst bool
		step     signal.Current
		want     signal.Current
	}{
		{"int16", 3, 0, "int16", false, 1000, 1_234_000},
		{"int16 below zero", 4, 1, "int16", false, 1000, -250_000},
		{"uint16", 4, 0, "uint16", false, 10, 12_340},
		{"int32", 3, 2, "int32", false, 10, 1_000_000},
		{"uint32", 4, 2, "uint32", false, 1, 100_000},
		{"float32", 3, 4, "float32", false, signal.Ampere, 7_250_000},
		{"float32 low half first", 4, 6, "float32", true, signal.Ampere, 7_250_000},
	} {
		t.Run(c.name, func(t *testing.T) {
			conf := realConfig("modbus", wire.B)
			conf.Modbus = meter.ModbusOptions{Unit: 17, Function: c.function, Register: c.register, Type: c.kind,
				LowFirst: c.lowFirst, Step: c.step}
			m := openReal(t, conf)
			for range 5 {
				assert.Equal(t, c.want, nextSample(t, m).Current)
			}
			require.NoError(t, m.Close())
		})
	}
	t.Run("exception", func(t *testing.T) {
		conf := realConfig("modbus", wire.B)
		conf.Modbus = meter.ModbusOptions{Unit: 17, Register: 8}
		_, err := meter.Open(conf, clock())
		require.ErrorContains(t, err, "exception 2, illegal data address")
	})
	t.Run("another unit does not answer", func(t *testing.T) {
		conf := realConfig("modbus", wire.B)
		conf.Modbus.Unit, conf.Silence = 18, 200*time.Millisecond
		_, err := meter.Open(conf, clock())
		require.ErrorContains(t, err, "unit 18")
		require.ErrorContains(t, err, "no answer")
	})
}
