package livepage

import (
	"context"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"errors"
	"math"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

func TestOneOperatesAndTakingOverIsAnActOfItsOwn(t *testing.T) {
	s := stand(t, nil)
	a, b := s.look(""), s.look("")
	status, _ := a.act("/api/start", one)
	require.Equal(t, http.StatusOK, status, "where nobody operates, who starts does")
	<-s.bench.begun
	status, text := b.act("/api/start", one)
	assert.Equal(t, http.StatusConflict, status)
	assert.Contains(t, text, errNotYours.Error())
	status, _ = b.act("/api/operate", `{"operate":true}`)
	assert.Equal(t, http.StatusConflict, status, "not by the way")
	status, _ = b.act("/api/operate", `{"operate":true,"over":true}`)
	assert.Equal(t, http.StatusOK, status)
	b.until(func(st state) bool { return st.Operator == st.You && st.Pages == 2 })
	a.until(func(st state) bool { return st.Operator != st.You && st.Phase == "running" })
	status, text = b.act("/api/start", one)
	assert.Equal(t, http.StatusConflict, status)
	assert.Contains(t, text, errBusy.Error())
	status, _ = a.act("/api/stop", "")
	assert.Equal(t, http.StatusOK, status, "to stop no seat is needed")
	<-s.bench.safe
	b.until(func(st state) bool { return st.Phase == "idle" })
	status, text = a.act("/api/stop", "")
	assert.Equal(t, http.StatusConflict, status)
	assert.Contains(t, text, errIdle.Error())
	status, _ = b.act("/api/operate", `{"operate":false}`)
	assert.Equal(t, http.StatusOK, status)
	a.until(func(st state) bool { return st.Operator == 0 })
}

func TestAPageThatComesBackKeepsItsSeatForAWhile(t *testing.T) {
	now := time.Unix(1000, 0)
	h := newHub(&House{Check: func() Check { return Check{} }}, func() time.Time { return now })
	p, _, _, ok := h.enter("")
	require.True(t, ok)
	require.NoError(t, h.operate(p, true, false))
	twin, _, _, _ := h.enter(p.secret)
	assert.NotSame(t, p, twin, "one who looks already is not to be taken for another")
	h.leave(twin)
	h.leave(p)
	now = now.Add(seatKept - 1)
	again, _, _, _ := h.enter(p.secret)
	assert.Same(t, p, again)
	assert.Equal(t, again.number, h.state(again).Operator)
	h.leave(again)
	now = now.Add(seatKept)
	later, _, _, _ := h.enter(p.secret)
	assert.NotSame(t, p, later)
	assert.Zero(t, h.state(later).Operator, "the seat is free")
	assert.NotEqual(t, p.secret, later.secret)
}

func TestNoMorePagesThanThereIsRoomFor(t *testing.T) {
	h := newHub(&House{Check: func() Check { return Check{} }}, NewClock())
	for range mostPages {
		_, _, _, ok := h.enter("")
		require.True(t, ok)
	}
	_, _, _, ok := h.enter("")
	assert.False(t, ok)
}

// feed lets a tap see a trial with so many readings, one a millisecond.
func feed(w rig.Witness, readings int) {
	w.Begin(rig.Beginning{Trial: 1, Trials: 1})
	var initial [signal.LineCount]signal.Level
	initial[signal.Supply] = signal.Made
	w.Rise(initial)
	for i := range readings {
		at := signal.Instant(i) * 1_000_000
		w.See(&rig.Observation{Kind: rig.Sampled, Sample: signal.Sample{From: at, To: at, Current: signal.Current(i) * 1000}})
		if i == readings/2 {
			w.See(&rig.Observation{Kind: rig.Emitted, Line: signal.Remote, Level: signal.Made, Span: signal.At(at)})
			w.Settle(1, rule.Pass, at)
		}
	}
	w.End(&rig.Outcome{Trial: 1, Verdict: rule.Fail, Reason: "first: too late", Findings: []rule.Finding{
		{Rule: 0, Verdict: rule.Fail, Unit: rule.Nanoseconds, Sense: rule.AtMost, Measured: true, Value: rule.Interval{Least: 2e9, Most: 2e9}, Limit: 1e9, Reason: "too late"},
		{Rule: 1, Verdict: rule.Pass}}})
}

func TestAPageIsToldWhatTheWitnessIs(t *testing.T) {
	s := stand(t, nil)
	s.bench.do = func(_ context.Context, _ Choice, witness func() rig.Witness) { feed(witness(), 500) }
	l := s.look("")
	assert.Equal(t, []lineInfo{{1, "remote", "pressed", "released"}, {3, "open-limit", "made", "broken"}, {9, "supply", "on", "off"}}, l.hello.Lines)
	status, _ := l.act("/api/start", one)
	require.Equal(t, http.StatusOK, status)
	points, edges, marked := 0, 0, ""
	var st state
	for points < 500 || st.Scenario == nil || st.Scenario.Over == "" {
		name, data := l.next()
		switch name {
		case "ink":
			b, err := base64.StdEncoding.DecodeString(string(data))
			require.NoError(t, err)
			n := int(binary.LittleEndian.Uint32(b[4:]))
			for i := range n {
				at := binary.LittleEndian.Uint32(b[16+8*i:])
				a := math.Float32frombits(binary.LittleEndian.Uint32(b[20+8*i:]))
				assert.Equal(t, uint32(between/tick+(points+i)*10), at)
				assert.InDelta(t, float64(points+i)/1000, a, 1e-6)
			}
			points += n
			edges += int(binary.LittleEndian.Uint32(b[8:]))
		case "mark":
			marked = string(data)
		case "state":
			st = state{}
			require.NoError(t, json.Unmarshal(data, &st))
		}
	}
	assert.Equal(t, 500, points)
	assert.Equal(t, 5, edges, "a divider, three lines as they stood, and one press")
	assert.JSONEq(t, `{"at":2000,"text":"One"}`, marked)
	assert.Equal(t, "fail", st.Scenario.Over)
	assert.Equal(t, settled{Name: "first", Limit: "at most 1 s", Verdict: "fail", Value: "2.000 s", Margin: "−1.000 s", Reason: "too late"}, st.Scenario.Rules[0])
	assert.Equal(t, "pass", st.Scenario.Rules[1].Verdict)
	assert.Equal(t, []verdictLine{{"One", 1, "fail", "first: too late"}}, st.Verdicts)
	late := s.look("")
	b, err := base64.StdEncoding.DecodeString(late.hello.Paper)
	require.NoError(t, err)
	assert.EqualValues(t, 500, binary.LittleEndian.Uint32(b[4:]), "who comes later is given what there was")
	assert.Len(t, late.hello.Marks, 1)
}

// Nobody takes what the tap lays down here: it never waits, keeps room for edges, and
// counts what it leaves out.
func TestATapNeverWaits(t *testing.T) {
	h := newHub(&House{Check: func() Check { return Check{} }, Lines: signal.SetOf(signal.Remote)}, NewClock())
	tap := &tap{hub: h, run: &running{chosen: []Scenario{{Title: "One"}}}, number: 1, ring: newRing()}
	w := rig.Witness(tap)
	w.Begin(rig.Beginning{Trial: 1, Trials: 1})
	w.Rise([signal.LineCount]signal.Level{})
	for i := range signal.Instant(100_000) {
		w.See(&rig.Observation{Kind: rig.Sampled, Sample: signal.Sample{From: i, To: i}})
	}
	before := tap.ring.lost.Load()
	assert.EqualValues(t, 100_000+2-(ringSize-forEdges), before)
	for i := range signal.Instant(forEdges) {
		w.See(&rig.Observation{Kind: rig.Emitted, Line: signal.Remote, Span: signal.At(i)})
	}
	assert.Equal(t, before, tap.ring.lost.Load(), "edges find room yet")
	got := tap.ring.take(nil)
	assert.Len(t, got, ringSize)
	w.See(&rig.Observation{Kind: rig.Sampled})
	assert.Len(t, tap.ring.take(got[:0]), 1)
}

func TestATapCostsNoAllocation(t *testing.T) {
	h := newHub(&House{Check: func() Check { return Check{} }}, NewClock())
	w := rig.Witness(&tap{hub: h, run: &running{}, number: 1, ring: newRing()})
	o := &rig.Observation{Kind: rig.Sampled}
	assert.Zero(t, testing.AllocsPerRun(1000, func() { w.See(o) }))
}

// BenchmarkTap is what a reading costs the conductor, while somebody takes it away and
// while nobody does.
func BenchmarkTap(b *testing.B) {
	for name, takes := range map[string]bool{"taken": true, "full": false} {
		b.Run(name, func(b *testing.B) {
			h := newHub(&House{Check: func() Check { return Check{} }}, NewClock())
			t := &tap{hub: h, run: &running{}, number: 1, ring: newRing()}
			o := &rig.Observation{Kind: rig.Sampled}
			into := make([]entry, 0, ringSize)
			b.ReportAllocs()
			for n := 0; b.Loop(); n++ {
				t.See(o)
				if takes && n%4096 == 0 {
					t.ring.take(into[:0])
				}
			}
		})
	}
}

func TestASlowPageLosesInkAndIsToldSo(t *testing.T) {
	p := &page{looks: true, woken: make(chan struct{}, 1)}
	for range mostWaiting + 7 {
		p.give("ink")
	}
	assert.Len(t, p.inks, mostWaiting)
	assert.Equal(t, 7, p.lost)
}

// An hour at 1 kHz stays within what is kept, and whoever comes then is given an hour.
func TestThePaperIsBounded(t *testing.T) {
	p := newPaper()
	var b batch
	const hour = 3_600_000
	for at := 0; at < 2*hour; at += 33 {
		b.points = b.points[:0]
		for i := at; i < at+33; i++ {
			b.points = append(b.points, point{uint32(i * 10), float32(math.Sin(float64(i) / 500))})
		}
		b.edges = []edge{{uint32(at * 10), 1, uint8(at & 1)}}
		b.now = uint32(at * 10)
		p.keep(&b)
	}
	w := p.whole()
	assert.LessOrEqual(t, len(w.points), fineKept+coarseKept)
	assert.LessOrEqual(t, len(w.edges), edgesKept)
	assert.Greater(t, w.now-w.points[0].at, uint32(hour*10), "an hour back")
	for i := 1; i < len(w.points); i++ {
		require.GreaterOrEqual(t, w.points[i].at, w.points[i-1].at)
	}
	assert.Less(t, len(w.encode()), 2<<20)
}

// However fast the readings come, a page is given no more than it can draw.
func TestABatchIsNoMoreThanCanBeDrawn(t *testing.T) {
	all := make([]entry, ringSize)
	for i := range all {
		all[i] = entry{at: int64(i) * 1000, value: int64(i % 7)}
	}
	var b batch
	b.sort(all)
	assert.LessOrEqual(t, len(b.points), mostPoints)
	assert.Greater(t, len(b.points), mostPoints/2)
}

// What is thinned keeps the least and the most, and the order of time.
func TestThinningKeepsTheExtremes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.Float32Range(-50, 50), 1, 5000).Draw(t, "values")
		most := rapid.IntRange(2, 600).Draw(t, "most")
		all := make([]point, len(values))
		lo, hi := values[0], values[0]
		for i, v := range values {
			all[i] = point{uint32(i), v}
			lo, hi = min(lo, v), max(hi, v)
		}
		out := thin(all, most)
		if len(out) > max(most, 2)+2 && len(values) > most {
			t.Fatalf("%d left of %d, and at most %d were wanted", len(out), len(values), most)
		}
		gotLo, gotHi := out[0].a, out[0].a
		for i, p := range out {
			gotLo, gotHi = min(gotLo, p.a), max(gotHi, p.a)
			if i > 0 && p.at < out[i-1].at {
				t.Fatalf("out of order at %d", i)
			}
		}
		if gotLo != lo || gotHi != hi {
			t.Fatalf("%v to %v, and it was %v to %v", gotLo, gotHi, lo, hi)
		}
	})
}

