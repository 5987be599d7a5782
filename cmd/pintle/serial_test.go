package main

import (
	"bytes"
	"context"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/reports/logbook"
	"pintle/rig/need"
	"pintle/rig/rule"
	"pintle/scenarios/demo"
)

// wire makes two serial ports that are joined: what is written at one is read at
// the other.
func wire(t *testing.T) (one, other string) {
	t.Helper()
	a, ttyA, err := pty.Open()
	require.NoError(t, err)
	b, ttyB, err := pty.Open()
	require.NoError(t, err)
	for _, tty := range []*os.File{ttyA, ttyB} {
		require.NoError(t, raw(tty))
	}
	go io.Copy(a, b)
	go io.Copy(b, a)
	t.Cleanup(func() {
		for _, f := range []*os.File{ttyA, ttyB, a, b} {
			f.Close()
		}
	})
	return ttyA.Name(), ttyB.Name()
}

// serialJob writes the demo job with a meter at a serial port.
func serialJob(t *testing.T, meter string) string {
	t.Helper()
	dir := t.TempDir()
	for _, name := range []string{"bench.yaml", "gate.yaml", "controller.yaml"} {
		text, err := fs.ReadFile(demo.Folder(), name)
		require.NoError(t, err)
		if name == "bench.yaml" {
			s := string(text)
			from, to := strings.Index(s, "meter:\n"), strings.Index(s, "# When a current counts")
			require.True(t, from > 0 && to > from)
			s = s[:from] + meter + s[to:]
			text = []byte(strings.Replace(s, "meter silence: 500ms", "meter silence: 5s", 1))
		}
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), text, 0o644))
	}
	require.NoError(t, os.Mkdir(filepath.Join(dir, "scenarios"), 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "scenarios", "starts.yaml"), []byte(starts), 0o644))
	return dir
}

// starts leaves room for a machine that is busy with other tests.
const starts = `title: It starts
why: The least that a bench in real time has to see.
group: convenience
hazard: The way stays barred.
script:
  - press: remote
  - await: motor opening
    within: 6s
  - wait: 1s
rules:
  - bounded response: remote is pressed
    then: motor opening
    within: 6s
  - absence: motor closing
  - current under: claim most current
`

const serialMeter = `meter:
  kind: serial
  serial:
    port: PORT
    protocol: PROTOCOL
    baud: 115200
    query: "MEAS:CURR?"
    format: int32
    rehearsal wire: WIRE
  interval: 50ms
  most delay: 1s
  resolution: 10mA
  noise: 20mA
  range: 60A

`

// TestAScenarioInRealTime performs a scenario on the clock of the wall with the
// current coming over a pseudo-terminal as real bytes, in each protocol.
func TestAScenarioInRealTime(t *testing.T) {
	for _, protocol := range []string{"text", "scpi", "modbus"} {
		t.Run(protocol, func(t *testing.T) {
			if protocol != "text" && os.Getenv("PINTLE_REQUIRE") != "1" {
				t.Skip("takes its time; to enable: PINTLE_REQUIRE=1 (package meter tries every protocol in any case)")
			}
			port, other := wire(t)
			text := strings.NewReplacer("PORT", port, "WIRE", other, "PROTOCOL", protocol).Replace(serialMeter)
			if protocol != "scpi" {
				text = strings.Replace(text, "    query: \"MEAS:CURR?\"\n", "", 1)
			}
			dir := serialJob(t, text)
			words := untilQuiet(t, func() (int, string) {
				var out, errs bytes.Buffer
				status := pintle(context.Background(), []string{"run", dir, "starts"}, &out, &errs)
				return status, out.String() + errs.String()
			})

			log, err := logbook.Open(filepath.Join(dir, "logbook.db"))
			require.NoError(t, err)
			defer log.Close()
			run, err := log.Run("last")
			require.NoError(t, err)
			assert.Equal(t, rule.Pass, run.Verdict)
			assert.False(t, run.Bench.Virtual)
			assert.True(t, run.Bench.Simulated, "real time and a real meter do not make the controller real")
			assert.Contains(t, words, "A rehearsal with a simulated controller")
			assert.Contains(t, run.Bench.Meter, "spoken to by this program at "+other+": no current was measured")
			trace, err := log.Trace(run.ID, "starts", 1)
			require.NoError(t, err)
			assert.Greater(t, len(trace.Samples), 40, "some seconds at twenty readings a second")

			var out bytes.Buffer
			record := filepath.Join(dir, "r.zip")
			require.Zero(t, pintle(context.Background(), []string{"certify", "last", "--unsigned", "--logbook", filepath.Join(dir, "logbook.db"), "--out", filepath.Join(dir, "c.pdf"), "--record", record}, &out, &out), out.String())
			require.Equal(t, statusInconclusive, pintle(context.Background(), []string{"verify", record, "--json"}, &out, &out), "judged again it is the same: %s", out.String())
		})
	}
}

// untilQuiet wants a run in real time to pass, and gives its words. On a machine that is busy
// with something else the bench may be late, and says so: then the trial is void, and is
// performed again.
func untilQuiet(t *testing.T, run func() (status int, words string)) string {
	t.Helper()
	status, words := statusVoid, ""
	for try := 0; try < 4 && status == statusVoid; try++ {
		var more string
		status, more = run()
		words += more
	}
	if status == statusVoid {
		need.Quiet(t, words)
	}
	require.Equal(t, statusPass, status, words)
	return words
}

func TestNoMeterIsVoidInPlainWords(t *testing.T) {
	text := strings.NewReplacer("PORT", "/dev/no-such-port", "PROTOCOL", "text", "    rehearsal wire: WIRE\n", "",
		"    query: \"MEAS:CURR?\"\n", "").Replace(serialMeter)
	dir := serialJob(t, text)
	var out, errs bytes.Buffer
	status := pintle(context.Background(), []string{"run", dir, "starts"}, &out, &errs)
	assert.Equal(t, statusVoid, status)
	assert.Contains(t, errs.String(), "/dev/no-such-port")
	assert.NoFileExists(t, filepath.Join(dir, "logbook.db"))
}

func TestAMeterThatFallsSilentIsVoid(t *testing.T) {
	t.Parallel() // it waits, and to be late does not change what it comes to
	port, _ := wire(t)
	text := strings.NewReplacer("PORT", port, "PROTOCOL", "text", "    rehearsal wire: WIRE\n", "",
		"    query: \"MEAS:CURR?\"\n", "").Replace(serialMeter)
	dir := serialJob(t, text)
	var out, errs bytes.Buffer
	status := pintle(context.Background(), []string{"run", dir, "starts"}, &out, &errs)
	assert.Equal(t, statusVoid, status, out.String()+errs.String())
	assert.Contains(t, out.String(), "void")
}
