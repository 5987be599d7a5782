package uncertainty

import "math"

// The functions here give the same bits on every machine: each product is rounded
// before it is added to anything, and only operations that IEEE 754 fixes are used.

// horner is c[0] + c[1]·x + c[2]·x² + ...
func horner(x float64, c *[8]float64) float64 {
	y := c[7]
	for i := 6; i >= 0; i-- {
		y = float64(y*x) + c[i]
	}
	return y
}

const (
	ln2High = 6.93147180369123816490e-01
	ln2Low  = 1.90821492927058770002e-10
)

// logOf is the natural logarithm of a positive finite number, to within one unit
// of the last place (the series of the FreeBSD msun library, e_log.c).
func logOf(x float64) float64 {
	f, e := math.Frexp(x)
	if f < math.Sqrt2/2 {
		f, e = f*2, e-1
	}
	f--
	k, s := float64(e), f/(2+f)
	s2 := float64(s * s)
	r := float64(s2 * horner(s2, &[8]float64{
		6.666666666666735130e-01, 3.999999999940941908e-01, 2.857142874366239149e-01, 2.222219843214978396e-01,
		1.818357216161805012e-01, 1.531383769920937332e-01, 1.479819860511658591e-01,
	}))
	half := float64(0.5 * float64(f*f))
	return float64(k*ln2High) - ((half - (float64(s*(half+r)) + float64(k*ln2Low))) - f)
}

// expOf is e to the power of x, for x not above 0, to within two units of the last
// place (the series of the FreeBSD msun library, e_exp.c).
func expOf(x float64) float64 {
	if x < -745 {
		return 0
	}
	k := math.Round(float64(x * math.Log2E))
	high, low := x-float64(k*ln2High), float64(k*ln2Low)
	r := high - low
	t := float64(r * r)
	c := r - float64(t*horner(t, &[8]float64{
		1.66666666666666657415e-01, -2.77777777770155933842e-03, 6.61375632143793436117e-05,
		-1.65339022054652515390e-06, 4.13813679705723846039e-08,
	}))
	return math.Ldexp(1-((low-float64(r*c)/(2-c))-high), int(k))
}

// quantile is the quantile of the standard normal distribution, 0 < p < 1, to 16
// digits (Wichura, algorithm AS 241, Applied Statistics 37, 1988, 477-484).
func quantile(p float64) float64 {
	q := p - 0.5
	if math.Abs(q) <= 0.425 {
		r := 0.180625 - float64(q*q)
		return float64(q*horner(r, &midTop)) / horner(r, &midFoot)
	}
	r := math.Sqrt(-logOf(min(p, 1-p)))
	var z float64
	if r <= 5 {
		z = horner(r-1.6, &sideTop) / horner(r-1.6, &sideFoot)
	} else {
		z = horner(r-5, &farTop) / horner(r-5, &farFoot)
	}
	return math.Copysign(z, q)
}

var (
	midTop = [8]float64{3.3871328727963666080e0, 1.3314166789178437745e2, 1.9715909503065514427e3, 1.3731693765509461125e4,
		4.5921953931549871457e4, 6.7265770927008700853e4, 3.3430575583588128105e4, 2.5090809287301226727e3}
	midFoot = [8]float64{1, 4.2313330701600911252e1, 6.8718700749205790830e2, 5.3941960214247511077e3,
		2.1213794301586595867e4, 3.9307895800092710610e4, 2.8729085735721942674e4, 5.2264952788528545610e3}
	sideTop = [8]float64{1.42343711074968357734e0, 4.63033784615654529590e0, 5.76949722146069140550e0, 3.64784832476320460504e0,
		1.27045825245236838258e0, 2.41780725177450611770e-1, 2.27238449892691845833e-2, 7.74545014278341407640e-4}
	sideFoot = [8]float64{1, 2.05319162663775882187e0, 1.67638483018380384940e0, 6.89767334985100004550e-1,
		1.48103976427480074590e-1, 1.51986665636164571966e-2, 5.47593808499534494600e-4, 1.05075007164441684324e-9}
	farTop = [8]float64{6.65790464350110377720e0, 5.46378491116411436990e0, 1.78482653991729133580e0, 2.96560571828504891230e-1,
		2.65321895265761230930e-2, 1.24266094738807843860e-3, 2.71155556874348757815e-5, 2.01033439929228813265e-7}
	farFoot = [8]float64{1, 5.99832206555887937690e-1, 1.36929880922735805310e-1, 1.48753612908506148525e-2,
		7.86869131145613259100e-4, 1.84631831751005468180e-5, 1.42151175831644588870e-7, 2.04426310338993978564e-15}
)
