package evidence_test

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/reports/evidence"
	"pintle/reports/seal"
	"pintle/rig/need"
	"pintle/rig/rule"
)

// tool runs a program in a folder.
func tool(t *testing.T, dir, name string, args ...string) (string, error) {
	c := exec.Command(name, args...)
	c.Dir = dir
	out, err := c.CombinedOutput()
	return string(out), err
}

// A record is checked by Debian's unzip, sha256sum and minisign, without this program.
func TestOrdinaryToolsCheckARecord(t *testing.T) {
	unzip := need.Tool(t, "unzip", "apt-get install unzip")
	sums := need.Tool(t, "sha256sum", "apt-get install coreutils")
	sign := need.Tool(t, "minisign", "apt-get install minisign")
	dir := t.TempDir()
	b, verify := signed(t)
	public, _ := key(1)
	other, _ := key(2)
	for name, key := range map[string]seal.Public{"key.pub": public, "other.pub": other} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), key.File(), 0o644))
	}
	rec, err := evidence.Open(bytes.NewReader(b), int64(len(b)))
	require.NoError(t, err)
	require.NoError(t, rec.Check(verify))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "record.zip"), b, 0o644))

	out, err := tool(t, dir, unzip, "-t", "record.zip")
	require.NoError(t, err, out)
	require.Contains(t, out, "No errors detected")
	out, err = tool(t, dir, unzip, "-q", "record.zip")
	require.NoError(t, err, out)
	info, err := os.Stat(filepath.Join(dir, "head.json"))
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o644), info.Mode().Perm())

	out, err = tool(t, dir, sums, "--strict", "-c", "SHA256SUMS")
	require.NoError(t, err, out)
	require.Equal(t, rec.Head().Leaves, strings.Count(out, ": OK"))
	out, err = tool(t, dir, sums, "SHA256SUMS")
	require.NoError(t, err, out)
	require.True(t, strings.HasPrefix(out, rec.Head().Sums), out)
	out, err = tool(t, dir, sign, "-Vm", "head.json", "-p", "key.pub")
	require.NoError(t, err, out)
	require.Contains(t, out, "Trusted comment: pintle record "+rec.Head().Run+" "+rec.Head().Root)

	out, err = tool(t, dir, sign, "-Vm", "head.json", "-p", "other.pub")
	require.Error(t, err, out)

	// Whoever changes a file can write SHA256SUMS anew as well: what is signed names it.
	const named = `grep "$(sha256sum SHA256SUMS | cut -c 1-64)" head.json`
	out, err = tool(t, dir, "sh", "-c", named)
	require.NoError(t, err, out)
	require.Contains(t, out, `"verdict"`)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "run.json"), []byte("{}"), 0o644))
	out, err = tool(t, dir, "sh", "-c", `sha256sum $(cut -c 67- SHA256SUMS) >anew && mv anew SHA256SUMS && sha256sum --strict -c SHA256SUMS && minisign -Vm head.json -p key.pub`)
	require.NoError(t, err, out)
	out, err = tool(t, dir, "sh", "-c", named)
	require.Error(t, err, "a forged list is the signed one: %s", out)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "trials", "001-normal-cycle", "0001.json"), []byte("{}"), 0o644))
	out, err = tool(t, dir, sums, "--strict", "-c", "SHA256SUMS")
	require.Error(t, err, out)
	require.Contains(t, out, "0001.json: FAILED")
}

// A run of more trials than the plain end of a zip file can count.
func TestMoreEntriesThanTheShortFormCounts(t *testing.T) {
	unzip := need.Tool(t, "unzip", "apt-get install unzip")
	for _, trials := range []int{65531, 65532} {
		run := &reports.Run{ID: "long", Trials: trials, Verdict: rule.Void, Scenarios: []reports.Scenario{{Name: "soak", Verdict: rule.Void}}}
		for n := 1; n <= trials; n++ {
			run.Scenarios[0].Trials = append(run.Scenarios[0].Trials, reports.Trial{Number: n, Verdict: rule.Void})
		}
		b := written(t, run, nil, nil)
		rec, err := evidence.Open(bytes.NewReader(b), int64(len(b)))
		require.NoError(t, err)
		require.Equal(t, trials, rec.Len())
		_, err = rec.At(trials - 1)
		require.NoError(t, err)
		for _, back := range []int{1, 23, 43, 90} { // in each part of the longer end
			c := bytes.Clone(b)
			c[len(c)-back] ^= 4
			_, err := evidence.Open(bytes.NewReader(c), int64(len(c)))
			require.Error(t, err, "byte %d from the end", back)
		}
		file := filepath.Join(t.TempDir(), "record.zip")
		require.NoError(t, os.WriteFile(file, b, 0o644))
		out, err := tool(t, "", unzip, "-tq", file)
		require.NoError(t, err, out)
	}
}
