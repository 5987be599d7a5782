package hands

import (
	"bufio"
	"math/rand/v2"
	"os"
	"os/exec"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/need"
	"pintle/rig/signal"
)

// The test program is its own hands.
func TestMain(m *testing.M) {
	Main()
	os.Exit(m.Run())
}

// none is hands without lines. The test is their conductor, and may be kept waiting by a
// busy machine.
func none() Config {
	return Config{Chip: noChip, Hang: 5 * time.Second, Guard: Guard{Conductor: 5 * time.Second}, Outputs: []Wire{{Line: signal.Supply, Offset: 1}, {Line: signal.Remote, Offset: 2}, {Line: signal.OpenLimit, Offset: 3, Rest: true}}}
}

func start(t testing.TB, c Config) *Hands {
	t.Helper()
	h, err := Start(c)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, h.Close()) })
	return h
}

// edges takes so many edges, keeping the conductor alive meanwhile.
func edges(t testing.TB, h *Hands, n int) []Note {
	t.Helper()
	var all []Note
	for end := h.Now() + int64(30*time.Second); len(all) < n; h.Wait(signal.Instant(h.Now() + int64(time.Millisecond))) {
		h.Beat()
		var note Note
		for h.Line(&note) {
			all = append(all, note)
		}
		require.Less(t, h.Now(), end, "%d of %d edges came", len(all), n)
	}
	return all
}

func TestConfigTellsAllThatIsWrong(t *testing.T) {
	err := Config{Outputs: []Wire{{Line: signal.Remote, Offset: 1}, {Line: signal.Remote, Offset: 1}, {Line: signal.DriveOpen, Offset: 2}},
		Inputs: []Wire{{Line: signal.Beam, Offset: 3}}}.Check()
	for _, want := range []string{"both on GPIO1", "wired twice", "drive-open is seen by the bench", "beam is driven by the bench", "supply is not wired", "no GPIO chip"} {
		require.ErrorContains(t, err, want)
	}
}

// A plan longer than the window comes whole, in order, each edge once, and none before
// its time.
func TestALongPlanComesWhole(t *testing.T) {
	h := start(t, none())
	const n = 3 * windowEdges
	at := h.Now() + int64(50*time.Millisecond)
	var plan []signal.Edge
	for i := range n {
		level := signal.Made
		if i%2 == 1 {
			level = signal.Broken
		}
		plan = append(plan, signal.Edge{At: signal.Instant(at + int64(i)*int64(300*time.Microsecond)), Level: level})
	}
	h.Plan(signal.Remote, plan)
	got := edges(t, h, n)
	require.Len(t, got, n)
	for i, e := range got {
		require.Equal(t, plan[i].At, e.Planned, "edge %d", i)
		require.Equal(t, plan[i].Level, e.Level, "edge %d", i)
		require.GreaterOrEqual(t, e.Span.Early, e.Planned)
	}
}

func TestPlanningAgainAndSafe(t *testing.T) {
	h := start(t, none())
	far := signal.Instant(h.Now() + int64(time.Hour))
	h.Plan(signal.Remote, []signal.Edge{{At: far, Level: signal.Made}})
	soon := signal.Instant(h.Now() + int64(20*time.Millisecond))
	h.Plan(signal.Remote, []signal.Edge{{At: soon, Level: signal.Made}})
	h.Plan(signal.Supply, []signal.Edge{{At: soon, Level: signal.Made}})
	got := edges(t, h, 2)
	assert.Equal(t, []signal.Instant{soon, soon}, []signal.Instant{got[0].Planned, got[1].Planned})
	require.NoError(t, h.Safe())
	got = edges(t, h, 2)
	assert.Equal(t, signal.Supply, got[0].Line, "the supply falls first")
	assert.Equal(t, []signal.Level{signal.Broken, signal.Broken}, []signal.Level{got[0].Level, got[1].Level})
}

