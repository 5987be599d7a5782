//go:build linux

package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/reports/livepage"
	"pintle/reports/logbook"
	"pintle/rig"
	"pintle/rig/need"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// readings counts what a page would ink.
type readings struct{ samples, edges int }

func (*readings) Begin(rig.Beginning)                      {}
func (*readings) Rise([signal.LineCount]signal.Level)      {}
func (*readings) Settle(int, rule.Verdict, signal.Instant) {}
func (*readings) End(*rig.Outcome)                         {}
func (r *readings) See(o *rig.Observation) {
	switch o.Kind {
	case rig.Sampled:
		r.samples++
	case rig.Emitted:
		r.edges++
	}
}

// A run that is started on the page is performed beside a serial rehearsal as pintle run
// performs it: in real time, whatever pace is asked for, with every reading inked.
func TestServeBesideASerialRehearsal(t *testing.T) {
	if os.Getenv("PINTLE_REQUIRE") != "1" {
		t.Skip("takes seconds of real time; to enable: PINTLE_REQUIRE=1 go test ./cmd/pintle -run SerialRehearsal")
	}
	serveHome(t)
	port, other := wire(t)
	text := strings.NewReplacer("PORT", port, "WIRE", other, "PROTOCOL", "text", "    query: \"MEAS:CURR?\"\n", "").Replace(serialMeter)
	dir := serialJob(t, text)
	job, err := loadJob(dir)
	require.NoError(t, err)
	file := filepath.Join(dir, "logbook.db")
	log, err := logbook.Open(file)
	require.NoError(t, err)
	defer log.Close()
	house, err := houseOf(&app{out: &bytes.Buffer{}, err: &bytes.Buffer{}}, job, dir, file, log, 1)
	require.NoError(t, err)
	require.False(t, house.AnyPace)
	require.Equal(t, "simulated lines in real time, serial meter: a rehearsal with a simulated controller, no evidence about any hardware", house.Bench)

	var seen *readings
	var result livepage.Result
	began := time.Now()
	for try := 0; try < 4; try++ { // a machine that is busy makes a trial void, or the bench not come to one
		result, err = house.Perform(t.Context(), livepage.Choice{Scenarios: []string{"starts"}, Trials: 1, Seed: 1, Pace: 1},
			func() rig.Witness { seen = &readings{}; return seen })
		if err == nil && result.Verdict != rule.Void {
			break
		}
	}
	if err != nil && strings.Contains(err.Error(), "readings have been lost") {
		need.Quiet(t, err.Error())
	}
	require.NoError(t, err)
	if result.Verdict == rule.Void {
		need.Quiet(t, result.Reason)
	}
	require.Equal(t, rule.Pass, result.Verdict, "%s", result.Reason)
	require.Greater(t, time.Since(began), time.Second, "the script alone waits so long")
	require.Greater(t, seen.samples, 40, "some seconds at twenty readings a second")
	require.GreaterOrEqual(t, seen.edges, 3, "supply, press and release")
	run, err := log.Run(result.ID)
	require.NoError(t, err)
	require.False(t, run.Bench.Virtual)
}
