package virtual

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/signal"
)

// A display is a stimulus under which a defect shows: the bridge goes other ways
// than the sound controller's, or a turn comes earlier or later.
type display struct {
	defect     string
	s          stimulus
	sound, bad []way
	turn       int           // of a defect that shows in time only: which turn
	later      time.Duration // by at least this; negative: earlier
}

func displays() []display {
	closedGate := []signal.Edge{made(0), broken(press1 + second)}
	opens := func(more stimulus) stimulus {
		s := stimulus{signal.Supply: {made(0)}, signal.ClosedLimit: closedGate, signal.Remote: presses(press1)}
		for l, e := range more {
			s[l] = e
		}
		return s
	}
	closes := func(more stimulus) stimulus {
		s := stimulus{signal.Supply: {made(0)}, signal.OpenLimit: closedGate, signal.Remote: presses(press1)}
		for l, e := range more {
			s[l] = e
		}
		return s
	}
	one, two := []way{opening}, []way{opening, idle}
	bounce := []signal.Edge{made(press3), broken(press3 + ms), made(press3 + 2*ms), broken(press3 + 3*ms), made(press3 + 4*ms)}
	arrives := stimulus{signal.OpenLimit: {made(press3)}}
	return []display{
		{defect: "no run-time cut-out", s: opens(nil), sound: two, bad: one},
		{defect: "run-time cut-out too long", s: opens(nil), sound: two, bad: two, turn: 1, later: 6 * time.Second},
		{defect: "run-time cut-out too short", s: opens(arrives), sound: two, bad: two, turn: 1, later: -2 * time.Second},
		{defect: "ignores the closed limit", s: closes(stimulus{signal.ClosedLimit: {made(press3)}}),
			sound: []way{closing, idle}, bad: []way{closing, idle}, turn: 1, later: 5 * time.Second},
		{defect: "ignores the open limit", s: opens(arrives), sound: two, bad: two, turn: 1, later: 5 * time.Second},
		{defect: "slow to stop at a limit", s: opens(arrives), sound: two, bad: two, turn: 1, later: 400 * time.Millisecond},
		{defect: "slow to stop when pressed", s: opens(stimulus{signal.Remote: presses(press1, press2)}), sound: two, bad: two, turn: 1, later: 600 * time.Millisecond},
		{defect: "slow to start", s: opens(nil), sound: two, bad: two, turn: 0, later: 900 * time.Millisecond},
		{defect: "no debounce of limits", s: opens(stimulus{signal.OpenLimit: bounce}), sound: two, bad: []way{opening, idle, opening, idle}},
		{defect: "no debounce of limits", s: opens(stimulus{signal.OpenLimit: {made(press2), broken(press2 + 300*ms/1000)}}), sound: two,
			bad: []way{opening, idle, opening, idle}},
		{defect: "no debounce of the button", s: opens(stimulus{signal.Remote: {made(press1), broken(press1 + ms), made(press1 + 3*ms), broken(press1 + 200*ms)}}),
			sound: two, bad: nil},
		{defect: "restarts when a limit breaks again", s: opens(stimulus{signal.OpenLimit: {made(press3), broken(press3 + 300*ms), made(press3 + 600*ms)}}),
			sound: two, bad: []way{opening, idle, opening, idle}},
		{defect: "no stall cut-out", s: opens(stimulus{signal.StallLoad: {made(press2)}}), sound: two, bad: two, turn: 1, later: 10 * time.Second},
		{defect: "stall cut-out blind at start", s: opens(stimulus{signal.StallLoad: {made(0)}}), sound: two, bad: two, turn: 1, later: 4500 * time.Millisecond},
		{defect: "stall cut-out too slow", s: opens(stimulus{signal.StallLoad: {made(press2)}}), sound: two, bad: two, turn: 1, later: 1500 * time.Millisecond},
		{defect: "tries again after a stall", s: opens(stimulus{signal.StallLoad: {made(press2), broken(press2 + 2*second)}}), sound: two, bad: []way{opening, idle, opening, idle, opening, idle}},
		{defect: "no dead time", s: opens(stimulus{signal.Remote: presses(press1, press2, press2+250*ms)}),
			sound: []way{opening, idle, closing, idle}, bad: []way{opening, idle, closing, idle}, turn: 2, later: -200 * time.Millisecond},
		{defect: "moves by itself when supply returns", s: opens(stimulus{signal.Supply: {made(0), broken(press2), made(press2 + second)}}),
			sound: two, bad: []way{opening, idle, closing, idle}},
		{defect: "held button repeats", s: opens(stimulus{signal.Remote: {made(press1), broken(press1 + 1500*ms)}}), sound: two, bad: two, turn: 1, later: -10 * time.Second},
		{defect: "drives into a made limit", s: stimulus{signal.Supply: {made(0)}, signal.OpenLimit: {made(0)}, signal.Remote: presses(press1)},
			sound: []way{closing, idle}, bad: two},
		{defect: "ignores a press in mid-travel", s: opens(stimulus{signal.Remote: presses(press1, press2)}), sound: two, bad: two, turn: 1, later: 10 * time.Second},
		{defect: "both limits made is ignored", s: opens(stimulus{signal.ClosedLimit: {made(0)}, signal.OpenLimit: {made(0)}}), sound: nil, bad: two},
		{defect: "weak start", s: opens(arrives), sound: two, bad: []way{opening, idle, opening, idle}},
		{defect: "goes the same way again", s: opens(stimulus{signal.Remote: presses(press1, press2, press3)}),
			sound: []way{opening, idle, closing, idle}, bad: []way{opening, idle, opening, idle}},
		{defect: "no quiet time after power-up", s: opens(stimulus{signal.Remote: presses(200 * ms)}), sound: nil, bad: two},
		{defect: "button held at power-up is a press", s: opens(stimulus{signal.Remote: {made(0), broken(second)}}), sound: nil, bad: two},
		{defect: "ignores the beam", s: closes(stimulus{signal.Beam: {made(press2), broken(press3)}}),
			sound: []way{closing, idle, opening, idle}, bad: []way{closing, idle}},
		{defect: "does not reverse for the beam", s: closes(stimulus{signal.Beam: {made(press2), broken(press3)}}),
			sound: []way{closing, idle, opening, idle}, bad: []way{closing, idle}},
		{defect: "kicks back after a stop", s: opens(arrives), sound: two, bad: []way{opening, idle, closing, idle}},
	}
}

