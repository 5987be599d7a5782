package uncertainty

import (
	"errors"
	"fmt"
	"math"
)

// A Model gives the result from the values of the inputs, in their order. It must
// not keep the slice.
type Model func(x []float64) float64

// A Correlation is the correlation coefficient of two inputs, by their names.
type Correlation struct {
	A string  `json:"a"`
	B string  `json:"b"`
	R float64 `json:"r"` // -1 to 1
}

// DefaultCoverage is the coverage probability where none is stated.
const DefaultCoverage = 0.95

// A Budget is everything that one measured quantity hangs on.
type Budget struct {
	Quantity string `json:"quantity"`
	Unit     string `json:"unit"`
	// Without a model the result is Offset plus the sum of each input's value
	// times its sensitivity; with one, Offset is not used.
	Offset       float64       `json:"offset,omitempty"`
	Model        Model         `json:"-"`
	Inputs       []Input       `json:"inputs"`
	Correlations []Correlation `json:"correlations,omitempty"`
	Coverage     float64       `json:"coverage,omitempty"` // 0 is DefaultCoverage
	DofRounding  DofRounding   `json:"dof_rounding"`
}

// Add puts inputs at the end of the budget.
func (b *Budget) Add(inputs ...Input) { b.Inputs = append(b.Inputs, inputs...) }

// A Line is one line of a budget worked out.
type Line struct {
	Input        Input   `json:"input"`
	Standard     float64 `json:"standard"`     // in the input's unit
	Sensitivity  float64 `json:"sensitivity"`  // as used
	Contribution float64 `json:"contribution"` // signed, in the budget's unit
	Share        float64 `json:"share"`        // of the variance; all shares make 1, one can be negative under correlation
}

// A Linear is a budget worked out by the law of propagation of uncertainty.
type Linear struct {
	Quantity     string        `json:"quantity"`
	Unit         string        `json:"unit"`
	Value        float64       `json:"value"`
	Standard     float64       `json:"standard"` // combined standard uncertainty
	Dof          float64       `json:"dof"`      // effective, Welch-Satterthwaite; 0 is infinitely many
	DofUsed      float64       `json:"dof_used"` // what the factor was looked up with; 0 likewise
	DofRounding  DofRounding   `json:"dof_rounding"`
	Coverage     float64       `json:"coverage"`
	Factor       float64       `json:"factor"`
	Expanded     float64       `json:"expanded"`
	Lines        []Line        `json:"lines"`
	Correlations []Correlation `json:"correlations,omitempty"`
}

// Low and High are the ends of the coverage interval.
func (l Linear) Low() float64  { return l.Value - l.Expanded }
func (l Linear) High() float64 { return l.Value + l.Expanded }

func (b *Budget) coverage() float64 {
	if b.Coverage == 0 {
		return DefaultCoverage
	}
	return b.Coverage
}

// Check collects all that is wrong with the budget. An input that says nothing
// of its uncertainty's shape, or a sensitivity left out, is wrong: what is
// forgotten must not count as certain.
func (b *Budget) Check() error {
	var all []error
	if c := b.coverage(); !(c > 0 && c < 1) {
		all = append(all, fmt.Errorf("coverage is %v; it lies between 0 and 1", c))
	}
	if int(b.DofRounding) >= len(dofRoundings) {
		all = append(all, fmt.Errorf("there is no rounding of degrees of freedom numbered %d", b.DofRounding))
	}
	if math.IsNaN(b.Offset) || math.IsInf(b.Offset, 0) {
		all = append(all, fmt.Errorf("the offset is %v", b.Offset))
	}
	if len(b.Inputs) == 0 {
		all = append(all, errors.New("there are no inputs"))
	}
	for i, in := range b.Inputs {
		if err := in.check(); err != nil {
			all = append(all, err)
		}
		if in.Sensitivity == 0 && b.Model == nil {
			all = append(all, fmt.Errorf("input %q: has no sensitivity", in.Name))
		}
		if j := b.index(in.Name); j < i {
			all = append(all, fmt.Errorf("input %q: there are two of this name", in.Name))
		}
	}
	for _, c := range b.Correlations {
		if err := b.checkCorrelation(c); err != nil {
			all = append(all, err)
		}
	}
	if all == nil && b.correlated() {
		if _, err := cholesky(b.correlationMatrix()); err != nil {
			all = append(all, err)
		}
	}
	if all == nil {
		return nil
	}
	return fmt.Errorf("budget of %s: %w", b.Quantity, errors.Join(all...))
}

func (b *Budget) checkCorrelation(c Correlation) error {
	for _, name := range []string{c.A, c.B} {
		if b.index(name) < 0 {
			return fmt.Errorf("correlation of %q and %q: there is no input %q", c.A, c.B, name)
		}
	}
	if c.A == c.B || !(math.Abs(c.R) <= 1) {
		return fmt.Errorf("correlation of %q and %q: %v; it takes two inputs and lies from -1 to 1", c.A, c.B, c.R)
	}
	same := 0
	for _, o := range b.Correlations {
		if o.A == c.A && o.B == c.B || o.A == c.B && o.B == c.A {
			same++
		}
	}
	if same > 1 {
		return fmt.Errorf("correlation of %q and %q: is stated more than once", c.A, c.B)
	}
	return nil
}

