package rule

import "pintle/rig/signal"

// why says in a word what there is to say of an occurrence; finding.go's reasons
// turn it into a sentence.
type why uint8

const (
	whyNone  why = iota
	whyValue     // the value and its limit say it
	whyOrder     // the measurement cannot tell the order of two things
	whyEnd       // the trial ended first
	whyLate      // no answer came in time
	whyHeld      // P held where it must not
	whyNot       // P did not hold where it must
	whyNever     // P never held
	whyFirst     // P held before S had
	whyUnmet     // no answer came at all
)

// An occurrence is one time that a rule was put to the test.
type occurrence struct {
	verdict  Verdict
	why      why
	measured bool
	value    Interval
	spans    [2]signal.Span
	n        int  // how many times it stands for
	reading  bool // of the meter: how far the value can be trusted does not hang on the spans
}

// open says that the value has still to be judged, when its budget is worked out.
func (o *occurrence) open() bool {
	return o.verdict == Inconclusive && o.why == whyValue && o.measured
}

// A tally keeps, of many occurrences, the one that decides: the worst verdict,
// then the smallest margin.
type tally struct {
	occurrence
	any    bool
	unsure bool // one of them was inconclusive for another reason than its value
	sense  Sense

	// Which of several open values is the worst is not known before their budgets
	// are, so all of them are kept.
	opens [mostOpen]Occurrence
	count int
}

// mostOpen is how many open values of one rule are kept; with more it is inconclusive.
const mostOpen = 8

func (t *tally) add(o occurrence) {
	t.sum(o)
	t.unsure = t.unsure || o.verdict == Inconclusive && !o.open()
	if o.open() {
		t.keep(Occurrence{o.value, o.spans, o.reading})
	}
}

func (t *tally) sum(o occurrence) {
	n := t.n + o.n
	if !t.any || t.outdone(o) {
		t.occurrence = o
	}
	t.any, t.n = true, n
}

// keep adds an open value, unless one that is there says as much or more.
func (t *tally) keep(o Occurrence) {
	for i := range t.opens[:t.count] {
		switch k := &t.opens[i]; {
		case *k == o, k.outweighs(&o, t.sense):
			return
		case o.outweighs(k, t.sense):
			*k = o
			return
		}
	}
	if t.count == mostOpen {
		t.unsure = true
		return
	}
	t.opens[t.count] = o
	t.count++
}

func (t *tally) keepAll(o *tally) {
	t.unsure = t.unsure || o.unsure
	for _, k := range o.opens[:o.count] {
		t.keep(k)
	}
}

func (t *tally) outdone(o occurrence) bool {
	if o.verdict != t.verdict {
		return Worst(t.verdict, o.verdict) == o.verdict
	}
	if o.measured != t.measured {
		return o.measured
	}
	if !o.measured {
		return false
	}
	if t.sense == AtLeast {
		return o.value.Least < t.value.Least
	}
	return o.value.Most > t.value.Most
}

// alike says that two tallies say the same until more is known.
func (t *tally) alike(o *tally) bool { return t.any == o.any && t.verdict == o.verdict }

// blend makes of two alike tallies, of which either may be the true one, the one
// that has less to spare.
func (t *tally) blend(o *tally) {
	if !t.any {
		return
	}
	n := min(t.n, o.n)
	if t.outdone(o.occurrence) {
		t.occurrence = o.occurrence
	}
	t.n = n
	t.keepAll(o)
}

func (t *tally) merge(o *tally) {
	if o.any {
		t.sense = o.sense
		t.sum(o.occurrence)
	}
	t.keepAll(o)
}