func TestPastRuns(t *testing.T) {
	s := stand(t, nil)
	runs := s.house.Log.(shelf).runs
	get := func(path string) (int, string) { return s.ask(s.request("GET", path, "", nil)) }
	status, text := get("/api/runs")
	assert.Equal(t, 200, status)
	assert.Contains(t, text, runs[0].ID)
	status, text = get("/api/run?run=" + runs[0].ID)
	assert.Equal(t, 200, status)
	assert.Contains(t, text, runs[0].Scenarios[0].Title)
	for columns, most := range map[string]int{"40": 40, "1": 40, "60": 60, "1000": 80, "x": 80, "": 80} {
		status, text = get("/api/run?run=" + runs[0].ID + "&columns=" + columns)
		require.Equal(t, 200, status)
		var told whole
		require.NoError(t, json.Unmarshal([]byte(text), &told))
		widest := 0
		for line := range strings.Lines(told.Text) {
			widest = max(widest, utf8.RuneCountInString(strings.TrimRight(line, "\n")))
		}
		assert.LessOrEqual(t, widest, most, columns)
		assert.Greater(t, widest, most-12, columns)
	}
	status, text = get("/api/chart?run=" + runs[1].ID + "&scenario=" + runs[1].Scenarios[0].Name)
	assert.Equal(t, 200, status, text)
	assert.Contains(t, text, "<svg")
	status, text = get("/api/compare?a=" + runs[1].ID + "&b=" + runs[0].ID)
	assert.Equal(t, 200, status)
	assert.Contains(t, text, "conclusion")
	status, text = get("/api/picture?a=" + runs[1].ID + "&b=" + runs[0].ID)
	assert.Equal(t, 200, status)
	assert.Contains(t, text, "<svg")
	status, text = get("/api/certificate?run=" + runs[0].ID)
	assert.Equal(t, 200, status)
	assert.Equal(t, "%PDF-", text)
	status, text = get("/api/report?run=" + runs[0].ID)
	assert.Equal(t, 200, status)
	assert.Equal(t, "<!doctype html>", text)
	for _, path := range []string{"/api/run?run=none", "/api/run", "/api/chart?run=" + runs[0].ID + "&scenario=none", "/api/compare?a=none&b=none", "/api/lamps?run=" + runs[0].ID, "/page/page.html", "/../door.go"} {
		status, _ = get(path)
		assert.Equal(t, http.StatusNotFound, status, path)
	}
}