// An operator's stop takes the supply off though nobody conducts, and does no harm while
// the hands are let go of or after.
func TestHaltDoesNotWaitForTheConductor(t *testing.T) {
	h := start(t, none())
	h.Plan(signal.Supply, []signal.Edge{{At: signal.Instant(h.Now() + int64(20*time.Millisecond)), Level: signal.Made}, {At: signal.Instant(h.Now() + int64(time.Hour)), Level: signal.Broken}})
	edges(t, h, 1)
	pressed := h.Now()
	halted := make(chan error)
	go func() { halted <- h.Halt() }()
	require.NoError(t, <-halted)
	var n Note
	require.True(t, h.Line(&n))
	assert.Equal(t, []any{signal.Supply, signal.Broken}, []any{n.Line, n.Level})
	took := time.Duration(int64(n.Span.Late) - pressed)
	t.Logf("the supply was off %v after", took)
	if took > 50*time.Millisecond {
		need.Quiet(t, took.String())
	}
	go func() {
		for range 50 {
			_ = h.Halt()
		}
		halted <- h.Halt()
	}()
	require.NoError(t, h.Close())
	require.NoError(t, <-halted)
	require.NoError(t, h.Halt())
}

// With the supply on, a conductor that gives no sign of life is found out, and the
// guard stays so.
func TestASilentConductor(t *testing.T) {
	c := none()
	c.Guard.Conductor = time.Second
	h := start(t, c)
	h.Beat()
	h.Plan(signal.Supply, []signal.Edge{{At: signal.Instant(h.Now() + int64(20*time.Millisecond)), Level: signal.Made}})
	edges(t, h, 1)
	began := h.Now()
	for trip := NoTrip; trip == NoTrip; trip, _ = h.Tripped() {
		require.Less(t, h.Now(), began+int64(10*time.Second))
		pause(time.Millisecond)
	}
	trip, _ := h.Tripped()
	assert.Equal(t, ConductorSilent, trip)
	got := edges(t, h, 1)
	assert.Equal(t, []any{signal.Supply, signal.Broken}, []any{got[0].Line, got[0].Level})
	h.Plan(signal.Supply, []signal.Edge{{At: signal.Instant(h.Now() + int64(10*time.Millisecond)), Level: signal.Made}})
	pause(60 * time.Millisecond)
	var note Note
	assert.False(t, h.Line(&note), "it stays off: %+v", note)
}

func TestStartingTellsWhatIsWrong(t *testing.T) {
	c := none()
	c.Chip = "/dev/no-such-chip"
	_, err := Start(c)
	require.ErrorContains(t, err, "/dev/no-such-chip")
	_, err = Start(Config{})
	require.ErrorContains(t, err, "supply is not wired")
}

// BenchmarkEdges compares how late the hands are with cyclictest, the machine's own
// limit, pair by pair in the same run: idle, with both processors busy, and while the
// conductor makes garbage. It prints the median of five pairs and of their ratios, which
// are to be 1.2 at most; p99.9 and the worst are told and judged by nobody.
//
//	go test ./drivers/pi/hands -run xxx -bench Edges -benchtime 1x
func BenchmarkEdges(b *testing.B) {
	cyclictest := need.Tool(b, "cyclictest", "apt-get install rt-tests")
	for _, mode := range []struct {
		name string
		load func(stop *atomic.Bool)
	}{{"idle", nil}, {"busy", spin}, {"garbage", litter}} {
		b.Run(mode.name, func(b *testing.B) {
			for b.Loop() {
				var p50, p99, own50, own99, own999, worst, ratio50, ratio99 []float64
				for range 5 {
					under(mode.load, func() {
						m50, m99 := cyclic(b, cyclictest)
						o := lateness(b, func() time.Duration { return time.Millisecond })
						p50, p99, own50, own99 = append(p50, m50), append(p99, m99), append(own50, o.p50), append(own99, o.p99)
						own999, worst = append(own999, o.p999), append(worst, o.worst)
						ratio50, ratio99 = append(ratio50, o.p50/max(m50, 1)), append(ratio99, o.p99/max(m99, 1)) // which counts whole microseconds
					})
				}
				b.ReportMetric(median(own50), "p50-µs")
				b.ReportMetric(median(own99), "p99-µs")
				b.ReportMetric(median(p50), "cyclictest-p50-µs")
				b.ReportMetric(median(p99), "cyclictest-p99-µs")
				b.ReportMetric(median(ratio50), "p50-ratio")
				b.ReportMetric(median(ratio99), "p99-ratio")
				b.ReportMetric(slices.Max(own999), "p99.9-µs")
				b.ReportMetric(slices.Max(worst), "worst-µs")
			}
		})
	}
}

