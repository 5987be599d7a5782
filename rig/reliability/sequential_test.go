package reliability_test

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	. "pintle/rig/reliability"
)

func demonstration(t require.TestingT, text string) Plan {
	p, err := ParsePlan(text)
	require.NoError(t, err)
	return p
}

func sequential(t require.TestingT, text string, o Options) *Sequential {
	s, err := demonstration(t, text).Sequential(o)
	require.NoError(t, err)
	require.NoError(t, s.Check())
	return s
}

func at(t require.TestingT, s *Sequential, failure float64) Operating {
	o, err := s.At(failure)
	require.NoError(t, err)
	return o
}

// dice is a splitmix64 generator, so that what is simulated never changes.
type dice uint64

func (d *dice) roll() float64 {
	*d += 0x9e3779b97f4a7c15
	z := uint64(*d)
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return float64((z^z>>31)>>11) / (1 << 53)
}

// NIST/SEMATECH e-Handbook of Statistical Methods, 6.2.6, the sequential plan for
// p1 = .01, p2 = .10, alpha .05, beta .10 (from memory): lines -.939 + .04n and
// 1.205 + .04n; the first acceptance is at trial 24, the first rejection at 2.
func TestWaldLines(t *testing.T) {
	w, err := Hypotheses{P0: 0.01, P1: 0.10, Alpha: 0.05, Beta: 0.10}.Wald()
	require.NoError(t, err)
	near(t, 0.0397, w.Slope, 1e-4, "s")
	near(t, 0.9389, w.Accept, 1e-4, "h1")
	near(t, 1.2054, w.Reject, 1e-4, "h2")
	assert.Equal(t, 24, w.Passing())
	assert.Equal(t, 2, w.Failing())
	w, err = Hypotheses{P0: 0.2, P1: 0.5, Alpha: 0.05, Beta: 0.10}.Wald()
	require.NoError(t, err)
	assert.Equal(t, 4, w.Failing(), "ln 18/ln 2.5 = 3.15")
}

// The lines of the usual demonstration, to the trial, on every machine.
func TestSequentialGolden(t *testing.T) {
	for text, want := range map[string][]Line{
		"95/95": {{0, 0, 64}, {1, 0, 115}, {2, 50, 166}, {3, 101, 217}},
		"90/90": {{0, 0, 24}, {1, 0, 50}, {2, 25, 75}, {3, 50, 100}},
		"99/95": {{0, 0, 327}, {1, 0, 583}, {2, 255, 838}, {3, 510, 1094}},
		"99/99": {{0, 0, 505}, {1, 0, 761}, {2, 255, 1016}, {3, 510, 1272}, {4, 766, 1527}, {5, 1021, 1783}},
	} {
		s := sequential(t, text, Options{})
		assert.Equal(t, want, s.Lines, text)
		assert.Equal(t, want[len(want)-1].Accept, s.Most, text)
	}
	s := sequential(t, "95/95", Options{})
	good, bad := at(t, s, s.P0), at(t, s, s.P1)
	assert.Equal(t, []float64{0.03818357893341591, 79.37414430765357, 32.47985809307293, 0.049564499721253784, 44.04504211071895, 34.676084128421024}, []float64{good.Reject, good.Expected, good.Deviation, bad.Accept, bad.Expected, bad.Deviation}, "to the last bit")
	assert.Equal(t, Hypotheses{P0: 0.005, P1: 0.05, Alpha: 0.05, Beta: 0.05}, sequential(t, "95/95", Options{}).Hypotheses)
}

