package main

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"hash/crc32"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/rig"
	"pintle/scenarios"
)

// An item is an entry of a record as the standard library reads it, with its bytes.
type item struct {
	zip.FileHeader
	data []byte
}

func items(t testing.TB, record []byte) []item {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(record), int64(len(record)))
	require.NoError(t, err)
	var all []item
	for _, f := range z.File {
		r, err := f.Open()
		require.NoError(t, err)
		data, err := io.ReadAll(r)
		require.NoError(t, err)
		all = append(all, item{f.FileHeader, data})
	}
	return all
}

// zipped writes entries as they were, with sizes and sums that are those of their bytes.
func zipped(t testing.TB, all []item) []byte {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, i := range all {
		h := i.FileHeader
		h.CRC32, h.UncompressedSize64 = crc32.ChecksumIEEE(i.data), uint64(len(i.data))
		h.CompressedSize64 = h.UncompressedSize64
		if h.Method != zip.Store {
			h.UncompressedSize64 *= 1000
		}
		e, err := w.CreateRaw(&h)
		require.NoError(t, err)
		_, err = e.Write(i.data)
		require.NoError(t, err)
	}
	require.NoError(t, w.Close())
	return b.Bytes()
}

// Each way of tampering is told by a message of its own, and ends with a status that is no
// success. What pintle certify writes has one order, one time and nothing compressed.
func TestVerifyTellsEachTamperingApart(t *testing.T) {
	dir := t.TempDir()
	t.Chdir(dir)
	t.Setenv("XDG_CONFIG_HOME", dir)
	require.NoError(t, os.WriteFile("phrase", []byte("oar and rowlock\n"), 0o600))
	call := func(args ...string) (int, string) {
		var out bytes.Buffer
		status := pintle(t.Context(), args, &out, &out)
		return status, strings.Join(strings.Fields(out.String()), " ")
	}
	for _, args := range [][]string{{"key", "new", "--passphrase-file", "phrase"}, {"key", "new", "--key", "other.key", "--passphrase-file", "phrase"},
		{"run", "normal-cycle", "--trials", "3", "--logbook", "a.db"},
		{"certify", "last", "--logbook", "a.db", "--out", "c.pdf", "--record", "r.zip", "--passphrase-file", "phrase"}} {
		status, said := call(args...)
		require.Zero(t, status, said)
	}
	record, err := os.ReadFile("r.zip")
	require.NoError(t, err)
	honest := items(t, record)
	require.Equal(t, record, zipped(t, honest), "the test writes entries as the program does")
	var names []string
	for _, i := range honest {
		names = append(names, i.Name)
		require.Equal(t, zip.Store, i.Method, i.Name)
		require.Equal(t, "1980-01-01 00:00:00", i.Modified.Format("2006-01-02 15:04:05"), i.Name)
		require.Empty(t, i.Extra, i.Name)
	}
	holdsWhatItIsSaidTo(t, honest)
	require.Equal(t, []string{"head.json", "head.json.minisig", "SHA256SUMS", "run.json", folder + "0001.json", folder + "0001.parquet",
		folder + "0002.json", folder + "0002.parquet", folder + "0003.json", folder + "0003.parquet"}, names)
	for name, c := range tamperings(t, record, honest) {
		file := filepath.Join(dir, "t.zip")
		require.NoError(t, os.WriteFile(file, c.record, 0o600))
		status, said := call("verify", file)
		require.Equal(t, c.status, status, "%s: %s", name, said)
		require.Contains(t, said, c.says, name)
		if c.status == 1 {
			require.Contains(t, said, "not verified", name)
			require.NotContains(t, said, "every value, verdict and sum is the same", name)
		}
	}
	status, said := call("verify", "r.zip", "--key", "other.pub")
	require.Equal(t, 1, status, said)
	require.Contains(t, said, "not made with the key given")
}

// A tampering is a record that somebody changed, and what is said of it.
type tampering struct {
	record []byte
	status int
	says   string
}

const folder = "trials/001-normal-cycle/"

func tamperings(t *testing.T, record []byte, honest []item) map[string]tampering {
	t.Helper()
	anew := func(change func([]item) []item) []byte { return zipped(t, change(slices.Clone(honest))) }
	changed := bytes.Clone(record)
	changed[len(changed)/2] ^= 1
	return map[string]tampering{
		"as it is":        {record, 0, "verified: the verdict of the run is pass"},
		"a byte changed":  {changed, 1, "an entry was changed"},
		"a trial removed": {anew(func(all []item) []item { return slices.Delete(all, 6, 8) }), 1, "something was removed"},
		"a trial added": {anew(func(all []item) []item {
			more := slices.Clone(all[8:])
			more[0].Name, more[1].Name = folder+"0004.json", folder+"0004.parquet"
			return append(all, more...)
		}), 1, "something was added"},
		"trials reordered": {anew(func(all []item) []item {
			return append(append(slices.Clone(all[:6]), all[8:]...), all[6:8]...)
		}), 1, "the order was changed"},
		"a trace swapped": {anew(func(all []item) []item {
			all[5].data, all[7].data = all[7].data, all[5].data
			return all
		}), 1, "a trace is not the one of its trial"},
		"cut short":      {record[:len(record)*2/3], 1, "the record is cut short"},
		"a name twice":   {anew(func(all []item) []item { return append(all, all[4]) }), 1, "two entries have the same name"},
		"an odd name":    {anew(func(all []item) []item { return append(all, item{zip.FileHeader{Name: "../notes"}, nil}) }), 1, "a name that has no place in a record"},
		"a bomb":         {anew(func(all []item) []item { all[5].Method = zip.Deflate; return all }), 1, "would take up far more room than it should"},
		"bytes after it": {append(bytes.Clone(record), 0), 1, "there are bytes after its end"},
		"a newer version": {anew(func(all []item) []item {
			all[0].data = bytes.Replace(all[0].data, []byte("pintle record 1"), []byte("pintle record 2"), 1)
			return all
		}), 64, "the record was written by a newer program"},
		"the head signed by nobody": {anew(func(all []item) []item {
			all[0].data = bytes.Replace(all[0].data, []byte(`"serial":"`), []byte(`"serial":"1`), 1)
			return all
		}), 1, "the record contradicts itself"},
	}
}

