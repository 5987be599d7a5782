package rig

import (
	"fmt"
	"time"

	"pintle/rig/signal"
)

// A vetting looks through the samples of a recorded trace for what would have made its
// trial void while it was performed: the trace of a pass has none of it. What a trace does
// not tell it cannot find, such as when an edge was meant to come.
type vetting struct {
	readings
	guard   guarding
	trouble *BenchTrouble // the first
}

// reset begins a trace. Of a job that does not tell of its meter nothing is looked for.
func (v *vetting) reset(job *Job) {
	*v = vetting{readings: readings{meter: job.Meter}, guard: newGuarding(job, 0)}
	v.begin(-signal.Never)
}

// samples takes the next samples.
func (v *vetting) samples(s []signal.Sample) {
	if v.meter.Interval <= 0 {
		return
	}
	for len(s) > 0 && v.trouble == nil {
		few := s[:min(len(s), 128)]
		s = s[len(few):]
		if !v.plain(few) {
			v.each(few)
		}
	}
}

func (v *vetting) each(s []signal.Sample) {
	for i := range s {
		if v.trouble != nil {
			return
		}
		v.sample(&s[i])
	}
}

// plain takes a few samples at once in which plainly nothing is wrong, as in nearly all:
// each comes when it is due, and the currents lie between two thresholds. It is not ok,
// and has changed nothing, where they have to be looked at one by one.
func (v *vetting) plain(s []signal.Sample) bool {
	from, expected := v.lastFrom, v.expected
	interval, room, steady := v.meter.Interval, v.room(), v.meter.Steady
	if from <= 0 || from > signal.Never/2 || interval > time.Hour || room > time.Hour {
		return false // not to be reckoned with in a hurry
	}
	most, least, to := signal.Current(0), signal.MostCurrent, from
	for i := range s {
		x := &s[i]
		expected = min(expected.Add(interval), x.From)
		if x.From < from || x.To < x.From || x.From.Sub(from) > interval+room || steady && x.From.Sub(expected) > room {
			return false
		}
		from = x.From
		size := x.Current.Abs()
		if size < 0 { // so far down that it has no size
			return false
		}
		most, least, to = max(most, size), min(least, size), max(to, x.To)
	}
	if most > v.mostRead() || !v.guard.steady(least, most, to) {
		return false
	}
	v.guard.heard = max(v.guard.heard, to)
	v.lastFrom, v.expected = from, expected
	return true
}

func (v *vetting) sample(s *signal.Sample) {
	if v.trouble = v.overRange(s.Current); v.trouble == nil {
		v.trouble = v.guard.sample(s)
	}
	switch {
	case v.trouble != nil:
	case s.To < s.From:
		v.trouble = &BenchTrouble{"samples-disordered", fmt.Sprintf("a sample of the motor current from %v ends before that, at %v", s.From, s.To)}
	case s.To <= 0: // the supply was off, and nobody counted them
		v.begin(s.From)
	case v.lastFrom == -signal.Never && s.From > 0: // the meter was heard before the supply came on
		v.begin(0)
		fallthrough
	default:
		v.trouble = v.next(s)
	}
}

// end says what is wrong with the trace as a whole, which ends then, and of which no
// change is known from the final instant on.
func (v *vetting) end(end, final signal.Instant) *BenchTrouble {
	if v.meter.Interval <= 0 || v.trouble != nil || end <= max(final, 0) {
		return v.trouble
	}
	return &BenchTrouble{samplesLost, fmt.Sprintf("samples of the motor current are missing before the end of the trace at %v: what they tell ends at %v, and the meter gives one every %v",
		end, time.Duration(max(final, 0)), v.meter.Interval)}
}

// vetted adds to the troubles that a bench told what its trace tells and it did not.
func vetted(told []BenchTrouble, found *BenchTrouble) []BenchTrouble {
	if found == nil {
		return told
	}
	for _, t := range told {
		if t.Code == found.Code {
			return told
		}
	}
	return append(told[:len(told):len(told)], *found)
}