// The honest comparison: with no failure the sequential test takes more trials than
// the 59 of the fixed plan, and what is bought for it.
func TestCompare(t *testing.T) {
	c, err := sequential(t, "95/95", Options{}).Compare()
	require.NoError(t, err)
	assert.Equal(t, 64, c.WaldPassing, "ln(.05/.95)/ln(.95/.995) = 63.6")
	assert.Equal(t, 64, c.Sequential.Passing)
	assert.Equal(t, []int{59, 0, 59}, []int{c.NoFailure.Most, c.NoFailure.Allowed, c.NoFailure.Passing})
	assert.Equal(t, []int{124, 2, 122}, []int{c.BothRisks.Most, c.BothRisks.Allowed, c.BothRisks.Passing})
	assert.InDelta(t, 1-math.Pow(0.995, 59), c.NoFailure.Alpha, 1e-12)
	assert.InDelta(t, math.Pow(0.95, 59), c.NoFailure.Beta, 1e-12)
	assert.InDelta(t, (1-math.Pow(0.995, 59))/0.005, c.NoFailure.AtP0, 1e-9, "mean of a truncated geometric number")
	assert.Less(t, c.Sequential.AtP0, c.BothRisks.AtP0)
	assert.Less(t, c.Sequential.AtP1, c.BothRisks.AtP1)
	assert.Greater(t, c.Sequential.AtP0, c.NoFailure.AtP0, "not hidden")
	assert.Equal(t, `Failure probability 0.005 (p0, to be accepted) against 0.05 (p1, to be rejected)
                                           trials    on average at / risk at
                             most allowed passing      p0      p1      p0     p1
sequential                    217       3      64    79.4    44.0   3.82%  4.96%
fixed, no failure allowed      59       0      59    51.2    19.0  25.60%  4.85%
fixed, both risks kept        124       2     122   121.8    58.7   2.48%  4.95%
If nothing fails, the sequential test takes 5 trials more than the fixed plan
without failures, which rejects a controller of p0 in 25.6 % of cases.
`, c.String())
}

// The recursion against every course there is, each followed by the state machine.
func TestOperatingAgainstAllCourses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anySequential(t)
		p := rapid.Float64Range(0, 1).Draw(t, "p")
		var want Operating
		var square float64
		for course := range 1 << s.Most {
			c, err := s.Start()
			require.NoError(t, err)
			probability := 1.0
			for i := 0; c.State() == Continue; i++ {
				require.Less(t, i, s.Most, "the test must end")
				passed := course>>i&1 == 0
				if c.Observe(passed); passed {
					probability *= 1 - p
				} else {
					probability *= p
				}
			}
			if course>>c.Trials() != 0 {
				continue // the same course was counted already
			}
			want.Expected += probability * float64(c.Trials())
			square += probability * float64(c.Trials()*c.Trials())
			if c.State() == Accept {
				want.Accept += probability
			} else {
				want.Reject += probability
			}
		}
		got := at(t, s, p)
		require.InDelta(t, want.Accept, got.Accept, 1e-12)
		require.InDelta(t, want.Reject, got.Reject, 1e-12)
		require.InDelta(t, 1, got.Accept+got.Reject, 1e-12)
		require.InDelta(t, want.Expected, got.Expected, 1e-11)
		require.InDelta(t, math.Sqrt(max(0, square-want.Expected*want.Expected)), got.Deviation, 1e-5)
	})
}

// anySequential draws lines that Check allows, of at most 10 trials.
func anySequential(t *rapid.T) *Sequential {
	s := &Sequential{}
	before := Line{Failures: -1}
	for k := range rapid.IntRange(1, 4).Draw(t, "lines") {
		line := Line{Failures: k, Reject: rapid.IntRange(before.Reject, before.Reject+2).Draw(t, "reject")}
		least := max(before.Accept, line.Reject, k) + 1
		line.Accept = rapid.IntRange(least, least+1).Draw(t, "accept")
		s.Lines = append(s.Lines, line)
		before = line
	}
	s.Most = before.Accept
	require.NoError(t, s.Check())
	return s
}

