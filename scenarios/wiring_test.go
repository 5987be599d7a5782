package scenarios

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/header"
	"pintle/rig/signal"
	"pintle/scenarios/yamlfile"
)

// wired gives the mistakes of a bench with these lines, and what it reads.
func wired(t require.TestingT, lines string) (BenchFile, yamlfile.Mistakes) {
	text := strings.Replace(string(Starter(equipment)["bench.yaml"]), "  remote: {}           # the button of the remote\n", lines, 1)
	require.Contains(t, text, lines)
	text = strings.Replace(text, "  supply: {}           # the controller's supply\n", "", 1)
	var b BenchFile
	bad := yamlfile.Decode(yamlfile.New("bench.yaml", []byte(text)), &b, namesOf(&equipment))
	return b, append(bad, b.check(&equipment)...)
}

const both = "  remote: {}\n  supply: {}\n"

// Each conflict beside its nearest neighbour that is none.
func TestWiringConflicts(t *testing.T) {
	for _, c := range []struct{ lines, want string }{
		{"  remote: {pin: GPIO17}\n  supply: {pin: GPIO18}\n", ""},
		{"  remote: {drive: open drain}\n  supply: {}\n", ""},
		{"  remote: {}\n  supply: {}\n  drive-open: {drive: open drain}\n", "does not drive it"},
		{"  remote: {read back by: drive-open}\n  supply: {}\n  drive-open: {}\n", ""},
		{"  remote: {read back by: drive-open}\n  supply: {}\n", `this bench has no line "drive-open"`},
		{"  remote: {read back by: beam}\n  supply: {}\n", `the bench drives "beam"`},
		{"  remote: {}\n  supply: {read back by: drive-open}\n  drive-open: {}\n", "not toggled by the check"},
		{"  remote: {}\n  supply: {}\n  drive-open: {read back by: drive-close}\n  drive-close: {}\n", "not toggled by the check"},
		{"  remote: {pin: GPIO17}\n  supply: {pin: 11}\n", "both on pin 11 (GPIO17)"},
		{"  remote: {pin: gpio17}\n  supply: {pin: GPIO17}\n", "both on pin 11 (GPIO17)"},
		{"  remote: {pin: 17}\n  supply: {}\n", "pin 17 (3V3) is no line"},
		{"  remote: {pin: GPIO1}\n  supply: {}\n", "kept by the board"},
		{"  remote: {pin: 27}\n  supply: {}\n", "kept by the board"},
		{"  remote: {pin: GPIO2}\n  supply: {}\n", ""},
		{"  remote: {pin: GPIO27}\n  supply: {}\n", ""},
		{"  remote: {pin: GPIO28}\n  supply: {}\n", "does not come to the connector"},
		{"  remote: {pin: 40}\n  supply: {}\n", ""},
		{"  remote: {pin: 41}\n  supply: {}\n", "no pin 41"},
		{"  remote: {through: direct, voltage: 3.3V}\n  supply: {}\n", ""},
		{"  remote: {through: direct, voltage: 3.301V}\n  supply: {}\n", "would put 3.301V on a pin"},
		{"  remote: {through: direct, voltage: 24V}\n  supply: {}\n", "would put 24V on a pin"},
		{"  remote: {through: optocoupler, voltage: 24V}\n  supply: {}\n", ""},
		{"  remote: {voltage: 24V}\n  supply: {}\n", ""},
		{"  remote: {through: direct}\n  supply: {}\n", "voltage on the wire is not given"},
		{"  remote: {}\n  supply: {through: direct, voltage: 3.3V}\n", "switches more than a pin can carry"},
		{"  remote: {}\n  supply: {through: transistor}\n", ""},
		{"  remote: {}\n  supply: {contact: normally open}\n", ""},
		{"  remote: {}\n  supply: {contact: normally closed}\n", "the supply would be on at rest"},
		{"  remote: {contact: normally closed}\n  supply: {}\n", ""},
		{"  remote: {direction: output}\n  supply: {}\n", ""},
		{"  remote: {direction: input}\n  supply: {}\n", "remote is a line that the bench drives"},
		{both + "  drive-open: {direction: input}\n", ""},
		{both + "  drive-open: {direction: output}\n", "drive-open is a line that the bench only sees"},
		{both + "  drive-open: {contact: normally open}\n", "plays no contact"},
		{both + "  drive-open: {through: relay}\n", "too slow to sense"},
		{"  remote: {pin: GPIO3, pull: up}\n  supply: {}\n", ""},
		{"  remote: {pin: GPIO3, pull: none}\n  supply: {}\n", "has a resistor on the board"},
		{"  remote: {pin: GPIO4, pull: none}\n  supply: {}\n", ""},
	} {
		_, bad := wired(t, c.lines)
		if c.want == "" {
			assert.Empty(t, bad, c.lines)
			continue
		}
		if assert.Len(t, bad, 1, c.lines) {
			assert.Contains(t, bad[0].Text, c.want)
			assert.Positive(t, bad[0].Line)
			assert.Positive(t, bad[0].Col)
		}
	}
}

