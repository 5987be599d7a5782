package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig/derive"
	"pintle/rig/gate"
	"pintle/rig/motion"
	"pintle/rig/signal"
	"pintle/scenarios"
)

// A gate that slides, on a battery of 12 V, and one that swings against a spring, on one of
// 36 V with magnets that pass their sensors on the way.
const (
	sliding = `title: Sliding gate of the winter shed
machine:
  length: 3.2m
  wheel: 60mm
  mass: 240kg
  gear: 30
  friction: {static: 14Nm, sliding: 10Nm}
  motor: {resistance: 0.5ohm, inductance: 0.8mH, constant: 0.06Vs/rad, inertia: 0.0004kgm2}
  battery: {voltage: 12.8V, resistance: 15mohm, cable: 30mohm, resistance per degree: -0.2mohm, voltage per degree: 10mV, temperature: 15degC, coldest: -20degC, lowest: 88 %}
parts:
  bridge: {continuous: 20A, short: 60A, stands: 1s, switching: 1ms}
  motor: {continuous: 8A, short: 20A, stands: 90s}
sensors:
  closed-limit: {kind: reed, from: 0 %, to: 5 %}
  open-limit: {kind: lever, from: 96 %, to: 100 %, bounce: 6ms, delay: 2ms}
`
	springy = `title: Swing gate of the slipway road with a closing spring
duty: 20 %
beam delay: 30ms
machine:
  swing: 95deg
  inertia: 60kgm2
  gear: 400
  pull:
    - {at: 0 %, torque: 40Nm}
    - {at: 100 %, torque: 130Nm}
  friction: {static: 220Nm, sliding: 190Nm, viscous: 30Nms/rad}
  motor: {resistance: 0.9ohm, inductance: 2mH, constant: 0.09Vs/rad, inertia: 0.0004kgm2}
  battery: {voltage: 38.4V, resistance: 60mohm, cable: 90mohm, temperature: 20degC, coldest: -30degC, lowest: 90 %}
parts:
  bridge: {continuous: 25A, short: 100A, stands: 500ms, switching: 5ms}
  motor: {continuous: 10A, short: 25A, stands: 40s}
sensors:
  closed-limit:
    kind: hall
    delay: 1ms
    wheel: {radius: 40mm, turns: 2.5, arc: 9mm, release: 1deg, magnets: [20deg]}
  open-limit:
    kind: hall
    wheel: {radius: 40mm, turns: 2.5, arc: 9mm, release: 1deg, magnets: [20deg, 896deg]}
`
)

// reedLimit begins the closed limit of the sliding gate.
const reedLimit = "closed-limit: {kind: reed, from: 0 %, to: 5 %"

// gateJob is a starter with another gate; with none it is the demo.
func gateJob(t *testing.T, text string) *scenarios.Job {
	t.Helper()
	if text == "" {
		job, err := scenarios.Demo(equipment())
		require.NoError(t, err)
		return job
	}
	files := scenarios.Starter(equipment())
	files["gate.yaml"] = []byte(text)
	files["controller.yaml"] = append([]byte("looks every: 10ms\n"), files["controller.yaml"]...)
	dir := t.TempDir()
	for name, text := range files {
		path := filepath.Join(dir, name)
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, text, 0o644))
	}
	job, err := loadJob(dir)
	require.NoError(t, err)
	return job
}

func claimOf(t *testing.T, job *scenarios.Job, claim string) derive.Proposal {
	t.Helper()
	_, ps, err := derived(job)
	require.NoError(t, err)
	p, ok := derive.Find(ps, claim)
	require.True(t, ok, claim)
	return p
}

// Somebody with the sheet and a pocket calculator finds on it every figure that goes into a
// formula, beside margin, factors and copper, which its words or its sources name.
func TestTheSheetIsFollowedByHand(t *testing.T) {
	number := regexp.MustCompile(`[0-9]+(\.[0-9]+)?`)
	for name, text := range map[string]string{"demo": "", "sliding": sliding, "springy": springy} {
		known, ps, err := derived(gateJob(t, text))
		require.NoError(t, err)
		var sheet bytes.Buffer
		require.NoError(t, derive.Sheet(&sheet, 10_000, known, ps, nil))
		said := map[string]bool{}
		for _, n := range strings.Fields("1 1.25 2 5 100 360 0.00393") {
			said[n] = true
		}
		var formulas []string
		for line := range strings.Lines(sheet.String()) {
			if formula, result, ok := strings.Cut(line, " = "); ok && strings.HasPrefix(line, "      ") {
				formulas, line = append(formulas, formula), result
			}
			for _, n := range number.FindAllString(line, -1) {
				said[n] = true
			}
		}
		require.Greater(t, len(formulas), 30, name)
		for _, f := range formulas {
			for _, n := range number.FindAllString(f, -1) {
				require.True(t, said[n], "%s: whence is %s in %s?", name, n, f)
			}
		}
	}
}

