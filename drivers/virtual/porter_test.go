package virtual

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/signal"
)

// powered is a supply that comes on at the origin, and the limits of a gate that
// stands closed and is not moved by anything.
func powered(more stimulus) stimulus {
	s := stimulus{signal.Supply: {made(0)}}
	for l, edges := range more {
		s[l] = edges
	}
	return s
}

const (
	press1 = 2 * second
	press2 = 4 * second
	press3 = 8 * second
)

// The behaviour of a sound controller, case by case: which ways the bridge goes.
// What a gate controller of this kind does is common practice, no source.
func TestSoundBehaviour(t *testing.T) {
	closedGate := []signal.Edge{made(0)}
	leaves := []signal.Edge{made(0), broken(press1 + second)}
	cases := []struct {
		name string
		s    stimulus
		want []way
	}{
		{"no press, no movement", stimulus{signal.ClosedLimit: closedGate}, nil},
		{"a press opens a closed gate", stimulus{signal.ClosedLimit: leaves, signal.Remote: presses(press1), signal.OpenLimit: {made(press3)}},
			[]way{opening, idle}},
		{"a press closes an open gate", stimulus{signal.OpenLimit: leaves, signal.Remote: presses(press1), signal.ClosedLimit: {made(press3)}},
			[]way{closing, idle}},
		{"a second remote does the same", stimulus{signal.OpenLimit: leaves, signal.SecondRemote: presses(press1), signal.ClosedLimit: {made(press3)}},
			[]way{closing, idle}},
		{"both remotes at once are one press", stimulus{signal.OpenLimit: leaves, signal.SecondRemote: presses(press1), signal.Remote: presses(press1), signal.ClosedLimit: {made(press3)}},
			[]way{closing, idle}},
		{"a press stops a moving gate", stimulus{signal.ClosedLimit: leaves, signal.Remote: presses(press1, press2)},
			[]way{opening, idle}},
		{"the next press sends it back", stimulus{signal.ClosedLimit: leaves, signal.Remote: presses(press1, press2, press3)},
			[]way{opening, idle, closing}},
		{"a gate between its limits opens first", stimulus{signal.Remote: presses(press1)},
			[]way{opening}},
		{"a held button is one press", stimulus{signal.ClosedLimit: leaves, signal.Remote: {made(press1), broken(12 * second)}},
			[]way{opening}},
		{"a bounce before the press is no press", stimulus{signal.ClosedLimit: leaves,
			signal.Remote: {made(press1), broken(press1 + 2*ms), made(press1 + 5*ms), broken(press1 + 300*ms)}},
			[]way{opening}},
		{"a glitch is no press", stimulus{signal.Remote: {made(press1), broken(press1 + 20*ms)}}, nil},
		{"a press before the quiet time is over is nothing", stimulus{signal.Remote: presses(300 * ms)}, nil},
		{"a button down at power-up is nothing", stimulus{signal.Remote: {made(0), broken(5 * second)}}, nil},
		{"a glitch of the limit does not stop it", stimulus{signal.ClosedLimit: leaves, signal.Remote: presses(press1),
			signal.OpenLimit: {made(press2), broken(press2 + 8*ms)}},
			[]way{opening}},
		{"both limits made: it stays", stimulus{signal.ClosedLimit: closedGate, signal.OpenLimit: closedGate, signal.Remote: presses(press1, press2)}, nil},
		{"a limit that breaks again does not start it", stimulus{signal.OpenLimit: leaves, signal.Remote: presses(press1),
			signal.ClosedLimit: {made(press3), broken(press3 + 300*ms), made(press3 + 500*ms)}},
			[]way{closing, idle}},
		{"after such a rebound a press opens", stimulus{signal.OpenLimit: leaves, signal.Remote: presses(press1, 12*second),
			signal.ClosedLimit: {made(press3), broken(press3 + 300*ms)}},
			[]way{closing, idle, opening}},
		{"a stall stops it", stimulus{signal.ClosedLimit: leaves, signal.Remote: presses(press1), signal.StallLoad: {made(press2)}},
			[]way{opening, idle}},
		{"a stall at the start stops it", stimulus{signal.ClosedLimit: leaves, signal.Remote: presses(press1), signal.StallLoad: {made(0)}},
			[]way{opening, idle}},
		{"a moment's stall does not stop it", stimulus{signal.ClosedLimit: leaves, signal.Remote: presses(press1), signal.StallLoad: {made(press2), broken(press2 + 100*ms)}},
			[]way{opening}},
		{"the beam turns a closing gate round", stimulus{signal.OpenLimit: leaves, signal.Remote: presses(press1), signal.Beam: {made(press2), broken(press2 + second)}},
			[]way{closing, idle, opening}},
		{"the beam does not stop an opening gate", stimulus{signal.ClosedLimit: leaves, signal.Remote: presses(press1), signal.Beam: {made(press2), broken(press2 + second)}},
			[]way{opening}},
		{"an interrupted beam keeps it from closing", stimulus{signal.OpenLimit: closedGate, signal.Remote: presses(press1), signal.Beam: {made(0)}}, nil},
		{"a press in the dead time calls the drive off", stimulus{signal.ClosedLimit: leaves, signal.Remote: append(presses(press1),
			made(press2), broken(press2+100*ms), made(press2+200*ms), broken(press2+280*ms), made(press2+380*ms), broken(press2+480*ms))},
			[]way{opening, idle}},
		{"when the supply goes all stops, and its return moves nothing", stimulus{signal.ClosedLimit: leaves, signal.Remote: presses(press1),
			signal.Supply: {made(0), broken(press2), made(press2 + 100*ms)}},
			[]way{opening, idle}},
		{"two remotes within a quarter of a second are one press", stimulus{signal.OpenLimit: leaves, signal.Remote: presses(press1), signal.SecondRemote: presses(press1 + 150*ms), signal.ClosedLimit: {made(press3)}},
			[]way{closing, idle}},
		{"the other remote stops it while the first is held", stimulus{signal.OpenLimit: leaves, signal.Remote: {made(press1), broken(press3)}, signal.SecondRemote: presses(press2)},
			[]way{closing, idle}},
		{"a short pulse of the limit is an arrival, and a press after it opens", stimulus{signal.OpenLimit: leaves, signal.Remote: presses(press1, 12*second),
			signal.ClosedLimit: {made(press3), broken(press3 + 41*ms)}},
			[]way{closing, idle, opening}},
		{"a glitch of the beam is nothing", stimulus{signal.OpenLimit: leaves, signal.Remote: presses(press1), signal.Beam: {made(press2), broken(press2 + ms)}},
			[]way{closing}},
		{"a parted lead stops it, and joining it does not start it", stimulus{signal.ClosedLimit: leaves, signal.Remote: presses(press1), signal.LeadCut: {made(press2), broken(press3)}},
			[]way{opening, idle}},
		{"a lead parted for a moment does not stop it", stimulus{signal.ClosedLimit: leaves, signal.Remote: presses(press1), signal.LeadCut: {made(press2), broken(press2 + 900*ms)}},
			[]way{opening}},
		{"a short circuit stops it", stimulus{signal.ClosedLimit: leaves, signal.Remote: presses(press1), signal.MotorShort: {made(press2), broken(press3)}},
			[]way{opening, idle}},
		{"a dragging gate does not stop it", stimulus{signal.ClosedLimit: leaves, signal.Remote: presses(press1), signal.DragLoad: {made(press2)}},
			[]way{opening}},
		{"a low supply does not stop it", stimulus{signal.ClosedLimit: leaves, signal.Remote: presses(press1), signal.SupplySag: {made(press2)}, signal.SupplyDip: {made(5 * second), broken(7 * second)}},
			[]way{opening}},
		{"a short gap in the supply does not stop it", stimulus{signal.ClosedLimit: leaves, signal.Remote: presses(press1), signal.Supply: gap(press2, 19*ms)},
			[]way{opening}},
		{"a longer one does, for good", stimulus{signal.ClosedLimit: leaves, signal.Remote: presses(press1), signal.Supply: gap(press2, 21*ms)},
			[]way{opening, idle}},
		{"limit ahead made while a drive is about to begin", stimulus{signal.Remote: presses(press1), signal.OpenLimit: {made(press1 + 35*ms)}}, nil},
	}
	b := bench(t, exact())
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			for seed := range uint64(20) {
				got, _ := turns(t, b, seed, powered(c.s), 14*second)
				require.Equalf(t, c.want, ways(got), "seed %d: %v", seed, got)
			}
		})
	}
}