// A record is verified by the program alone, in an empty folder and without any setting; and
// wherever a certificate and its record are made anew, they have the same bytes.
func TestNothingAroundTheProgramMatters(t *testing.T) {
	dir := t.TempDir()
	program := filepath.Join(dir, "pintle")
	self, err := filepath.Abs(os.Args[0])
	require.NoError(t, err)
	require.NoError(t, os.Symlink(self, program))
	places := 0
	call := func(env []string, args ...string) (string, string) {
		t.Helper()
		places++
		at := filepath.Join(dir, "at", strings.Repeat("x", places))
		require.NoError(t, os.MkdirAll(at, 0o700))
		c := exec.Command(program, args...)
		c.Dir, c.Env = at, env
		out, err := c.CombinedOutput()
		require.NoError(t, err, "%v: %s", args, out)
		return at, string(out)
	}
	home := []string{"HOME=" + dir}
	phrase, log := filepath.Join(dir, "phrase"), filepath.Join(dir, "a.db")
	require.NoError(t, os.WriteFile(phrase, []byte("oar and rowlock\n"), 0o600))
	call(home, "key", "new", "--passphrase-file", phrase)
	call(home, "run", "normal-cycle", "missed-closed-limit", "--trials", "2", "--logbook", log)
	certify := func(more ...string) (pdf, zip []byte, record string) {
		t.Helper()
		at, _ := call(append(more, home...), "certify", "last", "--logbook", log, "--out", "c.pdf", "--record", "r.zip", "--passphrase-file", phrase)
		pdf, err := os.ReadFile(filepath.Join(at, "c.pdf"))
		require.NoError(t, err)
		zip, err = os.ReadFile(filepath.Join(at, "r.zip"))
		require.NoError(t, err)
		return pdf, zip, filepath.Join(at, "r.zip")
	}
	pdf, zip, record := certify("TZ=UTC")
	for _, more := range [][]string{{"TZ=Asia/Tokyo", "LANG=de_DE.UTF-8", "GOMAXPROCS=1"}, {"TZ=America/St_Johns", "LC_ALL=C", "COLUMNS=40", "NO_COLOR=1"}} {
		again, other, _ := certify(more...)
		require.True(t, bytes.Equal(pdf, again), "the certificate, %v", more)
		require.True(t, bytes.Equal(zip, other), "the record, %v", more)
	}
	_, key := call(home, "key", "show")
	public := regexp.MustCompile(`RW[A-Za-z0-9+/]{54}`).FindString(key)
	at, said := call([]string{}, "verify", record, "--key", public)
	require.Contains(t, said, "verified: the verdict of the run is pass")
	require.Contains(t, said, "made with the key given")
	left, err := os.ReadDir(at)
	require.NoError(t, err)
	require.Empty(t, left, "verify leaves nothing behind")
}

// holdsWhatItIsSaidTo goes through what a record is said to hold.
func holdsWhatItIsSaidTo(t *testing.T, all []item) {
	t.Helper()
	text := map[string][]byte{}
	for _, i := range all {
		text[i.Name] = i.data
	}
	var run reports.Run
	require.NoError(t, json.Unmarshal(text["run.json"], &run))
	program, err := os.Executable()
	require.NoError(t, err)
	own, err := os.ReadFile(program)
	require.NoError(t, err)
	sum := sha256.Sum256(own)
	require.Equal(t, hex.EncodeToString(sum[:]), run.Digest, "the program's own digest")
	require.Equal(t, "pintle "+version(), run.Program)
	require.NotNil(t, run.Environment)
	require.Equal(t, []any{runtime.GOOS, runtime.GOARCH, runtime.Version(), runtime.NumCPU()},
		[]any{run.Environment.System, run.Environment.Architecture, run.Environment.Go, run.Environment.Processors})
	for what, told := range map[string]string{"board": run.Controller.Board, "serial": run.Controller.Serial, "firmware": run.Controller.Firmware,
		"firmware digest": run.Controller.Digest, "bench": run.Bench.Name, "gate": run.Gate, "decision rule": run.Decision} {
		require.NotEmpty(t, told, what)
	}
	require.NotEmpty(t, run.Controller.Claims)
	require.Equal(t, uint64(1), run.Seed)
	var files []string
	for _, f := range run.Files {
		require.NotEmpty(t, f.Text, f.Name)
		files = append(files, f.Name)
	}
	require.Subset(t, files, []string{"bench.yaml", "gate.yaml", "controller.yaml", scenarios.BuiltInFile("normal-cycle")})
	var trial reports.Trial
	require.NoError(t, json.Unmarshal(text["trials/001-normal-cycle/0002.json"], &trial))
	require.Equal(t, rig.Seed(1, "normal-cycle", 2), trial.Seed)
	budgets := 0
	for _, f := range trial.Findings {
		if f.Appraisal != nil {
			budgets += len(f.Appraisal.Lines)
		}
	}
	require.NotZero(t, budgets, "findings have their budgets")
}
