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
	until      signal.Instant
	change     func(c *ControllerConfig) // of both controllers
	unseen     bool                      // the motor's current is as it was: it has none
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
		{defect: "run-time cut-out only when closing", s: opens(nil), sound: two, bad: one},
		{defect: "run-time cut-out only when opening", s: closes(nil), sound: []way{closing, idle}, bad: []way{closing}},
		{defect: "moves by itself when its clock comes round", s: stimulus{signal.Supply: {made(0)}, signal.ClosedLimit: {made(0)}}, sound: nil, bad: two, until: 90 * second},
		{defect: "starts by itself after power-up", s: stimulus{signal.Supply: {made(0)}, signal.ClosedLimit: {made(0)}}, sound: nil, bad: two},
		{defect: "tries its motor at power-up", s: opens(arrives), sound: two, bad: []way{opening, idle, opening, idle}},
		{defect: "closes first after power-up", s: opens(arrives), sound: two, bad: []way{closing, idle}},
		{defect: "keeps its order through a reset at the start", s: opens(stimulus{signal.Supply: gap(press1+600*ms, 100*ms)}), sound: two, bad: []way{opening, idle, opening, idle}},
		{defect: "hangs after a reset in mid-travel", s: opens(stimulus{signal.Supply: gap(press2, 100*ms), signal.Remote: presses(press1, press3)}),
			sound: []way{opening, idle, opening, idle}, bad: two},
		{defect: "turns round after a sag", s: opens(stimulus{signal.SupplySag: {made(press2), broken(press2 + 500*ms)}}), sound: two, bad: []way{opening, idle, closing, idle}},
		{defect: "turns round after a dip", s: opens(stimulus{signal.SupplyDip: {made(press2), broken(press2 + 100*ms)}}), sound: two, bad: []way{opening, idle, closing, idle}},
		{defect: "turns round after a short interruption", s: opens(stimulus{signal.Supply: gap(press2, 5*ms)}), sound: two, bad: []way{opening, idle, closing, idle}},
		{defect: "takes a bounce of the limit behind it for an end", s: opens(stimulus{signal.ClosedLimit: {made(0), broken(press2), made(press2 + ms), broken(press2 + 2*ms)}}),
			sound: two, bad: two, turn: 1, later: -5 * time.Second},
		{defect: "takes an early limit for a fault", s: opens(stimulus{signal.ClosedLimit: {made(0), broken(press1 + 60*ms)}}), sound: two, bad: two, turn: 1, later: -5 * time.Second},
		{defect: "turns round for the beam while it opens", s: opens(stimulus{signal.Beam: {made(press2), broken(press3)}}), sound: two, bad: []way{opening, idle, closing, idle}},
		{defect: "ignores a press while it is stalled", s: opens(stimulus{signal.StallLoad: {made(press2)}, signal.Remote: presses(press1, press2+100*ms)}), sound: two, bad: two, turn: 1, later: 50 * time.Millisecond},
		{defect: "no stall cut-out when opening", s: opens(stimulus{signal.StallLoad: {made(press2)}}), sound: two, bad: two, turn: 1, later: 10 * time.Second},
		{defect: "run time counted over all drives", s: opens(stimulus{signal.Remote: presses(press1, press3, 10*second)}),
			sound: []way{opening, idle, closing, idle}, bad: []way{opening, idle, closing, idle}, turn: 3, later: -5 * time.Second},
		{defect: "turns round at the run-time cut-out", s: opens(nil), sound: two, bad: []way{opening, idle, closing, idle, opening}},
		{defect: "clock wraps after a minute", s: opens(stimulus{signal.Remote: presses(70 * second), signal.ClosedLimit: {made(0)}}),
			sound: two, bad: two, turn: 0, later: 60 * time.Second, until: 160 * second},
		{defect: "slower to stop with each drive", s: opens(stimulus{signal.Remote: mashed(40)}), sound: mashedWays(40), bad: mashedWays(40), turn: 39, later: 19 * time.Millisecond, until: 100 * second},
		{defect: "starts at once in the dead time", s: opens(stimulus{signal.Remote: presses(press1, press2, press2+250*ms)}),
			sound: []way{opening, idle, closing, idle}, bad: []way{opening, idle, closing, idle}, turn: 2, later: -200 * time.Millisecond},
		{defect: "no dead time in its own reversals", s: closes(stimulus{signal.Beam: {made(press2), broken(press3)}}),
			sound: []way{closing, idle, opening, idle}, bad: []way{closing, idle, opening, idle}, turn: 2, later: -200 * time.Millisecond},
		{defect: "closes by itself", s: opens(arrives), sound: two, bad: []way{opening, idle, closing, idle}},
		{defect: "misses every eighth limit", s: opens(eightTravels()), sound: mashedWays(16), bad: mashedWays(16), turn: 15, later: 3 * time.Second, until: 60 * second},
		{defect: "obeys a glitch on a limit", s: opens(stimulus{signal.OpenLimit: {made(press2), broken(press2 + ms/20)}}), sound: two, bad: two, turn: 1, later: -5 * time.Second},
		{defect: "forgets a short limit pulse", s: opens(stimulus{signal.OpenLimit: {made(press3), broken(press3 + 40*ms)}}), sound: two, bad: two, turn: 1, later: 5 * time.Second,
			change: func(c *ControllerConfig) { c.LimitLag = 30 * time.Millisecond }},
		{defect: "forgets the end that it has reached", s: opens(stimulus{signal.Remote: presses(press1, 12*second), signal.OpenLimit: {made(press3), broken(10 * second)}}),
			sound: []way{opening, idle, closing, idle}, bad: []way{opening, idle, opening, idle}},
		{defect: "drives on when pressed right after arrival", s: opens(stimulus{signal.Remote: presses(press1, press3+100*ms), signal.OpenLimit: {made(press3)}}),
			sound: []way{opening, idle, closing, idle}, bad: []way{opening, idle, opening, idle}},
		{defect: "stops at a magnet behind it", s: opens(stimulus{signal.ClosedLimit: {made(0), broken(3 * second), made(press2), broken(5 * second)}}), sound: two, bad: two, turn: 1, later: -5 * time.Second},
		{defect: "takes a late limit for a stuck one", s: opens(stimulus{signal.ClosedLimit: {made(0), broken(press2)}}), sound: two, bad: two, turn: 1, later: -5 * time.Second},
		{defect: "moves off when both limits are made", s: stimulus{signal.Supply: {made(0)}, signal.ClosedLimit: {made(0)}, signal.OpenLimit: {made(0)}}, sound: nil, bad: two},
		{defect: "obeys a glitch on the button", s: opens(stimulus{signal.Remote: {made(press1), broken(press1 + ms/20)}}), sound: nil, bad: two},
		{defect: "obeys a glitch on the second remote", s: opens(stimulus{signal.Remote: nil, signal.SecondRemote: {made(press1), broken(press1 + ms/20)}}), sound: nil, bad: two},
		{defect: "turns round at the wrong limit", s: opens(stimulus{signal.ClosedLimit: {made(press3)}}), sound: two, bad: []way{opening, idle, closing, idle}},
		{defect: "obeys too short a press", s: opens(stimulus{signal.Remote: {made(press1), broken(press1 + 11*ms)}}), sound: nil, bad: two},
		{defect: "needs a long press", s: opens(stimulus{signal.Remote: {made(press1), broken(press1 + 80*ms)}}), sound: two, bad: nil},
		{defect: "turns round when pressed in mid-travel", s: opens(stimulus{signal.Remote: presses(press1, press2)}), sound: two, bad: []way{opening, idle, closing, idle}},
		{defect: "a press calls a stop off", s: opens(stimulus{signal.OpenLimit: {made(press3)}, signal.Remote: presses(press1, press3+10*ms)}), sound: two, bad: two, turn: 1, later: 5 * time.Second,
			change: func(c *ControllerConfig) { c.LimitLag = 200 * time.Millisecond }},
		{defect: "drives on when pressed right after arrival", s: opens(stimulus{signal.OpenLimit: {made(press3)}, signal.Remote: presses(press1, press3+10*ms)}),
			sound: two, bad: []way{opening, idle, opening, idle}, change: func(c *ControllerConfig) { c.LimitLag = 200 * time.Millisecond }},
		{defect: "ignores the second remote", s: opens(stimulus{signal.Remote: nil, signal.SecondRemote: presses(press1)}), sound: two, bad: nil},
		{defect: "hangs when two remotes are pressed", s: opens(stimulus{signal.SecondRemote: presses(press1)}), sound: two, bad: nil,
			change: func(c *ControllerConfig) { c.StartDelay = 300 * time.Millisecond }},
		{defect: "does not look at the beam before it closes", s: closes(stimulus{signal.Beam: {made(1500 * ms)}}), sound: nil, bad: []way{closing, idle}},
		{defect: "takes a long-interrupted beam for a broken one", s: closes(stimulus{signal.Beam: {made(0)}}), sound: nil, bad: []way{closing, idle}},
		{defect: "takes a long-interrupted beam for a broken one", s: closes(stimulus{signal.Beam: {made(second)}, signal.Remote: presses(7 * second), signal.OpenLimit: {made(0), broken(8 * second)}}), sound: nil, bad: []way{closing, idle}},
		{defect: "slow to stop for the beam", s: closes(stimulus{signal.Beam: {made(press2), broken(press3)}}),
			sound: []way{closing, idle, opening, idle}, bad: []way{closing, idle, opening, idle}, turn: 1, later: 500 * time.Millisecond},
		{defect: "slow to reverse for the beam", s: closes(stimulus{signal.Beam: {made(press2), broken(press3)}}),
			sound: []way{closing, idle, opening, idle}, bad: []way{closing, idle, opening, idle}, turn: 2, later: 2 * time.Second},
		{defect: "beam stops an opening gate", s: opens(stimulus{signal.Beam: {made(press2), broken(press3)}}), sound: two, bad: two, turn: 1, later: -5 * time.Second},
		{defect: "closes again when the beam is clear", s: closes(stimulus{signal.Beam: {made(press2), broken(press3)}}),
			sound: []way{closing, idle, opening, idle}, bad: []way{closing, idle, opening, idle, closing, idle}, until: 50 * second},
		{defect: "obeys a glitch on the beam", s: closes(stimulus{signal.Beam: {made(press2), broken(press2 + ms/20)}}), sound: []way{closing, idle}, bad: []way{closing, idle, opening, idle}},
		{defect: "no stall cut-out when closing", s: closes(stimulus{signal.StallLoad: {made(press2)}}), sound: []way{closing, idle}, bad: []way{closing, idle}, turn: 1, later: 10 * time.Second},
		{defect: "stall threshold too low", s: opens(stimulus{signal.DragLoad: {made(press2)}}), sound: two, bad: two, turn: 1, later: -10 * time.Second},
		{defect: "takes the inrush for a stall", s: opens(nil), sound: two, bad: two, turn: 1, later: -10 * time.Second},
		{defect: "does not reverse after a stall", s: closes(stimulus{signal.StallLoad: {made(press2), broken(press2 + 500*ms)}}), change: reversing,
			sound: []way{closing, idle, opening, idle}, bad: []way{closing, idle}},
		{defect: "slow to reverse after a stall", s: closes(stimulus{signal.StallLoad: {made(press2), broken(press2 + 500*ms)}}), change: reversing,
			sound: []way{closing, idle, opening, idle}, bad: []way{closing, idle, opening, idle}, turn: 2, later: 3 * time.Second},
		{defect: "reverses after a stall while opening", s: opens(stimulus{signal.StallLoad: {made(press2), broken(press2 + 500*ms)}}), change: reversing,
			sound: two, bad: []way{opening, idle, closing, idle}},
		{defect: "no open-circuit cut-out", s: opens(stimulus{signal.LeadCut: {made(press2), broken(press3)}}), sound: two, bad: two, turn: 1, later: 5 * time.Second},
		{defect: "open-circuit cut-out too slow", s: opens(stimulus{signal.LeadCut: {made(press2)}}), sound: two, bad: two, turn: 1, later: 2 * time.Second, unseen: true},
		{defect: "restarts when the lead is joined again", s: opens(stimulus{signal.LeadCut: {made(press2), broken(press3)}}), sound: two,
			bad: []way{opening, idle, opening, idle, opening, idle}},
		{defect: "no short-circuit cut-out", s: opens(stimulus{signal.MotorShort: {made(press2)}}), sound: two, bad: two, turn: 1, later: 100 * time.Millisecond},
		{defect: "short-circuit cut-out too slow", s: opens(stimulus{signal.MotorShort: {made(press2)}}), sound: two, bad: two, turn: 1, later: 140 * time.Millisecond},
		{defect: "tries again after a short circuit", s: opens(stimulus{signal.MotorShort: {made(press2), broken(5 * second)}}), sound: two, bad: []way{opening, idle, opening, idle}},
		{defect: "believes no limit after power-up", s: stimulus{signal.Supply: {made(0)}, signal.OpenLimit: {made(0), broken(4 * second)}, signal.Remote: presses(1200 * ms)},
			sound: []way{closing, idle}, bad: two},
		{defect: "comes back driving after a reset", s: opens(stimulus{signal.Supply: gap(press2, 100*ms)}), sound: two, bad: []way{opening, idle, opening, idle}},
		{defect: "resumes its travel after a reset", s: opens(stimulus{signal.Supply: gap(press2, 100*ms)}), sound: two, bad: []way{opening, idle, opening, idle}},
		{defect: "starts what a reset has interrupted", s: opens(stimulus{signal.Supply: gap(press1+60*ms, 100*ms)}), sound: nil, bad: two,
			change: func(c *ControllerConfig) { c.StartDelay = 300 * time.Millisecond }},
		{defect: "loses its dead time in a reset", s: closes(stimulus{signal.Supply: gap(press2, 100*ms), signal.Remote: presses(press1, press2+150*ms)}),
			sound: []way{closing, idle, opening, idle}, bad: []way{closing, idle, opening, idle}, turn: 2, later: -100 * time.Millisecond,
			change: func(c *ControllerConfig) { c.PowerUpQuiet = 0 }},
		{defect: "resets when the supply sags", s: opens(stimulus{signal.SupplySag: {made(press2), broken(press3)}}), sound: two, bad: two, turn: 1, later: -5 * time.Second},
		{defect: "gives up when the supply sags", s: opens(stimulus{signal.SupplySag: {made(press2), broken(press3)}}), sound: two, bad: two, turn: 1, later: -5 * time.Second},
		{defect: "run time stands still while the supply dips", s: opens(stimulus{signal.SupplyDip: {made(press2), broken(14 * second)}}), sound: two, bad: two, turn: 1, later: 9 * time.Second},
		{defect: "kicks back after a stop", s: opens(arrives), sound: two, bad: []way{opening, idle, closing, idle}},
		{defect: "both drive outputs at once", s: opens(arrives), sound: two, bad: []way{opening, closing, idle, idle}, unseen: true},
	}
}