func (b *Budget) index(name string) int {
	for i := range b.Inputs {
		if b.Inputs[i].Name == name {
			return i
		}
	}
	return -1
}

// Linear works the budget out after JCGM 100:2008: combined standard uncertainty
// (5.1.2, 5.2.2), effective degrees of freedom (G.4.1), coverage factor (G.6.4)
// and expanded uncertainty (6.2.1).
func (b *Budget) Linear() (Linear, error) {
	if err := b.Check(); err != nil {
		return Linear{}, err
	}
	l := Linear{
		Quantity: b.Quantity, Unit: b.Unit, Coverage: b.coverage(), DofRounding: b.DofRounding,
		Lines: make([]Line, len(b.Inputs)), Correlations: b.Correlations,
	}
	for i, in := range b.Inputs {
		l.Lines[i] = Line{Input: in, Standard: in.StandardUncertainty(), Sensitivity: in.Sensitivity}
	}
	if err := b.estimate(&l); err != nil {
		return Linear{}, fmt.Errorf("budget of %s: %w", b.Quantity, err)
	}
	for i := range l.Lines {
		l.Lines[i].Contribution = float64(l.Lines[i].Sensitivity * l.Lines[i].Standard)
	}
	b.combine(&l)
	l.DofUsed = b.DofRounding.used(l.Dof)
	var err error
	if l.Factor, err = CoverageFactor(l.Coverage, l.DofUsed); err != nil {
		return Linear{}, fmt.Errorf("budget of %s: %w", b.Quantity, err)
	}
	l.Expanded = float64(l.Factor * l.Standard)
	if x := l.Value - l.Expanded; math.IsNaN(x) || math.IsInf(x, 0) {
		return Linear{}, fmt.Errorf("budget of %s: its value %v or uncertainty %v is no number", b.Quantity, l.Value, l.Expanded)
	}
	return l, nil
}

// estimate finds the value and the sensitivities that are still to be found.
func (b *Budget) estimate(l *Linear) error {
	if b.Model == nil {
		l.Value = b.Offset
		for i := range l.Lines {
			l.Value += float64(l.Lines[i].Sensitivity * l.Lines[i].Input.Value)
		}
		return nil
	}
	x := make([]float64, len(b.Inputs))
	for i, in := range b.Inputs {
		x[i] = in.Value
	}
	l.Value = b.Model(x)
	for i := range l.Lines {
		if l.Lines[i].Sensitivity != 0 {
			continue
		}
		l.Lines[i].Sensitivity = b.slope(x, i, l.Lines[i].Standard)
		if math.IsNaN(l.Lines[i].Sensitivity) || math.IsInf(l.Lines[i].Sensitivity, 0) {
			return fmt.Errorf("the model has no slope against input %q about %v", b.Inputs[i].Name, x[i])
		}
	}
	return nil
}

// slope is the model's partial derivative by five points, a 64th of a standard
// uncertainty apart: near enough that the model's curve does not count (its error
// goes with the fourth power), far enough that rounding does not (JCGM 100:2008,
// 5.1.3, note 2, takes a whole one).
func (b *Budget) slope(x []float64, i int, u float64) float64 {
	at, h := x[i], u/64
	if h == 0 {
		h = max(math.Abs(at), 1) / 4096
	}
	f := func(steps float64) float64 {
		x[i] = at + float64(steps*h)
		return b.Model(x)
	}
	near, far := f(1)-f(-1), f(2)-f(-2)
	x[i] = at
	return (float64(8*near) - far) / float64(12*h)
}

// combine gives the combined standard uncertainty, the shares in it and the
// effective degrees of freedom.
func (b *Budget) combine(l *Linear) {
	if b.correlated() {
		b.combineCorrelated(l)
		return
	}
	variance, most, finite := 0.0, 0.0, false
	for i := range l.Lines {
		most = max(most, math.Abs(l.Lines[i].Contribution))
		finite = finite || l.Lines[i].Input.Dof != 0
	}
	if most == 0 {
		return // all is known exactly
	}
	for i := range l.Lines {
		c := l.Lines[i].Contribution / most
		variance += float64(c * c)
	}
	for i := range l.Lines {
		c := l.Lines[i].Contribution / most
		l.Lines[i].Share = float64(c*c) / variance
	}
	l.Standard = float64(most * math.Sqrt(variance))
	if finite {
		u, dof := make([]float64, len(l.Lines)), make([]float64, len(l.Lines))
		for i := range l.Lines {
			u[i], dof[i] = l.Lines[i].Contribution, l.Lines[i].Input.Dof
		}
		l.Dof = WelchSatterthwaite(u, dof)
	}
}