func TestItEndsInOrder(t *testing.T) {
	s := stand(t, nil)
	hold := make(chan struct{})
	release := sync.OnceFunc(func() { close(hold) })
	defer release()
	s.bench.do = func(ctx context.Context, _ Choice, _ func() rig.Witness) { <-ctx.Done(); <-hold }
	l := s.look("")
	status, _ := l.act("/api/start", one)
	require.Equal(t, http.StatusOK, status)
	<-s.bench.begun
	s.end()
	for name := ""; name != "bye"; {
		name, _ = l.next()
	}
	select {
	case err := <-s.done:
		s.done <- err
		require.Fail(t, "it ended before the bench was safe")
	case <-time.After(150 * time.Millisecond): // nothing comes of it, however long
	}
	release()
	<-s.bench.safe
	require.NoError(t, <-s.done)
	s.done <- nil
	assert.EqualValues(t, 1, s.bench.stopped.Load())
	require.ErrorIs(t, s.hub.start(&page{}, Choice{Trials: 1}, 0), errClosing)
}

func TestNoRunByFilesThatNobodySees(t *testing.T) {
	changed := errors.New("the job's files were changed (gate.yaml)")
	s := stand(t, func(h *House, _ *Door) { h.Changed = func() error { return changed } })
	a := s.look("")
	status, text := a.act("/api/start", one)
	require.Equal(t, http.StatusBadRequest, status)
	require.Contains(t, text, changed.Error())
	changed = nil
	status, _ = a.act("/api/start", one)
	require.Equal(t, http.StatusOK, status, "nothing was performed before")
	<-s.bench.begun
}
