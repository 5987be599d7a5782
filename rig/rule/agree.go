package rule

import "pintle/rig/signal"

// finish ends the trial. What may have come after its end is played as having come,
// and as not.
func (o *orders) finish(end signal.Instant) Finding {
	if o.over > end {
		o.all[0].blurred = true
	}
	if !o.direct && !o.lost {
		o.play(end + 1)
		for i := 0; i < len(o.all) && !o.lost; i++ {
			if o.waiting(o.all[i]) != 0 {
				o.branch(i, true, end)
			}
		}
	}
	f := o.last(o.all[0], end)
	for _, c := range o.all[1:] {
		f = agreed(f, o.last(c, end))
	}
	return f
}

func (o *orders) last(c *check, end signal.Instant) Finding {
	if !o.lost {
		c.expire(end)
	}
	return c.finish(end)
}

// agreed makes one finding of two of which either may be the true one: that with
// less to spare where they agree, and else an inconclusive one that tells the
// instants of the worse.
func agreed(f, g Finding) Finding {
	n := min(f.Exercised, g.Exercised)
	if worse(g, f) {
		f, g = g, f
	}
	f.Exercised, f.ByValue = n, f.ByValue && g.ByValue && f.Verdict == g.Verdict
	f.Open = append(f.Open, g.Open...)
	if f.Verdict != g.Verdict {
		f.Verdict, f.Reason, f.Measured, f.Value = Inconclusive, OrderUnknown, false, Interval{}
	}
	return f
}

// worse compares as a tally does.
func worse(f, g Finding) bool {
	switch {
	case f.Verdict != g.Verdict:
		return Worst(f.Verdict, g.Verdict) == f.Verdict
	case f.Measured != g.Measured:
		return f.Measured
	}
	return f.Measured && f.Margin() < g.Margin()
}