// Each delay lies between what its figures add up to with the loop at its best
// and at its worst, and both ends are met over many phases.
func TestTimings(t *testing.T) {
	leaves := []signal.Edge{made(0), broken(press1 + second)}
	cases := []struct {
		name        string
		s           stimulus
		turn        int // which turn is timed
		from        signal.Instant
		least, most time.Duration
	}{
		// 30 ms of debounce is three loops after the first look, plus 50 ms of delay.
		{"press to start", stimulus{signal.ClosedLimit: leaves, signal.Remote: presses(press1)}, 0, press1, 80 * time.Millisecond, 90 * time.Millisecond},
		// 20 ms of debounce, 15 ms of delay.
		{"limit to stop", stimulus{signal.ClosedLimit: leaves, signal.Remote: presses(press1), signal.OpenLimit: {made(press3)}},
			1, press3, 35 * time.Millisecond, 45 * time.Millisecond},
		{"press to stop", stimulus{signal.ClosedLimit: leaves, signal.Remote: presses(press1, press2)},
			1, press2, 45 * time.Millisecond, 55 * time.Millisecond},
		{"stall to stop", stimulus{signal.ClosedLimit: leaves, signal.Remote: presses(press1), signal.StallLoad: {made(press2)}},
			1, press2, 215 * time.Millisecond, 240 * time.Millisecond}, // and the rise of the current
		{"beam to stop", stimulus{signal.OpenLimit: leaves, signal.Remote: presses(press1), signal.Beam: {made(press2)}},
			1, press2, 25 * time.Millisecond, 35 * time.Millisecond}, // one look more, for a glitch
		{"supply to stop", stimulus{signal.ClosedLimit: leaves, signal.Remote: presses(press1), signal.Supply: {made(0), broken(press2)}},
			1, press2, 20 * time.Millisecond, 20 * time.Millisecond}, // the hold-up of the logic; the motor has stopped long before
	}
	b := bench(t, exact())
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			shortest, longest := time.Hour, time.Duration(0)
			for seed := range uint64(100) {
				got, _ := turns(t, b, seed, powered(c.s), 12*second)
				require.Greater(t, len(got), c.turn)
				d := got[c.turn].at.Sub(c.from)
				require.GreaterOrEqual(t, d, c.least)
				require.LessOrEqual(t, d, c.most)
				shortest, longest = min(shortest, d), max(longest, d)
			}
			if c.most > c.least {
				assert.Greater(t, longest-shortest, 7*time.Millisecond, "the phase of the loop varies")
			}
		})
	}
}