// Every part of the board that can be in use keeps exactly its own pins.
func TestPartsInUseKeepTheirPins(t *testing.T) {
	for _, part := range []header.Bus{header.I2C, header.SPI, header.Serial, header.OneWire, header.I2S} {
		kept := 0
		for line := 2; line <= 27; line++ {
			at, err := header.Find(fmt.Sprintf("GPIO%d", line))
			require.NoError(t, err)
			b, bad := wired(t, fmt.Sprintf("  remote: {pin: GPIO%d}\n  supply: {}\n", line))
			require.Empty(t, bad)
			b.InUse = []yamlfile.Text{{Source: yamlfile.Source{Text: string(part)}}}
			bad = b.check(&equipment)
			assert.Equal(t, at.Bus == part, len(bad) == 1, "%s, GPIO%d: %v", part, line, bad)
			kept += len(bad)
		}
		assert.GreaterOrEqual(t, kept, 1, part)
	}
}

// Whatever is accepted puts each line on a pin of its own, that may be driven or
// sensed, that nothing else uses, and that no more than it stands comes to.
func TestAnyAcceptedWiringIsSafe(t *testing.T) {
	pins := make([]string, 0, 75)
	for n := range 42 {
		pins = append(pins, fmt.Sprint(n))
	}
	for n := range 30 {
		pins = append(pins, fmt.Sprintf("GPIO%d", n))
	}
	for n := range 600 { // mostly pins that there are, or nothing would be accepted
		pins = append(pins, fmt.Sprintf("GPIO%d", 2+n%26))
	}
	accepted := 0
	rapid.Check(t, func(t *rapid.T) {
		var text strings.Builder
		for _, l := range []signal.Line{signal.Remote, signal.Supply, signal.DriveOpen, signal.Heartbeat} {
			fmt.Fprintf(&text, "  %s: {", l)
			var keys []string
			if rapid.IntRange(0, 9).Draw(t, "wired") > 0 {
				keys = append(keys, "pin: "+rapid.SampledFrom(pins).Draw(t, "pin"))
			}
			if rapid.IntRange(0, 5).Draw(t, "through given") == 5 {
				keys = append(keys, "through: "+rapid.SampledFrom([]string{"optocoupler", "relay", "transistor", "direct"}).Draw(t, "through"))
			}
			if rapid.Bool().Draw(t, "voltage given") {
				keys = append(keys, "voltage: "+rapid.SampledFrom([]string{"1V", "3.3V", "3.31V", "24V"}).Draw(t, "voltage"))
			}
			text.WriteString(strings.Join(keys, ", ") + "}\n")
		}
		part := rapid.SampledFrom([]header.Bus{header.I2C, header.SPI, header.Serial}).Draw(t, "part")
		b, bad := wired(t, text.String())
		b.InUse = []yamlfile.Text{{Source: yamlfile.Source{Text: string(part)}}}
		if len(bad) > 0 || len(b.check(&equipment)) > 0 {
			return
		}
		accepted++
		used := map[int]string{}
		for _, e := range b.Lines {
			v := e.Value
			if v.Through.Text == "direct" && (!v.Voltage.Given() || v.Voltage.Value > 3.3 || e.Name.Text == "supply") {
				t.Fatalf("%s is direct at %v", e.Name.Text, v.Voltage.Text)
			}
			if !v.Pin.Given() {
				continue
			}
			if other, taken := used[v.Pin.At.Number]; taken {
				t.Fatalf("%s and %s are both on %v", other, e.Name.Text, v.Pin.At)
			}
			used[v.Pin.At.Number] = e.Name.Text
			if v.Pin.At.Kind != header.GPIO || v.Pin.At.Bus == part {
				t.Fatalf("%s is on %v", e.Name.Text, v.Pin.At)
			}
		}
	})
	t.Logf("%d accepted", accepted)
	if !testing.Short() { // of twenty, all may be refused
		require.Positive(t, accepted, "nothing was ever accepted: nothing was tested")
	}
}