// What the sheet's Ohm's law comes to is what the simulated machine does.
func TestTheSheetAgreesWithTheMachine(t *testing.T) {
	for name, text := range map[string]string{"demo": "", "sliding": sliding, "springy": springy} {
		job := gateJob(t, text)
		known, _, err := derived(job)
		require.NoError(t, err)
		m := job.Gate.Spec.Machine
		usual, err := m.Figures(m.Celsius, 1)
		require.NoError(t, err)
		cold, err := m.Figures(job.Gate.Machine.Battery.Coldest.Value, 1)
		require.NoError(t, err)
		require.InEpsilon(t, max(usual.Stall, cold.Stall).Amperes(), known.StallCold.Amperes(), 1e-3, name)
		require.InEpsilon(t, usual.CurrentDecay.Seconds(), known.CurrentDecay.Seconds(), 1e-3, name)
		require.InEpsilon(t, usual.ShortCircuit.Amperes(), known.ShortCircuit.Amperes(), 1e-3, name)
		require.Less(t, known.StallWarm.Amperes(), usual.Stall.Amperes(), "%s: warm, on a poor battery", name)
	}
}

// A gate that must work on a colder day still stalls on a warm one.
func TestAColderDayIsNoLicence(t *testing.T) {
	warm := claimOf(t, gateJob(t, springy), "stall current")
	cold := claimOf(t, gateJob(t, strings.Replace(springy, "coldest: -30degC", "coldest: -50degC", 1)), "stall current")
	require.Equal(t, *warm.High, *cold.High)
	// By hand: 0.9 Ω × (1 + 0.00393 × 75) = 1.1653 Ω at 100 °C, 38.4 V × 90 % = 34.56 V;
	// 34.56 V / 1.3153 Ω = 26.276 A, less a fifth.
	require.InDelta(t, 26.276*0.8, float64(*warm.High)*1e-6, 0.01)
}

// A magnet that passes its sensor on the way to the stop lets it break again: then only its
// own length is left to come to rest in. By hand: 9 mm of a path of 40 mm radius are 12.89°,
// of 900° of the whole travel. The other one is cut short by the stop, 4° past its middle.
func TestASensorThatBreaksAgain(t *testing.T) {
	known, _, err := derived(gateJob(t, springy))
	require.NoError(t, err)
	require.InDelta(t, 12.8916/900, known.Sensors[0].Window, 1e-6)
	require.InDelta(t, (12.8916/2+4)/900, known.Sensors[1].Window, 1e-6)
}

// What gate.yaml and controller.yaml give is not said to be missing.
func TestWhatIsGivenIsUsed(t *testing.T) {
	job := gateJob(t, springy)
	known, ps, err := derived(job)
	require.NoError(t, err)
	require.Equal(t, 0.2, known.Duty)
	require.Equal(t, 30*time.Millisecond, known.BeamDelay)
	require.Equal(t, 10*time.Millisecond, known.Loop)
	for _, p := range ps {
		require.Empty(t, p.Missing, p.Name())
	}
	_, ps, err = derived(gateJob(t, ""))
	require.NoError(t, err)
	for _, claim := range []string{"stall time", "dead time", "reversal after beam", "stop after limit", "ignored glitch"} {
		p, ok := derive.Find(ps, claim)
		require.True(t, ok)
		require.Contains(t, p.Missing, "how often the controller looks at its inputs", claim)
	}
}

// What the file says of a sensor goes; for the rest it is one of its kind, and the sheet
// says so.
func TestASensorIsOneOfItsKind(t *testing.T) {
	require.Contains(t, sliding, reedLimit)
	for _, kind := range gate.Kinds {
		if !kind.OfGate {
			continue
		}
		entry := strings.Replace(reedLimit, "reed", kind.Name, 1)
		known, ps, err := derived(gateJob(t, strings.Replace(sliding, reedLimit, entry, 1)))
		require.NoError(t, err)
		s := known.Sensors[0]
		require.Equal(t, [2]time.Duration{kind.MostBounce, kind.Delay}, [2]time.Duration{s.Bounce, s.Delay}, kind.Name)
		require.Equal(t, [2]string{kind.BounceFrom, kind.DelayFrom}, [2]string{s.BounceFrom, s.DelayFrom}, kind.Name)
		var sheet bytes.Buffer
		require.NoError(t, derive.Sheet(&sheet, 10_000, known, ps, nil))
		require.Equal(t, kind.Delay > 0, strings.Contains(sheet.String(), "The closed-limit answers after 0.4 µs, as others of its kind ("+kind.Name+") do: its own is not given."), kind.Name)
		require.Equal(t, kind.Delay > 0, strings.Contains(sheet.String(), "data sheet of the Micronas HAL114"), kind.Name)
		require.Equal(t, kind.Bounces, strings.Contains(sheet.String(), "The closed-limit bounces for up to 6.2 ms, as others of its kind"), kind.Name)
		require.Equal(t, kind.Bounces, strings.Contains(sheet.String(), "A Guide to Debouncing"), kind.Name)

		own := entry + ", delay: 3ms"
		if kind.Bounces {
			own += ", bounce: 1ms"
		}
		known, ps, err = derived(gateJob(t, strings.Replace(sliding, reedLimit, own, 1)))
		require.NoError(t, err)
		require.Equal(t, 3*time.Millisecond, known.Sensors[0].Delay, kind.Name)
		sheet.Reset()
		require.NoError(t, derive.Sheet(&sheet, 10_000, known, ps, nil))
		require.Contains(t, sheet.String(), "The closed-limit answers after 3 ms.\n", kind.Name)
		require.NotContains(t, sheet.String(), "others of its kind", kind.Name)
	}
}