// BenchmarkBursts is how late edges are that follow each other by 50 to 500 µs for some
// 100 ms, as in a contact that bounces badly. Five milliseconds lie between two bursts.
func BenchmarkBursts(b *testing.B) {
	random := rand.New(rand.NewPCG(1, 2))
	for b.Loop() {
		var all [4][]float64
		for range 5 {
			edge := 0
			o := lateness(b, func() time.Duration {
				if edge++; edge%400 == 0 {
					return 5 * time.Millisecond
				}
				return 50*time.Microsecond + time.Duration(random.Int64N(int64(450*time.Microsecond)))
			})
			for i, x := range []float64{o.p50, o.p99, o.p999, o.worst} {
				all[i] = append(all[i], x)
			}
		}
		b.ReportMetric(median(all[0]), "p50-µs")
		b.ReportMetric(median(all[1]), "p99-µs")
		b.ReportMetric(slices.Max(all[2]), "p99.9-µs")
		b.ReportMetric(slices.Max(all[3]), "worst-µs")
	}
}

func median(x []float64) float64 { slices.Sort(x); return x[len(x)/2] }

func under(load func(*atomic.Bool), do func()) {
	var stop atomic.Bool
	var all sync.WaitGroup
	if load != nil {
		for range runtime.NumCPU() {
			all.Go(func() { load(&stop) })
		}
	}
	do()
	stop.Store(true)
	all.Wait()
}

func spin(stop *atomic.Bool) {
	for !stop.Load() {
	}
}

func litter(stop *atomic.Bool) {
	var keep [][]byte
	for !stop.Load() {
		keep = append(keep, make([]byte, 16<<10))
		if len(keep) > 2000 {
			keep = nil
		}
	}
}

// A late is how late edges were, in microseconds.
type late struct{ p50, p99, p999, worst float64 }

// lateness is that of edges so far apart.
func lateness(b testing.TB, gap func() time.Duration) late {
	h := start(b, none())
	const n = 2000
	at := h.Now() + int64(500*time.Millisecond)
	var plan []signal.Edge
	for i := range n {
		plan = append(plan, signal.Edge{At: signal.Instant(at), Level: []signal.Level{signal.Made, signal.Broken}[i%2]})
		at += int64(gap())
	}
	h.Plan(signal.Remote, plan)
	all := make([]float64, 0, n)
	for _, e := range edges(b, h, n) {
		all = append(all, float64(e.Span.Early-e.Planned)/1000)
	}
	slices.Sort(all)
	return late{all[n/2], all[n*99/100], all[n*999/1000], all[n-1]}
}

// cyclic runs cyclictest for as long.
func cyclic(b testing.TB, path string) (p50, p99 float64) {
	out, err := exec.Command(path, "-q", "-m", "-p", "90", "-i", "1000", "-l", "2000", "-h", "20000", "-t", "1").Output()
	require.NoError(b, err, "%s", out)
	counts, total := map[int]int{}, 0
	for in := bufio.NewScanner(strings.NewReader(string(out))); in.Scan(); {
		f := strings.Fields(in.Text())
		if len(f) != 2 || strings.HasPrefix(f[0], "#") {
			continue
		}
		us, err1 := strconv.Atoi(f[0])
		n, err2 := strconv.Atoi(f[1])
		if err1 == nil && err2 == nil {
			counts[us] += n
			total += n
		}
	}
	require.NotZero(b, total, "%s", out)
	seen := 0
	for us := 0; us < 20000; us++ {
		seen += counts[us]
		if p50 == 0 && seen*2 >= total {
			p50 = float64(us)
		}
		if seen*100 >= total*99 {
			return p50, float64(us)
		}
	}
	return p50, 20000
}
