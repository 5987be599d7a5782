package wiring

import (
	"bytes"
	"flag"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/header"
	"pintle/rig/need"
	"pintle/rig/signal"
)

var update = flag.Bool("update", false, "rewrite the sheets in testdata")

func pin(t require.TestingT, name string) header.Pin {
	p, err := header.Find(name)
	require.NoError(t, err)
	return p
}

// boatyard is a sheet with one wire of each kind.
func boatyard(t require.TestingT) *Sheet {
	return &Sheet{
		Title: "Spring check of the slipway barrier", Place: "Tern Slip boatyard, slipway gate", Meter: "meter at /dev/serial0",
		Digest: strings.Repeat("0123456789abcdef", 4), Edge: 5 * time.Millisecond, InUse: []header.Bus{header.Serial},
		Wires: []Wire{
			{Line: signal.Remote, Pin: pin(t, "GPIO17"), Pull: "none", Through: "optocoupler", Voltage: "5V", Volts: 5, Connector: "J3.1", Note: "twisted with its return"},
			{Line: signal.OpenLimit, Pin: pin(t, "GPIO22"), NormallyClosed: true, Pull: "none", Through: "optocoupler"},
			{Line: signal.ClosedLimit, Pin: pin(t, "16"), ActiveLow: true, Pull: "up", Through: "optocoupler", Connector: "J4.2, the one with the long name beside the aerial"},
			{Line: signal.Supply, Power: true, Pin: pin(t, "GPIO5"), Pull: "none", Through: "relay", Voltage: "24V", Volts: 24, Connector: "J1.1"},
			{Line: signal.SupplyDip, Power: true, Pin: pin(t, "GPIO6"), ActiveLow: true, Pull: "none", Through: "relay", Voltage: "61V", Volts: 61},
			{Line: signal.StallLoad, Power: true, Pull: "none", Through: "relay"},
			{Line: signal.HallTravel, Pin: pin(t, "GPIO24"), Pull: "none", Through: "transistor"},
			{Line: signal.Heartbeat, Pin: pin(t, "GPIO26"), Pull: "none", Through: "optocoupler"},
			{Line: signal.DriveOpen, Pin: pin(t, "GPIO16"), Pull: "down", Through: "optocoupler"},
			{Line: signal.DriveClose, Pin: pin(t, "40"), ActiveLow: true, Pull: "none", Through: "direct", Voltage: "3.3V", Volts: 3.3},
		},
	}
}

// TestSheets holds the sheets to those in testdata.
func TestSheets(t *testing.T) {
	sheets := map[string]*Sheet{"boatyard": boatyard(t), "empty": {}}
	golden, err := filepath.Glob("testdata/*")
	require.NoError(t, err)
	if !*update {
		require.Len(t, golden, 2*len(sheets), "the sheets in testdata are gone")
	}
	for name, s := range sheets {
		for ending, write := range map[string]func(io.Writer) error{"txt": func(w io.Writer) error { return s.Text(w, 80) }, "svg": s.SVG} {
			var got bytes.Buffer
			require.NoError(t, write(&got))
			file := filepath.Join("testdata", name+"."+ending)
			if *update {
				require.NoError(t, os.MkdirAll("testdata", 0o755))
				require.NoError(t, os.WriteFile(file, got.Bytes(), 0o644))
			}
			want, err := os.ReadFile(file)
			require.NoError(t, err)
			assert.Equal(t, string(want), got.String(), file)
		}
	}
}

// What a pin's level means, by hand: each way to wire a contact.
func TestLevels(t *testing.T) {
	for _, c := range []struct {
		low, closed bool
		want        string
	}{
		{false, false, "low: broken, high: made"},
		{true, false, "low: made, high: broken"},
		{false, true, "low: made, high: broken"},
		{true, true, "low: broken, high: made"},
	} {
		w := Wire{Line: signal.OpenLimit, ActiveLow: c.low, NormallyClosed: c.closed}
		assert.Equal(t, c.want, w.Levels())
		w.OpenDrain = true
		assert.Equal(t, c.want+" (by a pull-up alone)", w.Levels())
	}
}

// A supply that the board itself would switch on before any program runs is warned of,
// and one that it would not is not.
func TestStartOfTheBoard(t *testing.T) {
	for _, c := range []struct {
		pin  string
		low  bool
		want bool
	}{{"GPIO8", false, true}, {"GPIO9", false, false}, {"GPIO8", true, false}, {"GPIO9", true, true}} {
		w := Wire{Line: signal.Supply, Power: true, Pin: pin(t, c.pin), ActiveLow: c.low, Through: "relay"}
		warned := false
		for _, caution := range w.cautions() {
			warned = warned || strings.Contains(caution.Words, "from power-on until the program runs")
		}
		assert.Equal(t, c.want, warned, "%s, active low %v", c.pin, c.low)
	}
}

