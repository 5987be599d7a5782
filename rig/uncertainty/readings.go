package uncertainty

import (
	"errors"
	"fmt"
	"math"
)

// Readings are repeated readings of one quantity (JCGM 100:2008, 4.2).
type Readings []float64

// Mean is their arithmetic mean; NaN where there are none.
func (r Readings) Mean() float64 {
	sum := 0.0
	for _, x := range r {
		sum += x
	}
	return sum / float64(len(r))
}

// Deviation is their experimental standard deviation, with n-1; NaN below two.
func (r Readings) Deviation() float64 {
	if len(r) < 2 {
		return math.NaN()
	}
	return math.Sqrt(r.product(r) / float64(len(r)-1))
}

// product sums the products of what both differ from their means by.
func (r Readings) product(o Readings) float64 {
	m, n, sum := r.Mean(), o.Mean(), 0.0
	for i := range r {
		sum += float64((r[i] - m) * (o[i] - n))
	}
	return sum
}

// Input is the mean as an input of a budget. It takes two readings at least.
func (r Readings) Input(name, source string) (Input, error) {
	if len(r) < 2 {
		return Input{}, fmt.Errorf("take the mean of %s: there are %d readings, it takes 2", name, len(r))
	}
	return Input{
		Name: name, Value: r.Mean(), Distribution: Normal, Dof: float64(len(r) - 1),
		Standard: r.Deviation() / math.Sqrt(float64(len(r))), Source: source,
	}, nil
}

// Correlate is the correlation coefficient of the means of two quantities that
// were read at the same time (JCGM 100:2008, 5.2.3). Readings that never vary
// have none, which is an error.
func Correlate(a, b Readings) (float64, error) {
	if len(a) != len(b) || len(a) < 2 {
		return 0, fmt.Errorf("correlate readings: %d and %d of them do not make two or more pairs", len(a), len(b))
	}
	both := math.Sqrt(float64(a.product(a) * b.product(b)))
	if both == 0 {
		return 0, errors.New("correlate readings: one of the two never varies")
	}
	return max(-1, min(1, a.product(b)/both)), nil
}

// A CalibrationLine is the straight line that fits best through the readings of an
// instrument against a reference: y = Intercept + Slope·(x − Origin), by least
// squares with equal weights (JCGM 100:2008, H.3).
type CalibrationLine struct {
	Origin      float64 `json:"origin"`
	Intercept   float64 `json:"intercept"`
	Slope       float64 `json:"slope"`
	UIntercept  float64 `json:"u_intercept"` // standard uncertainties
	USlope      float64 `json:"u_slope"`
	Correlation float64 `json:"correlation"` // of intercept and slope
	Residual    float64 `json:"residual"`    // standard deviation of the readings about the line
	Dof         float64 `json:"dof"`
}

// FitLine fits the line. It takes three points, not all at one x.
func FitLine(x, y []float64, origin float64) (CalibrationLine, error) {
	n := float64(len(x))
	if len(x) != len(y) || len(x) < 3 {
		return CalibrationLine{}, fmt.Errorf("fit a line: %d and %d figures do not make three or more points", len(x), len(y))
	}
	mx, my := Readings(x).Mean(), Readings(y).Mean()
	sxx := Readings(x).product(x)
	if !(sxx > 0) {
		return CalibrationLine{}, errors.New("fit a line: all points are at one place")
	}
	l := CalibrationLine{Origin: origin, Slope: Readings(x).product(y) / sxx, Dof: n - 2}
	toMean := mx - origin
	l.Intercept = my - float64(l.Slope*toMean)
	ssr := 0.0
	for i := range x {
		d := y[i] - l.At(x[i])
		ssr += float64(d * d)
	}
	l.Residual = math.Sqrt(ssr / l.Dof)
	l.USlope = l.Residual / math.Sqrt(sxx)
	spread := math.Sqrt(1/n + float64(toMean*toMean)/sxx)
	l.UIntercept = float64(l.Residual * spread)
	l.Correlation = -toMean / float64(math.Sqrt(sxx)*spread)
	return l, nil
}

// At is the line's value at x.
func (l CalibrationLine) At(x float64) float64 {
	return l.Intercept + float64(l.Slope*(x-l.Origin))
}

// UAt is the standard uncertainty of the line at x.
func (l CalibrationLine) UAt(x float64) float64 {
	d := x - l.Origin
	a, b := l.UIntercept, float64(d*l.USlope)
	return math.Sqrt(max(0, float64(a*a)+float64(b*b)+2*float64(float64(a*b)*l.Correlation)))
}

// Input is the line's value at x as an input of a budget.
func (l CalibrationLine) Input(name string, x float64, source string) Input {
	return Input{Name: name, Value: l.At(x), Distribution: Normal, Standard: l.UAt(x), Dof: l.Dof, Source: source}
}
