package thermal

import (
	"time"

	"pintle/rig/signal"
)

// A Replica follows the load of a part through a current that changes in steps. It
// is exact for such a current, whatever the steps.
type Replica struct {
	Curve Curve
	load  float64
	last  time.Duration // of the step before: most steps are as long
	keep  float64       // what is left of the load's distance after such a step
}

// Begin sets the load: 0 is cold, 1 as hot as may be.
func (r *Replica) Begin(load float64) { r.load = load }

// Load is the present load.
func (r *Replica) Load() float64 { return r.load }

// Add lets a current flow for a time, and gives the load at its end. A time that is
// not above zero changes nothing.
func (r *Replica) Add(i signal.Current, d time.Duration) float64 {
	if d <= 0 {
		return r.load
	}
	if d != r.last {
		r.last, r.keep = d, decay(float64(d)/float64(r.Curve.Constant))
	}
	end := r.Curve.Steady(i)
	r.load = end + float64((r.load-end)*r.keep)
	return r.load
}
