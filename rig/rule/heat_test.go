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

// A reading may lie across the border of a scope. A part that cools from 50 % to
// 49.25 % while its scope opens was at 50 % in it, or at 49.25 %, or between; one
// that is heated from 10.7 % to 21.2 % while its scope ends, likewise.
func TestLoadAcrossABorder(t *testing.T) {
	slow := func(c signal.Current, n int) []signal.Sample {
		var all []signal.Sample
		for i := range n {
			from := signal.Instant(i) * signal.Instant(100*ms)
			all = append(all, signal.Sample{From: from, To: from.Add(100 * ms), Current: c})
		}
		return all
	}
	after := rule.Scope{Kind: rule.After, Q: makes(q)}
	before := rule.Scope{Kind: rule.Before, R: makes(r)}
	for _, x := range []struct {
		name        string
		scope       rule.Scope
		at          pulse
		current     signal.Current
		start, most int64
		want        rule.Verdict
	}{
		{"cools, under it all along", after, on(q, 50*ms), 0, 500_000, 500_000, rule.Pass},
		{"cools through it", after, on(q, 50*ms), 0, 500_000, 495_000, rule.Inconclusive},
		{"cools, over it all along", after, on(q, 50*ms), 0, 500_000, 492_000, rule.Fail},
		{"cooled before it opens", after, on(q, 100*ms), 0, 500_000, 493_000, rule.Pass},
		{"cools through it from the opening on", after, on(q, 100*ms), 0, 500_000, 490_000, rule.Inconclusive},
		{"cools through it while it may have opened", after, onWithin(q, 130*ms, 20*ms), 0, 500_000, 495_000, rule.Inconclusive},
		{"is heated, under it all along", before, on(r, 150*ms), 80 * ampere, 0, 213_000, rule.Pass},
		{"is heated through it", before, on(r, 150*ms), 80 * ampere, 0, 150_000, rule.Inconclusive},
		{"is heated through it while it may have ended", before, onWithin(r, 180*ms, 120*ms), 80 * ampere, 0, 250_000, rule.Inconclusive},
		{"is heated through it before it may have ended", before, onWithin(r, 50*ms, 100*ms), 80 * ampere, 0, 150_000, rule.Inconclusive},
		{"is heated, over it all along", before, on(r, 150*ms), 80 * ampere, 0, 100_000, rule.Fail},
		{"is heated once it has ended", before, on(r, 100*ms), 80 * ampere, 0, 107_000, rule.Pass},
	} {
		heats := bridge(t, x.start, x.most)
		heats.Scope = x.scope
		f := read(t, heats, tell(500*ms, x.at), slow(x.current, 5))
		assert.Equal(t, x.want, f.Verdict, "%s: %+v", x.name, f)
	}
}

// The largest load need not be the surest one. With a time constant of one reading,
// 0, 60, 45 and 45 A give loads of 0 to 253 %, then 142 to 346 %, then 195 to 269 %.
func TestTheSurestLoadFails(t *testing.T) {
	heats := bridge(t, 0, 1_700_000)
	heats.Heating.Curve.Constant = ms
	f := read(t, heats, tell(4*ms), readings(0, 60*ampere, 45*ampere, 45*ampere))
	assert.Equal(t, rule.Fail, f.Verdict, "%+v", f)
	assert.InDelta(t, 1_945_496, f.Value.Least, 1000)
	assert.InDelta(t, 2_694_630, f.Value.Most, 1000)
}

// What flowed before the first reading is taken to be what the first one tells.
func TestHeatBeforeTheFirstReading(t *testing.T) {
	late := []signal.Sample{{From: signal.Instant(time.Second - ms), To: signal.Instant(time.Second), Current: 80 * ampere}}
	f := read(t, bridge(t, 0, 2_000_000), tell(time.Second), late)
	assert.Equal(t, rule.Pass, f.Verdict)
	assert.InDelta(t, 1_000_000, f.Value.Most, 2, "80 A for 1 s")
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
				x.Heating.Start = rapid.Int64Range(0, 1_500_000).Draw(rt, "start")
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

// loads judges the load at the end of each sample that lies in a segment, and at the
// beginning of the first.
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
		first := true
		for i := range samples {
			if 2*i < s.from-s.from%2 || 2*(i+1) > s.to && s.closed {
				continue
			}
			v := rule.Interval{Least: int64(math.Floor(cool[i] * 1e6)), Most: int64(math.Ceil(warm[i] * 1e6))}
			all = append(all, outcome{verdict: rule.BySpan(v, h.Most, rule.AtMost)})
			if first {
				before := h.Start
				if i > 0 {
					before = int64(math.Ceil(warm[i-1] * 1e6))
				}
				v.Most = max(v.Most, before)
				all = append(all, outcome{verdict: rule.BySpan(v, h.Most, rule.AtMost)})
			}
			first = false
		}
	}
	return all
}