func TestRunTimeAndDeadTime(t *testing.T) {
	got, _ := turns(t, bench(t, exact()), 3, powered(stimulus{signal.Remote: presses(press1)}), 30*second)
	require.Equal(t, []way{opening, idle}, ways(got))
	run := got[1].at.Sub(got[0].at)
	assert.GreaterOrEqual(t, run, 14*time.Second+15*time.Millisecond)
	assert.LessOrEqual(t, run, 14*time.Second+25*time.Millisecond)

	got, _ = turns(t, bench(t, exact()), 3, powered(stimulus{signal.Remote: presses(press1, press2, press2+250*ms)}), 10*second)
	require.Equal(t, []way{opening, idle, closing}, ways(got))
	assert.Equal(t, 500*time.Millisecond, got[2].at.Sub(got[1].at), "the dead time, to the nanosecond")
}

func TestDebounceToTheNanosecond(t *testing.T) {
	// The loop's phase is found from the first start; then a press is cut so that
	// its last look just sees it, or just does not.
	base := turnsOf(t, presses(press1))
	require.Len(t, base, 1)
	decided := base[0].at.Add(-50 * time.Millisecond) // the fourth look that finds it pressed
	seen := turnsOf(t, []signal.Edge{made(press1), broken(decided + 1)})
	assert.Len(t, seen, 1, "released just after the look")
	missed := turnsOf(t, []signal.Edge{made(press1), broken(decided)})
	assert.Empty(t, missed, "released at the instant of the look")
	first := decided.Add(-30 * time.Millisecond)
	assert.Equal(t, base, turnsOf(t, []signal.Edge{made(first)}), "pressed at the instant of the first look")
	assert.Equal(t, base[0].at.Add(10*time.Millisecond), turnsOf(t, []signal.Edge{made(first + 1)})[0].at, "and just after it")
}