// thrown is a gate by the stopwatch that hops off its stop past its lever.
const thrown = `title: Gate that hops off its stop
opening: {time: 9s, run up: 500ms, coast: 140ms, current: 11A}
closing: {time: 7s, run up: 400ms, coast: 200ms, current: 7.5A}
stall current: 30A
closed stop: {rebound: 80 %, return: 0.1}
sensors:
  open-limit: {from: 97 %, to: 100 %}
  closed-limit: {from: 0 %, to: 3 %, hysteresis: 0.4 %, bounce: 1ms}
`

// hopsOf lets the gate meet its closed stop at full speed with the motor just switched off,
// and gives for how long its limit is made until it breaks, and broken at the most.
func hopsOf(t *testing.T, s *gate.Spec) (made, broken time.Duration) {
	t.Helper()
	m, err := gate.New(s, gate.StartAt(1))
	require.NoError(t, err)
	m.Motor(motion.Closing, 0)
	edges := m.Crossings(signal.ClosedLimit, 0, nil)[:1]
	off := edges[0].At
	for m.Speed(off.Add(10*time.Microsecond)) < 0 {
		off = off.Add(10 * time.Microsecond)
	}
	m.Motor(motion.Stopped, off)
	edges = m.Crossings(signal.ClosedLimit, off, edges)
	for i, e := range edges[1:] {
		held := e.At.Sub(edges[i].At)
		if e.Level == signal.Broken && made == 0 {
			made = held
		} else if e.Level == signal.Made {
			broken = max(broken, held)
		}
	}
	return made, broken
}

// The hop that the sheet works out is the one that the bench plays: exactly for a gate by
// the stopwatch; for a machine, whose friction grows with its speed, no less.
func TestTheSheetsHopIsTheBenchsHop(t *testing.T) {
	job := gateJob(t, thrown)
	p := claimOf(t, job, "debounce of closed-limit")
	value := func(text string) float64 {
		for _, s := range p.Steps {
			if strings.Contains(s.Text, text) {
				return s.Value
			}
		}
		t.Fatalf("nothing says %q: %v", text, p.Steps)
		return 0
	}
	made, broken := hopsOf(t, &job.Gate.Spec)
	require.Positive(t, broken)
	require.InEpsilon(t, broken.Seconds(), value("the longest for which a hop breaks"), 1e-3)
	require.InEpsilon(t, made.Seconds(), value("until that hop breaks it"), 1e-3)

	machine := strings.Replace(sliding, reedLimit, "closed-limit: {kind: reed, from: 0 %, to: 0.05 %", 1) + "closed stop: {rebound: 90 %}\n"
	machine = strings.Replace(machine, "{static: 14Nm, sliding: 10Nm}", "{static: 3Nm, sliding: 2Nm, viscous: 2Nms/rad}", 1)
	job = gateJob(t, machine)
	p = claimOf(t, job, "debounce of closed-limit")
	made, _ = hopsOf(t, &job.Gate.Spec)
	require.Positive(t, made, "the limit breaks: %v", p.Steps)
	require.LessOrEqual(t, value("until that hop breaks it"), made.Seconds()*1.001)
	require.InEpsilon(t, made.Seconds(), value("until that hop breaks it"), 0.1)
}

// Where the terminal lacks the signs they are spelled out before lines are folded, not
// after, which would leave single words on lines of their own.
func TestTheSheetOnANarrowTerminalWithoutSigns(t *testing.T) {
	known, ps, err := derived(gateJob(t, ""))
	require.NoError(t, err)
	spell := speller(&narrowly{w: &plainly{}})
	require.NotNil(t, spell)
	require.Nil(t, speller(&narrowly{w: &bytes.Buffer{}}))
	var sheet bytes.Buffer
	require.NoError(t, derive.Sheet(&sheet, 40, known, ps, spell))
	require.Contains(t, sheet.String(), "\n      25.6 V / (672.7 mohm + 97.5 mohm)\n        = 33.24 A\n")
	for line := range strings.Lines(sheet.String()) {
		require.LessOrEqual(t, len(line), 41, line)
		require.Equal(t, strings.ToValidUTF8(line, ""), line)
		require.Regexp(t, "^[ -~]*\n$", line)
	}
}
