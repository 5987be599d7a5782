package uncertainty

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// A Simulation says how a budget is to be propagated by drawing its inputs at
// random. The zero value draws adaptively, from seed 0, until two significant
// digits of the standard uncertainty stand.
type Simulation struct {
	Seed  uint64 `json:"seed"`
	Draws int    `json:"draws,omitempty"` // 0 is adaptive: as many as it takes, up to Most
	Most  int    `json:"most,omitempty"`  // 0 is MostDraws
	// Digits is how many digits of the standard uncertainty count, 1 or 2; 0 is
	// 2. It sets the tolerance: half of a unit of the last of them. With one digit
	// a lone rectangular input of u = 14 passes for normal, within 5, and its
	// interval then covers all instead of 95 %.
	Digits int `json:"digits,omitempty"`
}

const (
	// MostDraws is where an adaptive simulation gives up settling.
	MostDraws = 1_000_000
	// FewestDraws is what JCGM 101:2008, 7.9.4, asks of a batch.
	FewestDraws = 10_000
)

// A CoverageInterval holds the quantity with the coverage probability.
type CoverageInterval struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// Width is the length of the interval.
func (c CoverageInterval) Width() float64 { return c.High - c.Low }

// A Simulated is a budget propagated by drawing.
type Simulated struct {
	Value    float64 `json:"value"`
	Standard float64 `json:"standard"`
	Coverage float64 `json:"coverage"`
	// Shortest is the shortest interval that covers (JCGM 101:2008, 5.3.4).
	Shortest CoverageInterval `json:"shortest"`
	// Symmetric leaves as much out below as above. Guard bands are taken from it:
	// the shortest interval of a lopsided quantity may leave the whole 5 % out on
	// the side of the limit.
	Symmetric CoverageInterval `json:"symmetric"`
	Seed      uint64           `json:"seed"`
	Draws     int              `json:"draws"`
	Tolerance float64          `json:"tolerance"` // half a unit of the last digit that counts
	// Steady is twice the standard deviation, over the batches, of whichever of
	// value, standard uncertainty and the ends of the symmetric interval is the
	// least steady; settled is within the tolerance (JCGM 101:2008, 7.9.4). The
	// ends of the shortest interval wander more: where a density is flat, many
	// intervals are nearly as short.
	Steady  float64 `json:"steady"`
	Settled bool    `json:"settled"`

	sorted []float64 // less the origin
	origin float64
}

// Outside is the fraction of draws below the one or above the other; an infinite
// limit is none. It is 1 for the zero value and one read back from JSON, which have
// no draws.
func (s Simulated) Outside(below, above float64) float64 {
	low, _ := slices.BinarySearch(s.sorted, below-s.origin)
	high, _ := slices.BinarySearch(s.sorted, math.Nextafter(above-s.origin, math.Inf(1)))
	if len(s.sorted) == 0 {
		return 1 // nothing was drawn, or only its figures were kept
	}
	return float64(low+len(s.sorted)-high) / float64(len(s.sorted))
}

// Tolerance is half a unit of the last of the digits of a standard uncertainty:
// δ of JCGM 101:2008, 7.9.2. For 0.0539 and 2 digits, 0.054, it is 0.0005.
// Nothing is tolerated where there is no uncertainty.
func Tolerance(standard float64, digits int) float64 {
	if standard == 0 {
		return 0
	}
	text := strconv.FormatFloat(standard, 'e', digits-1, 64)
	_, exponent, _ := strings.Cut(text, "e")
	e, _ := strconv.Atoi(exponent)
	t, _ := strconv.ParseFloat("5e"+strconv.Itoa(e-digits), 64)
	return t
}

// Simulate propagates the budget by drawing, after JCGM 101:2008. Correlated
// inputs must be normal, and are drawn from the multivariate normal distribution
// whatever their degrees of freedom; any other normal input with degrees of
// freedom is drawn from Student's t, which makes it wider. Without a model the
// result is the linear sum.
func (b *Budget) Simulate(s Simulation) (Simulated, error) {
	return b.simulate(s, func(p progress) bool { return p.steady <= p.tolerance })
}

// progress is how far an adaptive simulation has come.
type progress struct {
	batches           int
	ends              CoverageInterval // symmetric, averaged over the batches
	steady, tolerance float64
}

// simulate draws until it is told that it is enough.
func (b *Budget) simulate(s Simulation, enough func(progress) bool) (Simulated, error) {
	fail := func(err error) (Simulated, error) {
		return Simulated{}, fmt.Errorf("simulate %s: %w", b.Quantity, err)
	}
	if err := b.Check(); err != nil {
		return fail(err)
	}
	if err := errors.Join(s.check(), b.checkDrawn()); err != nil {
		return fail(err)
	}
	from, err := b.sampler(s.Seed)
	if err != nil {
		return fail(err)
	}
	r := run{sampler: from, budget: b, coverage: b.coverage(), x: make([]float64, len(b.Inputs)), sorter: new(sorter)}
	size := max(FewestDraws, int(math.Ceil(100/(1-r.coverage))))
	most := s.Most
	if most == 0 {
		most = MostDraws
	}
	if s.Draws != 0 {
		size, most = s.Draws/10, s.Draws
	}
	out := Simulated{Coverage: r.coverage, Seed: s.Seed}
	for {
		if err := r.drawBatch(min(size, most-r.draws)); err != nil {
			return fail(err)
		}
		out.Value, out.Standard = r.moments()
		p := r.progress(Tolerance(out.Standard, s.digits()))
		out.Tolerance, out.Steady, out.Settled = p.tolerance, p.steady, p.steady <= p.tolerance
		if r.draws >= most || s.Draws == 0 && enough(p) {
			break
		}
	}
	out.Draws, out.sorted = r.draws, merged(r.sorted)
	out.Shortest, out.Symmetric = intervals(out.sorted, r.coverage)
	return out, nil
}