const displayTime = 34 * second

// gap is a supply that is interrupted once.
func gap(at, length signal.Instant) []signal.Edge {
	return []signal.Edge{made(0), broken(at), made(at + length)}
}

// mashed is that many presses, two seconds apart: a start and a stop in turn.
func mashed(n int) []signal.Edge {
	var at []signal.Instant
	for i := range n {
		at = append(at, press1+signal.Instant(i)*2*second)
	}
	return presses(at...)
}

// mashedWays are the turns of so many presses, or of half as many travels.
func mashedWays(n int) (w []way) {
	for i := range n {
		w = append(w, [...]way{opening, idle, closing, idle}[i%4])
	}
	return w
}

// eightTravels are eight presses five seconds apart, each with its limit a second
// and a half later.
func eightTravels() stimulus {
	s := stimulus{signal.ClosedLimit: {made(0)}}
	var at []signal.Instant
	for i := range signal.Instant(8) {
		t := press1 + i*5*second
		at = append(at, t)
		from, to := signal.ClosedLimit, signal.OpenLimit
		if i%2 == 1 {
			from, to = to, from
		}
		s[from] = append(s[from], broken(t+500*ms))
		s[to] = append(s[to], made(t+1500*ms))
	}
	s[signal.Remote] = presses(at...)
	return s
}

