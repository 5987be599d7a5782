package rig_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A bridge is a bench on which the output for closing goes on for a millisecond, so long
// after the one for opening has gone off; less than nothing is before.
type bridge struct {
	*virtual.Bench
	gap  time.Duration
	next []rig.Observation
}

func (b *bridge) Next(until signal.Instant) (rig.Observation, error) {
	if len(b.next) > 0 {
		o := b.next[0]
		b.next = b.next[1:]
		return o, nil
	}
	o, err := b.Bench.Next(until)
	if o.Kind != rig.Sensed || o.Line != signal.DriveOpen || o.Level != signal.Broken {
		return o, err
	}
	at := o.Span.Late
	on := rig.Observation{Kind: rig.Sensed, Line: signal.DriveClose, Level: signal.Made, Span: signal.At(at.Add(b.gap))}
	off := rig.Observation{Kind: rig.Sensed, Line: signal.DriveClose, Level: signal.Broken, Span: signal.At(at.Add(b.gap + time.Millisecond))}
	if o.Span = signal.At(at); b.gap < 0 {
		b.next = []rig.Observation{o, off}
		return on, err
	}
	b.next = []rig.Observation{on, off}
	return o, err
}

// What is sensed on the controller's outputs is judged to the microsecond: two halves of a
// bridge that are driven together for one, and a dead time that is one short.
func TestOutputsAreJudgedToTheMicrosecond(t *testing.T) {
	const us, dead = time.Microsecond, 500 * time.Microsecond
	both := func(v signal.Level) rule.Condition {
		return rule.Condition{Text: "both " + v.String(), Any: [][]rule.Term{{{Kind: rule.LineIs, Line: signal.DriveOpen, Level: v}, {Kind: rule.LineIs, Line: signal.DriveClose, Level: v}}}}
	}
	for _, c := range []struct {
		gap              time.Duration
		together, rested rule.Verdict
	}{
		{dead, rule.Pass, rule.Pass},
		{dead - us, rule.Pass, rule.Fail},
		{us, rule.Pass, rule.Fail},
		{-us, rule.Fail, rule.Pass}, // with no dead time at all there is none that is too short
	} {
		config := virtual.DefaultConfig()
		config.Lines |= signal.SetOf(signal.DriveOpen) | signal.SetOf(signal.DriveClose)
		inner, err := virtual.New(config, 1)
		require.NoError(t, err)
		s := cycle()
		s.Script = s.Script[:4]
		s.Rules = []rule.Rule{{Name: "one at a time", Pattern: rule.Absence, P: both(signal.Made)},
			{Name: "dead time", Pattern: rule.MinimumDuration, P: both(signal.Broken), Limit: dead}}
		o, err := rig.NewConductor(barrier(), &bridge{Bench: inner, gap: c.gap}, inner.Facts(), nil).Perform(&s, 1, rig.Day{})
		require.NoError(t, err)
		require.Len(t, o.Findings, 2)
		assert.Equal(t, c.together, o.Findings[0].Verdict, "%v: %s", c.gap, o.Findings[0].Reason)
		assert.Equal(t, c.rested, o.Findings[1].Verdict, "%v: %s", c.gap, o.Findings[1].Reason)
	}
}

// An early is a bench whose output for closing is seen at some levels before the supply
// comes on.
type early struct {
	*virtual.Bench
	seen []signal.Level
}

func (b *early) Next(until signal.Instant) (rig.Observation, error) {
	if len(b.seen) > 0 {
		o := rig.Observation{Kind: rig.Sensed, Line: signal.DriveClose, Level: b.seen[0], Span: signal.At(b.Now())}
		b.seen = b.seen[1:]
		return o, nil
	}
	return b.Bench.Next(until)
}

// An output that is on before the supply is, is on from the beginning: it makes no edge then.
func TestAnOutputThatIsOnBeforeTheSupply(t *testing.T) {
	made := rule.Condition{Text: "closing driven", Any: [][]rule.Term{{{Kind: rule.LineIs, Line: signal.DriveClose, Level: signal.Made}}}}
	for _, c := range []struct {
		seen  []signal.Level
		first signal.Level
		want  rule.Verdict
	}{
		{nil, signal.Broken, rule.Pass},
		{[]signal.Level{signal.Made}, signal.Made, rule.Fail},
		{[]signal.Level{signal.Made, signal.Broken}, signal.Broken, rule.Pass},
		{[]signal.Level{signal.Made, signal.Broken, signal.Made}, signal.Made, rule.Fail},
	} {
		config := virtual.DefaultConfig()
		config.Lines |= signal.SetOf(signal.DriveOpen) | signal.SetOf(signal.DriveClose)
		inner, err := virtual.New(config, 1)
		require.NoError(t, err)
		s := cycle()
		s.Script = s.Script[:4]
		s.Rules = []rule.Rule{{Name: "off", Pattern: rule.Absence, P: made}}
		job := barrier()
		o, err := rig.NewConductor(job, &early{inner, c.seen}, inner.Facts(), nil).Perform(&s, 1, rig.Day{})
		require.NoError(t, err)
		assert.Equal(t, c.first, o.Trace.Initial[signal.DriveClose], "%v", c.seen)
		assert.Equal(t, c.want, o.Verdict, "%v: %s", c.seen, o.Reason)
		again, err := rig.NewRejudger(job).Judge(&s, &s, o.Trace, o.Troubles)
		require.NoError(t, err)
		assert.Equal(t, c.want, again.Verdict, "%v: %s", c.seen, again.Reason)
	}
}
