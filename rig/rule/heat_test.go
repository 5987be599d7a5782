package rule_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/rig/thermal"
)

// bridge stands 30 A for ever and 80 A for 1 s (common practice, no source).
func bridge(t testing.TB, start, most int64) rule.Rule {
	curve, err := thermal.Fit(30*ampere, 80*ampere, time.Second)
	require.NoError(t, err)
	return rule.Rule{Pattern: rule.ThermalLoad, Heating: rule.Heating{Part: "bridge", Curve: curve, Start: start, Most: most}}
}

// steady is a current for a time in readings of a millisecond.
func steady(c signal.Current, d time.Duration) []signal.Sample {
	var all []signal.Sample
	for at := signal.Instant(0); at < signal.Instant(d); at = at.Add(ms) {
		all = append(all, signal.Sample{From: at, To: at.Add(ms), Current: c})
	}
	return all
}

// The bridge is at its limit after the times that the equations of IEC 60255-149
// give: 5.45483 s at 40 A and 1.89827 s at 60 A from cold, 1.44218 s and 0.40520 s
// after 27 A, which is a load of 81 %. One reading sooner it is not.
func TestThermalLoadAtItsLimit(t *testing.T) {
	for _, x := range []struct {
		amperes signal.Current
		start   int64
		seconds float64
	}{{40, 0, 5.45483}, {60, 0, 1.89827}, {80, 0, 1}, {40, 810_000, 1.44218}, {60, 810_000, 0.40520}} {
		whole := time.Duration(x.seconds*1000) * ms
		keeps := read(t, bridge(t, x.start, 1_000_000), tell(0), steady(x.amperes*ampere, whole-ms))
		breaks := read(t, bridge(t, x.start, 1_000_000), tell(0), steady(x.amperes*ampere, whole+2*ms))
		assert.Equal(t, rule.Pass, keeps.Verdict, "%v A: %s", x.amperes, keeps.ValueText())
		assert.Equal(t, rule.Fail, breaks.Verdict, "%v A: %s", x.amperes, breaks.ValueText())
		assert.Equal(t, rule.Millionths, keeps.Unit)
	}
}

func TestThermalLoadInWords(t *testing.T) {
	f := read(t, bridge(t, 0, 1_000_000), tell(0), steady(-60*ampere, time.Second))
	assert.Equal(t, "56.2499 % ± 0.0001 %", f.ValueText(), "whichever way the current flows")
	assert.Equal(t, "at most 100 %", f.LimitText())
	assert.Equal(t, "43.75 % to spare", f.MarginWords())
	none := read(t, bridge(t, 0, 1_000_000), tell(4*ms), nil)
	assert.Equal(t, rule.Inconclusive, none.Verdict)
	assert.Regexp(t, "^not exercised", none.Reason)
}

// What has been heated before a scope begins is still hot in it.
func TestHeatOutlastsAScope(t *testing.T) {
	r := bridge(t, 0, 400_000)
	r.Scope = rule.Scope{Kind: rule.After, Q: makes(q)}
	samples := steady(60*ampere, time.Second)
	for i := range samples {
		if i >= 900 {
			samples[i].Current = 0
		}
	}
	f := read(t, r, tell(1000*ms, on(q, 950*ms)), samples)
	assert.Equal(t, rule.Fail, f.Verdict, f.ValueText())
	r.Heating.Most = 600_000
	assert.Equal(t, rule.Pass, read(t, r, tell(1000*ms, on(q, 950*ms)), samples).Verdict)
}

// A rule without a part cannot be.
func TestHeatingThatCannotBe(t *testing.T) {
	for _, spoil := range []func(*rule.Heating){
		func(h *rule.Heating) { h.Curve = thermal.Curve{} }, func(h *rule.Heating) { h.Most = 0 },
		func(h *rule.Heating) { h.Start = -1 }, func(h *rule.Heating) { h.Curve.Constant = -1 },
	} {
		r := bridge(t, 0, 1_000_000)
		spoil(&r.Heating)
		_, err := rule.Compile([]rule.Rule{r}, nil)
		assert.ErrorContains(t, err, "lacks what its part stands")
	}
}

// Random currents in random scopes: the verdict is what the definition says,
// worked out with the standard library's exponential.
func TestThermalLoadAgreesWithItsDefinition(t *testing.T) {
	for _, kind := range scopeKinds {
		t.Run(fmt.Sprintf("scope %d", kind), func(t *testing.T) {
			rapid.Check(t, func(rt *rapid.T) {
				w := drawWorld(rt)
				x := drawRule(rt, rule.Absence, kind)
				x.Pattern, x.P = rule.ThermalLoad, rule.Condition{}
				x.Heating = bridge(t, 0, 1).Heating
				x.Heating.Curve.Constant = time.Duration(rapid.IntRange(1, 40).Draw(rt, "constant")) * step
				x.Heating.Most = rapid.Int64Range(1, 1_500_000).Draw(rt, "most")
				var samples []signal.Sample
				for at := signal.Instant(0); at.Add(step) <= w.end; at = at.Add(step) {
					samples = append(samples, signal.Sample{From: at, To: at.Add(step), Current: signal.Current(rapid.IntRange(-40, 40).Draw(rt, "current")) * ampere})
				}
				f := performWith(compile(rt, x), w, exactly(w), samples)[0]
				all := newBrute(w).loads(x, samples)
				require.Equal(rt, worst(all), f.Verdict, "engine: %+v; by definition: %v", f, all)
			})
		})
	}
}

// loads judges the load at the end of each sample that lies in a segment.
func (b brute) loads(x rule.Rule, samples []signal.Sample) []outcome {
	h := x.Heating
	keep := math.Exp(-float64(step) / float64(h.Curve.Constant))
	after := func(load, amperes float64) float64 {
		end := amperes * amperes / 900
		return end + (load-end)*keep
	}
	cool, warm := make([]float64, len(samples)), make([]float64, len(samples))
	for i, s := range samples {
		is := math.Abs(s.Current.Amperes())
		was, c, w := is, float64(h.Start)/1e6, float64(h.Start)/1e6
		if i > 0 {
			was, c, w = math.Abs(samples[i-1].Current.Amperes()), cool[i-1], warm[i-1]
		}
		cool[i], warm[i] = after(c, min(was, is)), after(w, max(was, is))
	}
	var all []outcome
	for _, s := range b.segments(x.Scope) {
		for i := range samples {
			if 2*i < s.from-s.from%2 || 2*(i+1) > s.to && s.closed {
				continue
			}
			v := rule.Interval{Least: int64(math.Floor(cool[i] * 1e6)), Most: int64(math.Ceil(warm[i] * 1e6))}
			all = append(all, outcome{verdict: rule.BySpan(v, h.Most, rule.AtMost)})
		}
	}
	return all
}
