package rule

import (
	"errors"
	"fmt"
	"slices"

	"pintle/rig/motion"
	"pintle/rig/signal"
)

// Every atomic fact is one bit of a word: a line's level at the line's number,
// the motor's states, and one bit for each current that a condition compares with.
const (
	motorBit     = 21 // and up: stopped, opening, closing
	thresholdBit = 24
	maxThreshold = 64 - thresholdBit
)

const motorBits = uint64(7) << motorBit

// This does not compile once the lines reach up to the motor's bits.
const _ uint = motorBit - signal.LineCount

func motorWord(s motion.State) uint64 {
	if s < motion.Stopped || s > motion.Closing {
		return 0
	}
	return 1 << (motorBit + s - motion.Stopped)
}

// A clause holds while all bits of set are set and all of clear are not.
type clause struct{ set, clear uint64 }

// A stamp is when a thing happened, and whether the meter told of it.
type stamp struct {
	span  signal.Span
	known bool
	meter bool
}

// A cond is a compiled condition with its present truth. A state holds on
// stretches of time (is); an event holds at single instants (point).
type cond struct {
	clauses []clause
	looks   uint64 // the facts that it looks at
	event   bool
	text    string
	raw     bool // the clauses hold
	is      bool // a state that holds
	rose    bool // it became true with the present change
	fell    bool // it became false with the present change
	point   bool // an event that happens with the present change
	last    stamp
}

func (c *cond) eval(word uint64) bool {
	for _, k := range c.clauses {
		if word&k.set == k.set && word&k.clear == 0 {
			return true
		}
	}
	return false
}

// begin takes the truth at the origin, which is no event.
func (c *cond) begin(word uint64) {
	c.raw = c.eval(word)
	c.is = c.raw && !c.event
	c.rose, c.fell, c.point, c.last = false, false, false, stamp{}
}

// holds says whether the condition is true at the instant of the present change.
func (c *cond) holds() bool { return c.is || c.point }

// turned says whether it changed with the present change.
func (c *cond) turned() bool { return c.rose || c.fell || c.point }

func (c *cond) change(word uint64, at stamp) {
	was := c.raw
	c.raw = c.eval(word)
	switch {
	case c.event:
		c.point = c.raw && !was
	default:
		c.is, c.rose, c.fell = c.raw, c.raw && !was, was && !c.raw
	}
	if c.turned() {
		c.last = at
	}
}

func (c *cond) rest() { c.rose, c.fell, c.point = false, false, false }

// A vocabulary compiles conditions into one word.
type vocabulary struct {
	conds      []*cond     // those that a stream asks
	users      [64][]int32 // by bit: which of them look at it
	thresholds []signal.Current
}

// add compiles a condition for the stream to ask.
func (v *vocabulary) add(c Condition, negate bool) (*cond, error) {
	out, err := v.compile(c, negate)
	if err != nil {
		return nil, err
	}
	for bit := range 64 {
		if out.looks&(1<<bit) != 0 {
			v.users[bit] = append(v.users[bit], int32(len(v.conds)))
		}
	}
	v.conds = append(v.conds, out)
	return out, nil
}

func (v *vocabulary) compile(c Condition, negate bool) (*cond, error) {
	out := &cond{event: c.Becomes, text: c.Text}
	for _, terms := range c.Any {
		var k clause
		for _, t := range terms {
			set, clear, err := v.bits(t)
			if err != nil {
				return nil, fmt.Errorf("condition %q: %w", c.Text, err)
			}
			k.set, k.clear = k.set|set, k.clear|clear
		}
		out.looks |= k.set | k.clear
		if k.set&k.clear == 0 {
			out.clauses = append(out.clauses, k)
		}
	}
	if negate {
		out.clauses = negated(out.clauses)
	}
	return out, nil
}

// negated gives clauses that hold where none of the given ones does.
func negated(clauses []clause) []clause {
	out := []clause{{}}
	for _, k := range clauses {
		var next []clause
		for _, o := range out {
			for bit := range 64 {
				b := uint64(1) << bit
				n := o
				switch {
				case k.set&b != 0:
					n.clear |= b
				case k.clear&b != 0:
					n.set |= b
				default:
					continue
				}
				if n.set&n.clear == 0 {
					next = append(next, n)
				}
			}
		}
		out = next
	}
	return out
}

func (v *vocabulary) bits(t Term) (set, clear uint64, err error) {
	switch t.Kind {
	case LineIs:
		if t.Line == signal.NoLine || t.Line >= signal.LineCount {
			return 0, 0, fmt.Errorf("there is no %v", t.Line)
		}
		set = 1 << t.Line
		t.Not = t.Not != (t.Level == signal.Broken)
	case MotorIs:
		if set = motorWord(t.State); set == 0 {
			return 0, 0, fmt.Errorf("the motor cannot be asked to be %v", t.State)
		}
	case CurrentAbove:
		i := slices.Index(v.thresholds, t.Current)
		if i < 0 {
			if len(v.thresholds) == maxThreshold {
				return 0, 0, fmt.Errorf("more than %d different currents are compared with", maxThreshold)
			}
			i = len(v.thresholds)
			v.thresholds = append(v.thresholds, t.Current)
		}
		set = 1 << (thresholdBit + i)
	default:
		return 0, 0, errors.New("it has a term of no kind")
	}
	if t.Not {
		return 0, set, nil
	}
	return set, 0, nil
}
