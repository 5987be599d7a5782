package derive

import "math"

// The figures that people choose, from the handiest on.
var handy = [][]float64{
	{1, 2, 5},
	{1, 1.5, 2, 2.5, 3, 4, 5, 6, 8},
	{1, 1.2, 1.5, 1.8, 2, 2.5, 3, 3.5, 4, 4.5, 5, 5.5, 6, 6.5, 7, 7.5, 8, 9},
}

// handiest gives the roundest figure near the target between from and to, either
// of which may be NaN.
func handiest(target, from, to float64) (float64, bool) {
	if !(target > 0) {
		return 0, false
	}
	decade := math.Pow10(int(math.Floor(math.Log10(target))))
	for _, series := range handy {
		best := math.NaN()
		for _, by := range []float64{decade / 10, decade, decade * 10} {
			for _, m := range series {
				x := round(m * by)
				if !(x < from) && !(x > to) && !(apart(x, target) >= apart(best, target)) {
					best = x
				}
			}
		}
		if apart(best, target) < 0.13 {
			return best, true
		}
	}
	return 0, false
}

func apart(x, y float64) float64 { return math.Abs(math.Log(x / y)) }

// nearest gives the target, or the bound nearest to it, with as few digits as the
// bounds allow.
func nearest(target, low, high float64) float64 {
	within := func(x float64) bool { return !(x < low) && !(x > high) }
	for n := 2; n <= digits; n++ {
		for _, to := range []func(float64) float64{math.Round, up, down} {
			if x := rounded(target, n, to); within(x) {
				return x
			}
		}
	}
	return math.Min(math.Max(target, nanOr(low, target)), nanOr(high, target))
}