// Whatever is demonstrated, the exact risks keep the nominal ones, also beyond the
// two hypotheses, and the test ends in time.
func TestDesignKeepsRisks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := Hypotheses{
			P1:    rapid.Float64Range(0.02, 0.5).Draw(t, "p1"),
			Alpha: rapid.Float64Range(0.01, 0.3).Draw(t, "alpha"),
			Beta:  rapid.Float64Range(0.01, 0.3).Draw(t, "beta"),
		}
		h.P0 = h.P1 / rapid.Float64Range(3, 50).Draw(t, "ratio")
		n, allowed, err := h.Matched()
		require.NoError(t, err)
		s, err := h.Sequential(rapid.SampledFrom([]int{0, n, 3 * n}).Draw(t, "most"))
		require.NoError(t, err)
		require.NoError(t, s.Check())
		require.LessOrEqual(t, s.Most, 3*n)
		good, bad := at(t, s, h.P0), at(t, s, h.P1)
		require.LessOrEqual(t, good.Reject, h.Alpha*(1+1e-9))
		require.LessOrEqual(t, bad.Accept, h.Beta*(1+1e-9))
		require.LessOrEqual(t, good.Expected, float64(n), "dearer than the fixed plan of both risks (%d, %d)", n, allowed)
		better, worse := at(t, s, h.P0*rapid.Float64Range(0, 1).Draw(t, "better")), at(t, s, h.P1+(1-h.P1)*rapid.Float64Range(0, 1).Draw(t, "worse"))
		require.LessOrEqual(t, better.Reject, good.Reject+1e-12)
		require.LessOrEqual(t, worse.Accept, bad.Accept+1e-12)
		perfect, hopeless := at(t, s, 0), at(t, s, 1)
		require.Equal(t, float64(s.Lines[0].Accept), perfect.Expected)
		require.Equal(t, []float64{1, 1}, []float64{perfect.Accept, hopeless.Reject})
	})
}

// A controller that is to be turned down is accepted in at most 5 % of 10 000
// qualifications, and a good one turned down in at most 5 %; the average number of
// trials is the one that was computed.
func TestSimulatedQualifications(t *testing.T) {
	const runs = 10_000
	s := sequential(t, "95/95", Options{})
	c, err := s.Compare()
	require.NoError(t, err)
	for _, x := range []struct {
		name    string
		failure float64
		wrong   State
		nominal float64
	}{{"p0", s.P0, Reject, s.Alpha}, {"p1", s.P1, Accept, s.Beta}} {
		exact := at(t, s, x.failure)
		rate := exact.Reject
		if x.wrong == Accept {
			rate = exact.Accept
		}
		random, wrong, total := dice(1), 0, 0
		for range runs {
			course, err := s.Start()
			require.NoError(t, err)
			for course.Observe(random.roll() >= x.failure) == Continue {
			}
			if total += course.Trials(); course.State() == x.wrong {
				wrong++
			}
		}
		measured, mean := float64(wrong)/runs, float64(total)/runs
		bounds, err := ClopperPearson(wrong, runs, 0.999)
		require.NoError(t, err)
		assert.LessOrEqual(t, measured, x.nominal, "measured at %s", x.name)
		assert.LessOrEqual(t, rate, x.nominal, "exact at %s", x.name)
		assert.True(t, bounds.Low <= rate && rate <= bounds.High, "%s: %v measured in %d of %d, exact %v", x.name, bounds, wrong, runs, rate)
		assert.InDelta(t, exact.Expected, mean, 4*exact.Deviation/math.Sqrt(runs), "trials at %s", x.name)
		fixed := c.NoFailure
		t.Logf("%s: %d of %d decided wrongly, %.4f (99.9 %% interval %.4f to %.4f), exact %.4f, nominal %.2f; %.2f trials on average, exact %.2f; fixed plan at most %d, with both risks at most %d",
			x.name, wrong, runs, measured, bounds.Low, bounds.High, rate, x.nominal, mean, exact.Expected, fixed.Most, c.BothRisks.Most)
	}
}

