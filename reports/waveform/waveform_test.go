package waveform_test

import (
	"bytes"
	"encoding/csv"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/reports/waveform"
	"pintle/rig/need"
	"pintle/rig/signal"
)

func trace() *signal.Trace {
	t := &signal.Trace{End: 9000}
	t.Initial[signal.ClosedLimit] = signal.Made
	t.Edges = []signal.EdgeSeen{
		{Line: signal.Supply, Level: signal.Made, Span: signal.At(0)},
		{Line: signal.Remote, Level: signal.Made, Span: signal.Span{Early: 1400, Late: 1600}},
		{Line: signal.ClosedLimit, Level: signal.Broken, Span: signal.At(5000)},
		{Line: signal.Remote, Level: signal.Broken, Span: signal.At(8500)},
	}
	for i, c := range []signal.Current{-10_000, 0, 1_250_000, 1_250_000, -30 * signal.Ampere} {
		from := signal.Instant(1000*i - 1000)
		t.Samples = append(t.Samples, signal.Sample{From: from, To: from + 1200, Current: c})
	}
	return t
}

// decode reads a value change dump by the rules of IEEE 1364: declarations up to
// $enddefinitions, then times and values, each of a scalar or a real.
func decode(t *testing.T, dump string) (names map[string]string, at map[string][]string) {
	t.Helper()
	names, at = map[string]string{}, map[string][]string{}
	words := strings.Fields(dump)
	now, declared := "", false
	for i := 0; i < len(words); i++ {
		w := words[i]
		switch {
		case w == "$var":
			names[words[i+3]] = words[i+4]
			require.Equal(t, "$end", words[i+5])
			i += 5
		case w == "$enddefinitions":
			declared = true
			i++
		case !declared || w == "$dumpvars" || w == "$end":
		case w[0] == '#':
			if now != "" {
				was, err := strconv.Atoi(now)
				require.NoError(t, err)
				is, err := strconv.Atoi(w[1:])
				require.NoError(t, err)
				require.GreaterOrEqual(t, is, was, "time runs forward")
			}
			now = w[1:]
		case w[0] == 'r':
			id := names[words[i+1]]
			require.NotEmpty(t, id)
			at[id] = append(at[id], now+"="+w[1:])
			i++
		case w[0] == '0' || w[0] == '1':
			id := names[w[1:]]
			require.NotEmpty(t, id, "value of %q, which was not declared", w)
			at[id] = append(at[id], now+"="+w[:1])
		default:
			t.Fatalf("%q is nothing that a value change dump has", w)
		}
	}
	return names, at
}

func TestVCD(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, waveform.VCD(&b, trace(), "missed-closed-limit/1"))
	names, at := decode(t, b.String())
	assert.Len(t, names, 4)
	assert.Contains(t, b.String(), "$timescale 1 ns $end")
	assert.Contains(t, b.String(), "$scope module missed_closed_limit_1 $end")
	assert.Equal(t, []string{"0=0", "0=1"}, at["supply"])
	assert.Equal(t, []string{"0=0", "1500=1", "8500=0"}, at["remote"])
	assert.Equal(t, []string{"0=1", "5000=0"}, at["closed_limit"])
	assert.Equal(t, []string{"0=-0.01", "600=0", "1600=1.25", "3600=-30"}, at["motor_current_A"])
	assert.True(t, strings.HasSuffix(b.String(), "#9000\n"), "the end of the trial is marked")
}

// TestVCDIsReadByAnotherProgram gives the dump to GTKWave's converter.
func TestVCDIsReadByAnotherProgram(t *testing.T) {
	tool := need.Tool(t, "vcd2fst", "apt-get install gtkwave")
	back := need.Tool(t, "fst2vcd", "apt-get install gtkwave")
	dir := t.TempDir()
	in, out := filepath.Join(dir, "a.vcd"), filepath.Join(dir, "a.fst")
	var b bytes.Buffer
	require.NoError(t, waveform.VCD(&b, trace(), "a"))
	require.NoError(t, os.WriteFile(in, b.Bytes(), 0o644))
	text, err := exec.Command(tool, in, out).CombinedOutput()
	require.NoError(t, err, string(text))
	again, err := exec.Command(back, out).Output()
	require.NoError(t, err)
	_, at := decode(t, string(again))
	assert.Contains(t, at["remote"], "1500=1")
	assert.Contains(t, at["closed_limit"], "5000=0")
}

func TestCSV(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, waveform.CSV(&b, trace()))
	rows, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	assert.Equal(t, []string{"what", "early_ns", "late_ns", "current_uA", "made"}, rows[0])
	assert.Len(t, rows, 1+1+4+5)
	assert.Contains(t, rows, []string{"remote", "1400", "1600", "", "1"})
	assert.Contains(t, rows, []string{"current", "3000", "4200", "-30000000", ""})
}
