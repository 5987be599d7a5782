package uncertainty

import "math"

// random is the splitmix64 generator (Steele, Lea and Flood, "Fast splittable
// pseudorandom number generators", OOPSLA 2014).
type random uint64

func (r *random) next() uint64 {
	*r += 0x9e3779b97f4a7c15
	z := uint64(*r)
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// unit is above 0 and below 1.
func (r *random) unit() float64 { return (float64(r.next()>>12) + 0.5) / (1 << 52) }

// swing is above -1 and below 1.
func (r *random) swing() float64 { return 2*r.unit() - 1 }

func (r *random) normal() float64 { return quantile(r.unit()) }

// arcsine is the cosine of an angle that may be any: of a point anywhere in the
// unit disc, it is that of twice its own angle.
func (r *random) arcsine() float64 {
	for {
		x, y := r.swing(), r.swing()
		x, y = float64(x*x), float64(y*y)
		if s := x + y; s < 1 && s > 0 {
			return (x - y) / s
		}
	}
}

// student is Student's t.
func (r *random) student(dof float64) float64 {
	z, half := r.normal(), dof/2
	return float64(z * math.Sqrt(half/r.gamma(half)))
}

// gamma has the given shape and the scale 1 (Marsaglia and Tsang, "A simple method
// for generating gamma variables", ACM TOMS 26, 2000, 363-372).
func (r *random) gamma(shape float64) float64 {
	less := 1.0
	if shape < 1 {
		less, shape = expOf(logOf(r.unit())/shape), shape+1
	}
	d := shape - 1.0/3
	c := 1 / math.Sqrt(9*d)
	for {
		x := r.normal()
		v := 1 + float64(c*x)
		if v <= 0 {
			continue
		}
		v = float64(float64(v*v) * v)
		if logOf(r.unit()) < float64(0.5*float64(x*x))+d-float64(d*v)+float64(d*logOf(v)) {
			return float64(float64(d*v) * less)
		}
	}
}

// A sampler draws the values of one budget's inputs.
type sampler struct {
	random random
	inputs []Input
	scale  []float64   // foot of a bounded one, standard uncertainty of a normal one
	mix    [][]float64 // the correlations' triangle; nil where there are none
	tied   []bool      // the input is correlated with another
	z      []float64
}

func (b *Budget) sampler(seed uint64) (*sampler, error) {
	s := &sampler{random: random(seed), inputs: b.Inputs, scale: make([]float64, len(b.Inputs)), tied: make([]bool, len(b.Inputs))}
	for i, in := range b.Inputs {
		s.scale[i] = in.foot()
		if in.Distribution == Normal {
			s.scale[i] = in.Standard
		}
	}
	if !b.correlated() {
		return s, nil
	}
	var err error
	s.mix, err = cholesky(b.correlationMatrix())
	s.z = make([]float64, len(b.Inputs))
	for _, c := range b.Correlations {
		if c.R != 0 {
			s.tied[b.index(c.A)], s.tied[b.index(c.B)] = true, true
		}
	}
	return s, err
}

func (s *sampler) draw(x []float64) {
	if s.mix != nil {
		s.drawTied(x)
	}
	for i := range s.inputs {
		if s.tied[i] {
			continue
		}
		in, r := &s.inputs[i], &s.random
		var away float64
		switch in.Distribution {
		case Rectangular:
			away = r.swing()
		case Triangular:
			away = 0.5*r.swing() + 0.5*r.swing()
		case Trapezoid: // JCGM 101:2008, 6.4.3.4
			away = float64((1+in.Beta)/2*r.swing()) + float64((1-in.Beta)/2*r.swing())
		case Arcsine:
			away = r.arcsine()
		case Normal:
			if in.Dof != 0 {
				away = r.student(in.Dof)
			} else {
				away = r.normal()
			}
		}
		x[i] = in.Value + float64(away*s.scale[i])
	}
}

// drawTied draws the correlated inputs from the multivariate normal distribution
// (JCGM 101:2008, 6.4.8).
func (s *sampler) drawTied(x []float64) {
	for i := range s.z {
		if s.tied[i] {
			s.z[i] = s.random.normal()
		}
	}
	for i := range s.z {
		if !s.tied[i] {
			continue
		}
		away := 0.0
		for j := 0; j <= i; j++ {
			away += float64(s.mix[i][j] * s.z[j])
		}
		x[i] = s.inputs[i].Value + float64(away*s.scale[i])
	}
}