// A fixed plan says the same as its curtailed form, failure for failure.
func TestCurtailedIsThePlan(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Plan{rapid.Float64Range(0.3, 0.95).Draw(t, "r"), rapid.Float64Range(0.3, 0.95).Draw(t, "c"), rapid.IntRange(0, 4).Draw(t, "f")}
		n, err := p.Trials()
		require.NoError(t, err)
		s, err := p.Curtailed()
		require.NoError(t, err)
		course, err := s.Start()
		require.NoError(t, err)
		chance := rapid.Float64Range(0, 1).Draw(t, "failure")
		random := dice(rapid.Uint64().Draw(t, "seed"))
		for course.State() == Continue {
			most, passing := course.Remaining()
			require.True(t, passing >= 1 && most >= passing)
			course.Observe(random.roll() >= chance)
			got, err := p.State(course.Trials(), course.Failures())
			require.NoError(t, err)
			require.Equal(t, course.State(), got)
		}
		require.LessOrEqual(t, course.Trials(), n)
		o := at(t, s, 1-p.Reliability)
		require.LessOrEqual(t, o.Accept, 1-p.Confidence+1e-12)
		shown, err := DemonstratedConfidence(n, p.Allowed, p.Reliability)
		require.NoError(t, err)
		require.InDelta(t, 1-shown, o.Accept, 1e-12, "ending early alters no risk")
	})
}

func TestCourse(t *testing.T) {
	s := sequential(t, "95/95", Options{})
	start := func() *Course {
		c, err := s.Start()
		require.NoError(t, err)
		return c
	}
	c := start()
	for range 63 {
		require.Equal(t, Continue, c.Observe(true))
	}
	most, passing := c.Remaining()
	assert.Equal(t, []int{217 - 63, 1}, []int{most, passing})
	assert.Equal(t, Accept, c.Observe(true), "64 without a failure accept, 63 do not")
	assert.Equal(t, Accept, c.Observe(false), "decided is decided")
	assert.Equal(t, []int{64, 0}, []int{c.Trials(), c.Failures()})
	most, passing = c.Remaining()
	assert.Zero(t, most+passing)

	c = start()
	require.Equal(t, Continue, c.Observe(false), "one failure never rejects")
	require.Equal(t, Reject, c.Observe(false), "two of two do")
	require.Equal(t, Reject, c.Observe(true))

	for _, x := range []struct {
		second int
		want   State
	}{{50, Reject}, {51, Continue}} { // the trial of the second failure
		c = start()
		for i := 1; i < x.second; i++ {
			require.Equal(t, Continue, c.Observe(i != 1))
		}
		assert.Equal(t, x.want, c.Observe(false), "second failure at trial %d", x.second)
	}
}

func TestZeroValuesAcceptNothing(t *testing.T) {
	var state State
	assert.NotEqual(t, Accept, state)
	assert.Equal(t, "continue", state.String())
	var c Course
	assert.Equal(t, Continue, c.Observe(true))
	assert.Equal(t, Continue, c.State())
	most, passing := c.Remaining()
	assert.Zero(t, most+passing)
	_, err := new(Sequential).Start()
	require.Error(t, err)
	_, err = new(Sequential).At(0.1)
	require.Error(t, err)
	_, err = new(Sequential).Compare()
	require.Error(t, err)
	got, err := Plan{}.State(100, 0)
	require.Error(t, err)
	assert.Equal(t, Continue, got)
	assert.False(t, Bound{}.Found)
	assert.False(t, Between{}.Found)
}

func TestSequentialCheck(t *testing.T) {
	for what, s := range map[string]Sequential{
		"0 lines for at most 5 trials":      {Most: 5},
		"1 lines for at most 1000001":       {Most: MaxTrials + 1, Lines: []Line{{0, 0, MaxTrials + 1}}},
		"1 failures reject":                 {Most: 5, Lines: []Line{{1, 0, 5}}},
		"reject up to trial 5":              {Most: 5, Lines: []Line{{0, 5, 5}}},
		"reject up to trial -1":             {Most: 5, Lines: []Line{{0, -1, 5}}},
		"accept from 3; before it stand":    {Most: 5, Lines: []Line{{0, 0, 3}, {1, 0, 3}, {2, 0, 5}}},
		"before it stand 2":                 {Most: 5, Lines: []Line{{0, 2, 3}, {1, 1, 5}}},
		"accept from 0":                     {Most: 5, Lines: []Line{{0, 0, 0}, {1, 0, 5}}},
		"must be the last trial, 5":         {Most: 5, Lines: []Line{{0, 0, 4}}},
		"2 failures reject up to trial 0 a": {Most: 3, Lines: []Line{{0, 0, 1}, {1, 0, 2}, {2, 0, 2}}},
	} {
		require.ErrorContains(t, s.Check(), what)
		_, err := s.Start()
		require.Error(t, err)
	}
}