func turnsOf(t *testing.T, remote []signal.Edge) []turn {
	got, _ := turns(t, bench(t, exact()), 7, powered(stimulus{signal.Remote: remote}), 5*second)
	return got
}

func TestOutputsHaveNoPowerWithoutSupply(t *testing.T) {
	p := newPorter(DefaultConfig().Controller, DefaultConfig().Battery)
	p.Reset(1, nil)
	require.Equal(t, HighZ, p.Output(signal.DriveOpen))
	p.Plan(signal.Supply, 0, signal.Timeline{Edges: []signal.Edge{made(5), broken(second)}})
	at, changed := p.Run(2 * second)
	require.True(t, changed)
	require.Equal(t, signal.Instant(5), at)
	require.Equal(t, Low, p.Output(signal.DriveOpen))
	at, changed = p.Run(2 * second)
	require.True(t, changed)
	require.Equal(t, second+20*ms, at, "the logic outlives its supply a little")
	require.Equal(t, HighZ, p.Output(signal.DriveClose))
	require.Equal(t, HighZ, p.Output(signal.Remote), "no output")
	for s := HighZ; s <= High+1; s++ {
		require.NotEmpty(t, s.String())
	}
}

// The logic's own supply: below the brown-out voltage it lives as long as without.
func TestBrownOut(t *testing.T) {
	c := exact()
	s := powered(stimulus{signal.ClosedLimit: {made(0), broken(3 * second)}, signal.Remote: presses(press1),
		signal.SupplyDip: {made(press2), broken(press2 + 21*ms)}})
	got, _ := turns(t, bench(t, c), 1, s, 6*second)
	require.Equal(t, []way{opening}, ways(got), "40 % of the supply is enough")
	c.Controller.BrownOut = 10.3
	got, _ = turns(t, bench(t, c), 1, s, 6*second)
	require.Equal(t, []way{opening, idle}, ways(got))
	require.Equal(t, press2+20*ms, got[1].at)
	s[signal.SupplyDip] = []signal.Edge{made(press2), broken(press2 + 20*ms)}
	got, _ = turns(t, bench(t, c), 1, s, 6*second)
	require.Equal(t, []way{opening}, ways(got), "over at the very instant")
}

// Even a reset in mid-travel does not shorten the dead time.
func TestDeadTimeOutlivesAReset(t *testing.T) {
	c := exact()
	c.Controller.PowerUpQuiet = 0
	got, _ := turns(t, bench(t, c), 5, powered(stimulus{signal.OpenLimit: {made(0), broken(3 * second)},
		signal.Supply: gap(press2, 30*ms), signal.Remote: presses(press1, press2+60*ms)}), 6*second)
	require.Equal(t, []way{closing, idle, opening}, ways(got))
	require.Equal(t, 500*time.Millisecond, got[2].at.Sub(got[1].at))
}

func TestReversalAfterAStall(t *testing.T) {
	c := exact()
	reversing(&c.Controller)
	s := powered(stimulus{signal.OpenLimit: {made(0), broken(3 * second)}, signal.Remote: presses(press1),
		signal.StallLoad: {made(press2), broken(press2 + 500*ms)}})
	got, _ := turns(t, bench(t, c), 5, s, 7*second)
	require.Equal(t, []way{closing, idle, opening}, ways(got))
	require.Equal(t, 700*time.Millisecond, got[2].at.Sub(got[1].at))
	s[signal.StallLoad] = []signal.Edge{made(press2)}
	got, _ = turns(t, bench(t, c), 5, s, 20*second)
	require.Equal(t, []way{closing, idle, opening, idle}, ways(got), "stalled opening too, it stays")
}
