package shift

import "sync"

// Without equal values a law hangs on the sizes of the samples alone, and every
// interval asks for one: the rules of one comparison mostly share it.
var untiedLaws = struct {
	sync.Mutex
	known map[[2]int]*exact
}{known: map[[2]int]*exact{}}

const mostLaws = 64 // held at a time, some 100 kB each at most

// untiedLaw is the law of samples without equal values, m at most n, and whether it
// is exact.
func untiedLaw(m, n int) (law, bool) {
	untiedLaws.Lock()
	defer untiedLaws.Unlock()
	size := [2]int{m, n}
	if e, found := untiedLaws.known[size]; found {
		return e, true
	}
	r := untied(m, n)
	if !r.affordable() {
		return r.normal(), false
	}
	if len(untiedLaws.known) >= mostLaws {
		clear(untiedLaws.known)
	}
	e := r.count()
	untiedLaws.known[size] = e
	return e, true
}