const displayTime = 34 * second

func TestEveryDefectShows(t *testing.T) {
	sound := bench(t, exact())
	for _, d := range displays() {
		t.Run(d.defect, func(t *testing.T) {
			defective := bench(t, exact(d.defect))
			for seed := range uint64(8) {
				good, goodSamples := turns(t, sound, seed, d.s, displayTime)
				bad, badSamples := turns(t, defective, seed, d.s, displayTime)
				require.Equalf(t, d.sound, ways(good), "sound: %v", good)
				require.Equalf(t, d.bad, ways(bad), "defective: %v", bad)
				if d.later > 0 {
					require.GreaterOrEqual(t, bad[d.turn].at.Sub(good[d.turn].at), d.later)
				} else if d.later < 0 {
					require.LessOrEqual(t, bad[d.turn].at.Sub(good[d.turn].at), d.later)
				}
				require.Greater(t, apart(goodSamples, badSamples), 20*time.Millisecond, "seen in the motor's current")
			}
		})
	}
}

// apart is for how long two traces differ by more than an ampere.
func apart(a, b []signal.Sample) (d time.Duration) {
	for i := range a {
		if (a[i].Current - b[i].Current).Abs() > signal.Ampere {
			d += a[i].To.Sub(a[i].From)
		}
	}
	return d
}

func TestTheTableOfDefects(t *testing.T) {
	shown := map[string]bool{}
	for _, d := range displays() {
		shown[d.defect] = true
	}
	seen := map[string]bool{}
	for _, info := range Defects() {
		assert.Truef(t, shown[info.Name], "no test shows %q", info.Name)
		assert.Falsef(t, seen[info.Name], "%q is there twice", info.Name)
		assert.NotEmpty(t, info.Means)
		assert.Regexp(t, `^[a-z][a-z -]+$`, info.Name, "plain words")
		seen[info.Name] = true
	}
	assert.GreaterOrEqual(t, len(seen), 12)
	assert.Len(t, shown, len(seen))
}

// Two defects at once are both there.
func TestDefectsGoTogether(t *testing.T) {
	b := bench(t, exact("no run-time cut-out", "ignores the open limit", "no stall cut-out"))
	got, _ := turns(t, b, 1, stimulus{signal.Supply: {made(0)}, signal.Remote: presses(press1),
		signal.OpenLimit: {made(press3)}, signal.StallLoad: {made(press3 + second)}}, 60*second)
	require.Equal(t, []way{opening}, ways(got))
}