func TestCautionsOfTheBench(t *testing.T) {
	about := func(s *Sheet) string {
		var all []string
		for _, c := range s.Cautions() {
			all = append(all, c.About+": "+c.Words)
		}
		return strings.Join(all, "\n")
	}
	s := boatyard(t)
	assert.NotContains(t, about(s), "No heartbeat")
	assert.Contains(t, about(s), "No pin yet: stall-load:")
	assert.Contains(t, about(s), "61V is more than the 60 V")
	assert.NotContains(t, about(s), "24V is more")
	for _, matter := range []string{"Isolation", "Fusing", "Supply interlock", "Secured motor", "Nobody in the mechanism", "Local codes"} {
		assert.Contains(t, about(s), matter+": ")
		assert.Contains(t, about(&Sheet{}), matter+": ")
	}
	assert.Contains(t, about(&Sheet{}), "No heartbeat")
	assert.Contains(t, about(s), "Lower supplies")
	assert.NotContains(t, about(s), "Short on purpose")
	assert.Contains(t, about(&Sheet{Wires: []Wire{{Line: signal.MotorShort}}}), "Short on purpose")
}

func TestSameSheetSameBytes(t *testing.T) {
	var a, b bytes.Buffer
	require.NoError(t, boatyard(t).PDF(&a, Options{}))
	require.NoError(t, boatyard(t).PDF(&b, Options{}))
	require.True(t, bytes.Equal(a.Bytes(), b.Bytes()))
	b.Reset()
	require.NoError(t, boatyard(t).PDF(&b, Options{Letter: true}))
	require.False(t, bytes.Equal(a.Bytes(), b.Bytes()), "another paper")
}

// awkward are texts that a file can hold and a document must stand.
var awkward = []string{"", "門", "a\x00b", "<b>&", strings.Repeat("long ", 200), strings.Repeat("x", 500), "Łódź", "🙂", "(\\)"}

// TestDocument has other programs read the document and the picture.
func TestDocument(t *testing.T) {
	qpdf := need.Tool(t, "qpdf", "apt-get install qpdf")
	words := need.Tool(t, "pdftotext", "apt-get install poppler-utils")
	rsvg := need.Tool(t, "rsvg-convert", "apt-get install librsvg2-bin")
	odd := boatyard(t)
	for i := range odd.Wires {
		odd.Wires[i].Connector, odd.Wires[i].Note = awkward[i%len(awkward)], awkward[(i+3)%len(awkward)]
	}
	odd.Title, odd.Place = awkward[4], awkward[5]
	for name, s := range map[string]*Sheet{"boatyard": boatyard(t), "empty": {}, "odd": odd} {
		file := filepath.Join(t.TempDir(), "sheet.pdf")
		var b bytes.Buffer
		require.NoError(t, s.PDF(&b, Options{Letter: name == "odd"}), name)
		require.NoError(t, os.WriteFile(file, b.Bytes(), 0o644))
		out, err := exec.Command(qpdf, "--check", file).CombinedOutput()
		require.NoError(t, err, "%s: %s", name, out)
		text, err := exec.Command(words, file, "-").Output()
		require.NoError(t, err)
		assert.Contains(t, string(text), "Nobody in the mechanism")
		assert.Contains(t, string(text), "dead-man")
		b.Reset()
		require.NoError(t, s.SVG(&b))
		svg := filepath.Join(t.TempDir(), "sheet.svg")
		require.NoError(t, os.WriteFile(svg, b.Bytes(), 0o644))
		out, err = exec.Command(rsvg, "-o", svg+".png", svg).CombinedOutput()
		require.NoError(t, err, "%s: %s", name, out)
	}
}

// Every wire with a pin is in every rendering at that pin, whatever the wiring.
func TestEveryWireIsDrawn(t *testing.T) {
	free := []string{}
	for n := 2; n <= 27; n++ {
		free = append(free, header.Pin{Kind: header.GPIO, Line: uint32(n)}.Name())
	}
	rapid.Check(t, func(t *rapid.T) {
		pins := rapid.Permutation(free).Draw(t, "pins")
		s := &Sheet{Title: "any"}
		for i, info := range signal.Lines {
			s.Wires = append(s.Wires, Wire{Line: info.Line, Pin: pin(t, pins[i]), ActiveLow: rapid.Bool().Draw(t, "low"),
				NormallyClosed: info.Driven && rapid.Bool().Draw(t, "closed"), Through: rapid.SampledFrom([]string{"optocoupler", "relay", "transistor", "direct"}).Draw(t, "through"),
				Connector: rapid.SampledFrom(awkward).Draw(t, "connector"), Note: rapid.SampledFrom(awkward).Draw(t, "note")})
		}
		var text, svg bytes.Buffer
		if s.Text(&text, 80) != nil || s.SVG(&svg) != nil {
			t.Fatal("not written")
		}
		for i := range s.Wires {
			w := &s.Wires[i]
			if !strings.Contains(svg.String(), ">"+w.Line.String()+"</text>") || !strings.Contains(text.String(), w.pinWords()) {
				t.Fatalf("%v is missing", w.Line)
			}
		}
		if got := strings.Count(svg.String(), `class="band"`); got != len(s.Wires)+3 { // and the first boxes and the hold time of the circuit
			t.Fatalf("%d pins are in use in the drawing, not %d", got-3, len(s.Wires))
		}
	})
}
