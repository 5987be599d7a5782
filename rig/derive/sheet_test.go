package derive_test

import (
	"bytes"
	"errors"
	"flag"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig/derive"
)

var update = flag.Bool("update", false, "write the golden files anew")

// awkward is the boatyard's barrier with parts that do not suit it.
func awkward() derive.Given {
	g := boatyard()
	g.Opening.Running = 15 * amp
	g.Bridge = derive.Rating{Continuous: 15 * amp, Short: 35 * amp, Stands: 2 * time.Second}
	g.RunDown = 2500 * ms
	g.Sensors[0].Pulse = 12 * ms
	g.Sensors[1].Arc, g.Sensors[1].RimSpeed = 0.003, 0.9
	g.Closing.CoastDistance = 0.04
	return g
}

func TestGoldenSheets(t *testing.T) {
	for name, g := range map[string]derive.Given{"boatyard": boatyard(), "awkward": awkward()} {
		t.Run(name, func(t *testing.T) {
			require.NoError(t, g.Check())
			var out bytes.Buffer
			require.NoError(t, derive.Sheet(&out, 80, g, derive.Derive(g), nil))
			file := "testdata/" + name + ".golden"
			if *update {
				require.NoError(t, os.WriteFile(file, out.Bytes(), 0o644))
			}
			want, err := os.ReadFile(file)
			require.NoError(t, err, "go test ./rig/derive -update writes it")
			require.NotEmpty(t, want)
			require.Equal(t, string(want), out.String())
			for _, width := range []int{0, 40, 80, 120} {
				checkWidth(t, max(width, 40), g)
			}
		})
	}
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no room") }

func TestSheetSaysThatItCouldNotBeWritten(t *testing.T) {
	require.ErrorContains(t, derive.Sheet(full{}, 80, derive.Given{}, nil, nil), "write the sheet of claims: no room")
}

func TestEverySheetEndsWithItsCautions(t *testing.T) {
	for _, ps := range [][]derive.Proposal{nil, derive.Derive(boatyard())} {
		var out bytes.Buffer
		require.NoError(t, derive.Sheet(&out, 200, boatyard(), ps, nil))
		require.Contains(t, out.String(), "Local codes, and the judgement of whoever is licensed")
	}
}

func BenchmarkDerive(b *testing.B) {
	b.ReportAllocs()
	g := boatyard()
	for b.Loop() {
		derive.Derive(g)
	}
}