func reversing(c *ControllerConfig) { c.StallReversal = 700 * time.Millisecond }

func TestEveryDefectShows(t *testing.T) {
	for _, d := range displays() {
		t.Run(d.defect, func(t *testing.T) {
			good, bad := exact(), exact(d.defect)
			if d.change != nil {
				d.change(&good.Controller)
				d.change(&bad.Controller)
			}
			sound, defective := bench(t, good), bench(t, bad)
			until := max(d.until, displayTime)
			for seed := range uint64(8) {
				good, goodSamples := turns(t, sound, seed, d.s, until)
				bad, badSamples := turns(t, defective, seed, d.s, until)
				require.Equalf(t, d.sound, ways(good), "sound: %v", good)
				require.Equalf(t, d.bad, ways(bad), "defective: %v", bad)
				if d.later > 0 {
					require.GreaterOrEqual(t, bad[d.turn].at.Sub(good[d.turn].at), d.later)
				} else if d.later < 0 {
					require.LessOrEqual(t, bad[d.turn].at.Sub(good[d.turn].at), d.later)
				}
				if d.unseen {
					continue
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
	assert.GreaterOrEqual(t, len(seen), 45)
	assert.Len(t, shown, len(seen))
}

// Two defects at once are both there.
func TestDefectsGoTogether(t *testing.T) {
	b := bench(t, exact("no run-time cut-out", "ignores the open limit", "no stall cut-out"))
	got, _ := turns(t, b, 1, stimulus{signal.Supply: {made(0)}, signal.Remote: presses(press1),
		signal.OpenLimit: {made(press3)}, signal.StallLoad: {made(press3 + second)}}, 60*second)
	require.Equal(t, []way{opening}, ways(got))
}

func TestTheTableOfPairs(t *testing.T) {
	seen := map[[2]string]bool{}
	for _, p := range Pairs() {
		for _, name := range p.Defects {
			_, ok := defectNamed(name)
			assert.Truef(t, ok, "%q", name)
		}
		assert.NotEqual(t, p.Defects[0], p.Defects[1])
		assert.NotEmpty(t, p.Why)
		assert.False(t, seen[p.Defects], "%v is there twice", p.Defects)
		seen[p.Defects] = true
		c := exact(p.Defects[0], p.Defects[1])
		assert.NoError(t, c.Check())
	}
	assert.GreaterOrEqual(t, len(seen), 10)
	Pairs()[0].Why = ""
	assert.NotEmpty(t, Pairs()[0].Why, "a copy")
}