func (s Simulation) digits() int {
	if s.Digits == 0 {
		return 2
	}
	return s.Digits
}

func (s Simulation) check() error {
	var all []error
	if s.Digits < 0 || s.Digits > 2 {
		all = append(all, fmt.Errorf("%d significant digits; it takes 1 or 2", s.Digits))
	}
	if s.Draws != 0 && s.Draws < FewestDraws {
		all = append(all, fmt.Errorf("%d draws are fewer than %d", s.Draws, FewestDraws))
	}
	if s.Most != 0 && s.Most < FewestDraws {
		all = append(all, fmt.Errorf("%d draws at most are fewer than %d", s.Most, FewestDraws))
	}
	return errors.Join(all...)
}

func (b *Budget) checkDrawn() error {
	var all []error
	for _, c := range b.Correlations {
		for _, name := range []string{c.A, c.B} {
			if in := b.Inputs[b.index(name)]; c.R != 0 && in.Distribution != Normal {
				all = append(all, fmt.Errorf("input %q is %v and correlated; only normal ones can be drawn together", name, in.Distribution))
			}
		}
	}
	return errors.Join(all...)
}

// A run is a simulation under way.
type run struct {
	*sampler
	budget   *Budget
	coverage float64
	x        []float64
	drawn    []float64  // the batch under way
	sorted   [][]uint64 // the batches, by their keys
	draws    int        // in all of them
	batches  []batch
	sorter   *sorter
}

// A batch is what one stretch of draws came to.
type batch struct {
	draws    int
	mean, sd float64
	even     CoverageInterval // the symmetric one
}

func (b *batch) figures() [4]float64 { return [4]float64{b.mean, b.sd, b.even.Low, b.even.High} }

func (r *run) drawBatch(n int) error {
	drawn := slices.Grow(r.drawn[:0], n)
	model := r.budget.Model
	for range n {
		r.draw(r.x)
		var y float64
		if model != nil {
			y = model(r.x)
		} else {
			y = r.budget.Offset
			for i := range r.x {
				y += float64(r.inputs[i].Sensitivity * r.x[i])
			}
		}
		if math.IsNaN(y) || math.IsInf(y, 0) {
			return fmt.Errorf("the model gives %v at %v, which the inputs allow", y, r.x)
		}
		drawn = append(drawn, y)
	}
	r.sorter.sort(drawn)
	r.drawn, r.sorted, r.draws = drawn, append(r.sorted, slices.Clone(r.sorter.keys)), r.draws+n
	b := batch{draws: n}
	b.mean, b.sd = moments(drawn)
	_, b.even = intervals(drawn, r.coverage)
	r.batches = append(r.batches, b)
	return nil
}

// moments of all draws, from those of the batches: going through all draws again
// after every batch would take a time that grows with the square.
func (r *run) moments() (mean, sd float64) {
	first, sum := r.batches[0].mean, 0.0
	for _, b := range r.batches {
		sum += float64(float64(b.draws) * (b.mean - first))
	}
	n := float64(r.draws)
	mean = first + sum/n
	squares := 0.0
	for _, b := range r.batches {
		d := b.mean - mean
		squares += float64(float64(b.draws-1)*float64(b.sd*b.sd)) + float64(float64(b.draws)*float64(d*d))
	}
	return mean, math.Sqrt(squares / (n - 1))
}

func moments(y []float64) (mean, sd float64) {
	first, sum := y[0], 0.0 // taken off, so that a small spread about a large value keeps its digits
	for _, v := range y {
		sum += v - first
	}
	shift := sum / float64(len(y))
	squares := 0.0
	for _, v := range y {
		d := v - first - shift
		squares += float64(d * d)
	}
	return first + shift, math.Sqrt(squares / float64(len(y)-1))
}

// progress averages over the batches; one alone says nothing of how steady it is.
func (r *run) progress(tolerance float64) progress {
	p := progress{batches: len(r.batches), tolerance: tolerance, steady: math.MaxFloat64}
	if p.batches < 2 {
		return p
	}
	var means [4]float64
	figures := make(Readings, p.batches)
	p.steady = 0
	for f := range means {
		for i := range r.batches {
			figures[i] = r.batches[i].figures()[f]
		}
		means[f] = figures.Mean()
		p.steady = max(p.steady, 2*figures.Deviation()/math.Sqrt(float64(p.batches)))
	}
	p.ends = CoverageInterval{means[2], means[3]}
	return p
}

// intervals gives the shortest interval that holds the share of the sorted values
// (JCGM 101:2008, 7.7.2) and the one that leaves equal numbers out on both sides.
func intervals(sorted []float64, coverage float64) (shortest, symmetric CoverageInterval) {
	n := len(sorted)
	q := min(n-1, int(math.Floor(float64(coverage*float64(n))+0.5)))
	best := 0
	for r := range n - q {
		if sorted[r+q]-sorted[r] < sorted[best+q]-sorted[best] {
			best = r
		}
	}
	even := (n - q) / 2
	if even+q >= n {
		even = n - q - 1
	}
	return CoverageInterval{sorted[best], sorted[best+q]}, CoverageInterval{sorted[even], sorted[even+q]}
}
