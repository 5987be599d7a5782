package evidence_test

import (
	"bufio"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/reports/evidence"
	"pintle/rig/need"
	"pintle/rig/rule"
)

// A record beyond 4 GiB, for a machine with the room and a minute:
// PINTLE_LARGE=1 go test ./reports/evidence -run Large
func TestLargeRecord(t *testing.T) {
	if os.Getenv("PINTLE_LARGE") != "1" {
		t.Skip("skipped: it writes 5 GB; to enable: PINTLE_LARGE=1")
	}
	unzip := need.Tool(t, "unzip", "apt-get install unzip")
	trace := make(one, 256<<20)
	sum := digest(trace)
	run := &reports.Run{ID: "large", Trials: 20, Verdict: rule.Fail, Scenarios: []reports.Scenario{{Name: "soak", Verdict: rule.Fail}}}
	for n := 1; n <= run.Trials; n++ {
		run.Scenarios[0].Trials = append(run.Scenarios[0].Trials, reports.Trial{Number: n, Verdict: rule.Fail, Trace: sum})
	}
	f, err := os.Create(filepath.Join(t.TempDir(), "record.zip"))
	require.NoError(t, err)
	defer f.Close()
	w := bufio.NewWriter(f)
	_, err = evidence.Write(w, run, trace, nil)
	require.NoError(t, err)
	require.NoError(t, w.Flush())
	size, err := f.Seek(0, io.SeekEnd)
	require.NoError(t, err)
	require.Greater(t, size, int64(5<<30))
	rec, err := evidence.Open(f, size)
	require.NoError(t, err)
	require.NoError(t, rec.Check(nil))
	out, err := tool(t, "", unzip, "-tq", f.Name())
	require.NoError(t, err, out)
}
