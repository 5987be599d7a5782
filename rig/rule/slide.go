package rule

import "pintle/rig/signal"

// A slide is a window of one length that moves along the tape, for all rules on
// the mean over a window of that length. Rules are asked only about a sum that is
// new to one of them, so their number costs nothing while nothing happens.
type slide struct {
	length signal.Instant
	users  []*check

	head int64          // number of the oldest sample in the window
	n    int64          // how many it holds
	sum  int64          // of their magnitudes
	last signal.Instant // From of the newest

	of          int64 // no rule looks at sums of so many samples
	least, most int64 // from least to most
}

func (w *slide) clear() { *w = slide{length: w.length, users: w.users} }

// samples moves the window on to each of the samples from and up to, without, to.
// What the loop needs at every turn it keeps at hand.
func (w *slide) samples(t *tape, from, to int64) {
	ring, mask := t.ring, int64(len(t.ring)-1)
	head, n, sum, last, length := w.head, w.n, w.sum, w.last, w.length
	for k := from; k < to; k++ {
		s := &ring[k&mask]
		interval := s.From - last
		if n == 0 {
			interval = s.To - s.From
		}
		n, sum, last = n+1, sum+int64(s.Current), s.From
		first := &ring[head&mask]
		for s.From-first.From >= length {
			n, sum, head = n-1, sum-int64(first.Current), head+1
			first = &ring[head&mask]
		}
		if n == w.of && sum >= w.least && sum <= w.most {
			continue
		}
		if s.From-first.From+interval >= length {
			w.tell(signal.Span{Early: first.From, Late: s.To}, sum, n)
		}
	}
	w.head, w.n, w.sum, w.last = head, n, sum, last
}

func (w *slide) tell(at signal.Span, sum, n int64) {
	for _, c := range w.users {
		c.body.(*average).window(c, at, sum, n)
	}
	w.of = n
	w.review()
}

// review works out anew which sums are of no interest to any rule.
func (w *slide) review() {
	w.least, w.most = 0, 1<<62
	for _, c := range w.users {
		lo, hi := c.body.(*average).band(c, w.of)
		w.least, w.most = max(w.least, lo), min(w.most, hi)
	}
}