func TestSequentialInJSON(t *testing.T) {
	s := sequential(t, "90/90", Options{})
	text, err := json.Marshal(s)
	require.NoError(t, err)
	assert.JSONEq(t, `{"p0":0.01,"p1":0.1,"alpha":0.05,"beta":0.1,"most":100,"lines":[{"failures":0,"reject":0,"accept":24},
		{"failures":1,"reject":0,"accept":50},{"failures":2,"reject":25,"accept":75},{"failures":3,"reject":50,"accept":100}]}`, string(text))
	back := new(Sequential)
	require.NoError(t, json.Unmarshal(text, back))
	assert.Equal(t, s, back)
	for want := Continue; want <= Reject; want++ {
		text, err := want.MarshalText()
		require.NoError(t, err)
		var got State
		require.NoError(t, got.UnmarshalText(text))
		assert.Equal(t, want, got)
	}
	require.EqualError(t, new(State).UnmarshalText([]byte("passed")), `read a state: there is none named "passed", only continue, accept, reject`)
	assert.Equal(t, "9?", State(9).String())
}

func TestDesignErrors(t *testing.T) {
	for what, design := range map[string]func() error{
		"state none":                     func() error { _, err := Plan{0.95, 0.95, 1}.Sequential(Options{}); return err },
		"a ratio of 1":                   func() error { _, err := demonstration(t, "95/95").Sequential(Options{Ratio: 1}); return err },
		"a ratio of NaN":                 func() error { _, err := demonstration(t, "95/95").Sequential(Options{Ratio: math.NaN()}); return err },
		"alpha, of rejecting":            func() error { _, err := demonstration(t, "95/95").Sequential(Options{Alpha: 0.5}); return err },
		"beta, of accepting a bad one":   func() error { _, err := demonstration(t, "95/40").Sequential(Options{}); return err },
		"both risks take at least 124":   func() error { _, err := demonstration(t, "95/95").Sequential(Options{Most: 123}); return err },
		"200000 is the most":             func() error { _, err := demonstration(t, "95/95").Sequential(Options{Most: 200_001}); return err },
		"at most -1 trials":              func() error { _, err := demonstration(t, "95/95").Sequential(Options{Most: -1}); return err },
		"a reliability of 1":             func() error { _, err := Plan{1, 0.95, 0}.Sequential(Options{}); return err },
		"it takes 0 < p0 < p1 < 1":       func() error { _, err := Hypotheses{0.1, 0.1, 0.05, 0.05}.Sequential(0); return err },
		"failure probabilities 0 (acc":   func() error { _, err := Hypotheses{0, 0.1, 0.05, 0.05}.Wald(); return err },
		"more than 1000000 trials":       func() error { _, _, err := Hypotheses{0.0499, 0.05, 0.05, 0.05}.Matched(); return err },
		"a failure probability of 1.5":   func() error { _, err := sequential(t, "90/90", Options{}).At(1.5); return err },
		"a failure probability of NaN":   func() error { _, err := sequential(t, "90/90", Options{}).At(math.NaN()); return err },
		"-1 failures in 5 trials":        func() error { _, err := demonstration(t, "90/90").State(5, -1); return err },
		"6 failures in 5 trials":         func() error { _, err := demonstration(t, "90/90").State(5, 6); return err },
		"a risk alpha, of rejecting a g": func() error { _, _, err := Hypotheses{0.01, 0.1, math.NaN(), 0.05}.Matched(); return err },
	} {
		require.ErrorContains(t, design(), what)
	}
}
