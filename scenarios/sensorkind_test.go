package scenarios

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig/gate"
)

// sensorOf is what gate.yaml makes of a sensor with these keys.
func sensorOf(t *testing.T, keys string) gate.Sensor {
	t.Helper()
	job := folder(starterOnce())
	job["gate.yaml"].Data = fmt.Appendf(nil, `title: A gate
opening: {time: 9s, current: 11A}
closing: {time: 7s, current: 7.5A}
stall current: 30A
sensors:
  open-limit: {from: 97 %%, to: 100 %%}
  closed-limit: {%s}
`, keys)
	loaded, err := Load(job, "my-gate", equipment)
	require.NoError(t, err)
	for _, s := range loaded.Gate.Spec.Sensors {
		if s.Line.String() == "closed-limit" {
			return s
		}
	}
	t.Fatal("there is no such sensor")
	return gate.Sensor{}
}

// A sensor of which gate.yaml tells no more than its kind is as the table of kinds has it;
// what the file tells goes before that, nothing at all included.
func TestASensorIsAsItsKind(t *testing.T) {
	for _, k := range gate.Kinds {
		if !k.OfGate {
			continue
		}
		s := sensorOf(t, "kind: "+k.Name+", from: 0 %, to: 3 %")
		require.Equal(t, k.Kind, s.Kind)
		require.Equal(t, k.MostBounce, s.Bounce, k.Name)
		require.Equal(t, k.Delay, s.Delay, k.Name)
		s = sensorOf(t, "kind: "+k.Name+", from: 0 %, to: 3 %, bounce: 0s, delay: 2ms")
		require.Zero(t, s.Bounce, k.Name)
		require.Equal(t, 2*time.Millisecond, s.Delay, k.Name)
	}
	require.Equal(t, gate.Lever, sensorOf(t, "from: 0 %, to: 3 %").Kind, "where no kind is told")
	require.Equal(t, 157*time.Millisecond, sensorOf(t, "from: 0 %, to: 3 %, bounce: 157ms").Bounce, "the outliers that were published")
}

// A lever operates at one place and releases at another: the first is where its stretch
// ends, and the second is past it by the hysteresis.
func TestALeverOperatesAndReleases(t *testing.T) {
	for operate, c := range map[float64]struct {
		release float64
		keys    string
	}{
		0.03: {0.035, "from: 0 %, to: 3 %, hysteresis: 0.5 %"},
		0.97: {0.95, "from: 97 %, to: 100 %, hysteresis: 2 %"},
	} {
		s := sensorOf(t, c.keys)
		w, err := gate.LeverWindow(operate, c.release)
		require.NoError(t, err)
		require.InDeltaSlice(t, []float64{w.From, w.To, w.Hysteresis}, []float64{s.From, s.To, s.Hysteresis}, 1e-12)
	}
}
