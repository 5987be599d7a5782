package tracefile

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/format"
	"github.com/stretchr/testify/require"

	"pintle/rig/need"
	"pintle/rig/signal"
)

// A tableRow is a row as any reader of tables sees it.
type tableRow struct {
	Kind    string  `parquet:"kind"`
	Early   int64   `parquet:"early_ns"`
	Width   int64   `parquet:"width_ns"`
	Line    *string `parquet:"line,optional"`
	Made    *bool   `parquet:"made,optional"`
	Current *int64  `parquet:"current_uA,optional"`
	Text    *string `parquet:"text,optional"`
}

// fromTable puts a trace together from a table, knowing only the page in doc.go.
func fromTable(t *testing.T, rows []tableRow) *signal.Trace {
	t.Helper()
	tr := &signal.Trace{}
	for _, r := range rows {
		span := signal.Span{Early: signal.Instant(r.Early), Late: signal.Instant(r.Early + r.Width)}
		level := func() signal.Level {
			if *r.Made {
				return signal.Made
			}
			return signal.Broken
		}
		line := func() signal.Line {
			l, ok := signal.LineNamed(*r.Line)
			require.True(t, ok)
			return l
		}
		switch r.Kind {
		case "level":
			tr.Initial[line()] = level()
		case "edge":
			tr.Edges = append(tr.Edges, signal.EdgeSeen{Line: line(), Level: level(), Span: span})
		case "mark":
			tr.Marks = append(tr.Marks, signal.Mark{At: span.Early, Text: *r.Text})
		case "end":
			tr.End = span.Early
		case "sample":
			require.Nil(t, r.Line)
			require.Nil(t, r.Made)
			require.Nil(t, r.Text)
			tr.Samples = append(tr.Samples, signal.Sample{From: span.Early, To: span.Late, Current: signal.Current(*r.Current)})
		default:
			t.Fatalf("row of kind %q", r.Kind)
		}
	}
	return tr
}

// The file is put together here, so it is read by a general-purpose library that
// had no part in the layout: github.com/parquet-go/parquet-go's own file reader.
func TestAGeneralReaderReadsIt(t *testing.T) {
	many := ramp(maxDict + 5)
	for i := range many.Samples {
		many.Samples[i].Current = signal.Current(i * 7)
	}
	for name, tr := range map[string]*signal.Trace{
		"empty": {}, "small": ramp(500), "several pages": ramp(pageRows + 9), "several groups": ramp(groupRows + 3), "differences": many,
	} {
		t.Run(name, func(t *testing.T) {
			b := encode(t, tr)
			f, err := parquet.OpenFile(bytes.NewReader(b), int64(len(b)))
			require.NoError(t, err)
			value, ok := f.Lookup(formatKey)
			require.True(t, ok)
			require.Equal(t, formatName, value)
			units, ok := f.Lookup("units")
			require.True(t, ok)
			for _, c := range columns { // a number's unit is in its name, and told in words
				if name, unit, measured := strings.Cut(c.name, "_"); measured {
					require.Contains(t, []string{"ns", "uA"}, unit, name)
					require.Contains(t, units, c.name)
				} else {
					require.NotEqual(t, format.Int64, c.typ, "%s has no unit", c.name)
				}
			}
			rows, err := parquet.Read[tableRow](bytes.NewReader(b), int64(len(b)))
			require.NoError(t, err)
			require.Len(t, rows, eventRows(tr)+len(tr.Samples))
			same(t, tr, fromTable(t, rows))
		})
	}
}

// Another implementation in another language: hyparquet, in JavaScript.
func TestAnotherLanguageReadsIt(t *testing.T) {
	const how = "npm install --prefix DIR hyparquet hyparquet-compressors, and set PINTLE_NODE=DIR"
	node := need.Tool(t, "node", "apt-get install nodejs")
	dir := os.Getenv("PINTLE_NODE")
	if _, err := os.Stat(filepath.Join(dir, "node_modules", "hyparquet")); dir == "" || err != nil {
		need.Missing(t, "the npm package hyparquet is not there", how)
	}
	tr := ramp(pageRows + 100)
	name := filepath.Join(t.TempDir(), "trace.parquet")
	require.NoError(t, os.WriteFile(name, encode(t, tr), 0o600))
	out, err := exec.Command(node, "--input-type=module", "-e", `
const [dir, name] = process.argv.slice(1)
const { asyncBufferFromFile, parquetReadObjects } = await import(dir + "/node_modules/hyparquet/src/node.js")
const { compressors } = await import(dir + "/node_modules/hyparquet-compressors/src/index.js")
const rows = await parquetReadObjects({ file: await asyncBufferFromFile(name), compressors })
const of = kind => rows.filter(r => r.kind === kind)
const sum = xs => xs.reduce((a, b) => a + BigInt(b), 0n).toString()
console.log(["level", "edge", "mark", "end", "sample"].map(k => of(k).length).join(" "))
console.log(sum(of("sample").map(r => r.current_uA)))
console.log(sum(of("sample").map(r => r.early_ns)))
console.log("[" + of("edge").map(r => "('" + r.line + "', " + (r.made ? "True" : "False") + ")").join(", ") + "]")
console.log("[" + of("mark").map(r => "'" + r.text + "'").join(", ") + "]")
`, dir, name).CombinedOutput()
	require.NoError(t, err, "%s", out)
	current, early := int64(0), int64(0)
	for _, s := range tr.Samples {
		current += int64(s.Current)
		early += int64(s.From)
	}
	require.Equal(t, strings.Join([]string{
		strconv.Itoa(signal.LineCount-1) + " 3 2 1 65636",
		strconv.FormatInt(current, 10),
		strconv.FormatInt(early, 10),
		"[('remote', True), ('closed-limit', False), ('remote', False)]",
		"['press the remote', 'await ≥ 1 A: öffnend']",
	}, "\n"), strings.TrimSpace(string(out)))
}

// The bytes may not depend on the machine or the time: digests of traces stand in
// signed records. The figure is this package's own, taken on amd64; it changes
// when the layout or a compressing library does.
func TestBytesAreTheSameEverywhere(t *testing.T) {
	sum := sha256.Sum256(encode(t, ramp(100_000)))
	require.Equal(t, "8d87000b36bc27f95906645e8da64515079622775eab7f3ef7d8133d04624bad", hex.EncodeToString(sum[:]))
}
