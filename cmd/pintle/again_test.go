package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"reflect"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/drivers/virtual"
	"pintle/reports"
	"pintle/reports/record"
	"pintle/reports/tracefile"
	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/scenarios"
	"pintle/scenarios/starter"
)

// judgedAgain performs scenarios and judges each trial again, out of its canonical JSON
// and its trace file, then all sums. It gives what differs.
func judgedAgain(t testing.TB, ctx context.Context, job *scenarios.Job, chosen []scenarios.Scenario, defects []string, trials int) *again {
	t.Helper()
	config := virtualConfig(job)
	config.Controller.Defects = defects
	bench, err := virtual.New(config, 0)
	require.NoError(t, err)
	conducted, err := rigJob(job)
	require.NoError(t, err)
	shows := demonstration{trials: trials}
	l := newLedger("a", job, chosen, bench.Facts(), runOptions{seed: 1, trials: trials, shows: shows})
	again, mu := (*again)(nil), sync.Mutex{}
	var w worker
	plan := rig.Plan{Job: conducted, Trials: trials, Seed: 1, Workers: 1, Day: days(job, 1, false),
		Open: func() (rig.Bench, rig.Facts, error) { return bench, bench.Facts(), nil },
		Sink: func(o *rig.Outcome) error {
			mu.Lock()
			defer mu.Unlock()
			_, trial := l.take(o)
			var file bytes.Buffer
			if err := tracefile.Write(&file, o.Trace); err != nil {
				return err
			}
			text, err := record.Value(&trial)
			require.NoError(t, err)
			var read reports.Trial
			require.NoError(t, json.Unmarshal(text, &read))
			slim := trial
			slim.Findings = nil
			l.keep(o.Scenario, slim)
			return w.trial(&performed{o.Scenario, &read, file.Bytes()})
		}}
	for _, s := range chosen {
		plan.Scenarios = append(plan.Scenarios, s.Scenario)
	}
	again = readAgain(t, l.run)
	w = worker{again: again, judge: rig.NewRejudger(again.conducted), day: days(again.job, 1, false)}
	interrupted := rig.Run(ctx, plan)
	if ctx.Err() == nil {
		require.NoError(t, interrupted)
	}
	l.settle(shows, interrupted)
	again.run = l.run
	again.files()
	again.sums()
	return again
}

// loaded are jobs by the digests of their files: loading one takes its time.
var loaded sync.Map

// readAgain loads the job out of a run's own files.
func readAgain(t testing.TB, run *reports.Run) *again {
	t.Helper()
	key := ""
	for _, f := range run.Files {
		key += f.Name + f.SHA256
	}
	known, ok := loaded.Load(key)
	if !ok {
		fresh, err := recordedJob(run)
		require.NoError(t, err)
		known = fresh
		loaded.Store(key, known)
	}
	job := known.(*scenarios.Job)
	a, err := newAgain(run, job, job)
	require.NoError(t, err)
	return a
}

func requireSame(t testing.TB, a *again) {
	t.Helper()
	require.Empty(t, a.differs)
	require.Zero(t, a.count)
}

// depth is how many trials of each scenario are judged again, and every how manyth of the
// pairs of a defect and a scenario. PINTLE_AGAIN=59 asks for that many of all.
func depth() (trials, every int) {
	if n, err := strconv.Atoi(os.Getenv("PINTLE_AGAIN")); err == nil && n > 0 {
		return n, 1
	}
	if testing.Short() {
		return 1, 199
	}
	return 2, 61
}

// Judged again, every trial of the demo and the starter comes to what it came to, on the
// ordinary day and on others, with scripts that are repeated and trials that end early.
func TestEveryTrialIsJudgedTheSameAgain(t *testing.T) {
	trials, every := depth()
	demo, err := scenarios.Demo(equipment())
	require.NoError(t, err)
	first, err := scenarios.Load(starter.Folder(), "", equipment())
	require.NoError(t, err)
	for name, job := range map[string]*scenarios.Job{"demo": demo, "starter": first} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			var chosen []scenarios.Scenario
			for i, s := range job.Applicable() {
				if every == 1 || i%max(1, every/6) == 0 && s.Repeat < 20 {
					chosen = append(chosen, s)
				}
			}
			requireSame(t, judgedAgain(t, t.Context(), job, chosen, nil, trials))
		})
	}
}

// So does every trial with a defect in the simulated controller, failed ones among them.
func TestEveryDefectIsJudgedTheSameAgain(t *testing.T) {
	_, every := depth()
	demo, err := scenarios.Demo(equipment())
	require.NoError(t, err)
	conducted, err := rigJob(demo)
	require.NoError(t, err)
	read, err := scenarios.FromFiles(demo.Files, equipment())
	require.NoError(t, err)
	elsewhere, err := rigJob(read) // with an appraiser of its own
	require.NoError(t, err)
	judge, failed, judged := rig.NewRejudger(elsewhere), 0, 0
	for d, defect := range virtual.Defects() {
		config := virtualConfig(demo)
		config.Controller.Defects = []string{defect.Name}
		bench, err := virtual.New(config, 0)
		require.NoError(t, err)
		c := rig.NewConductor(conducted, bench, bench.Facts(), nil)
		for i, s := range demo.Applicable() {
			if every > 1 && ((d+i)%every != 0 || s.Repeat >= 20) {
				continue
			}
			o, err := c.Perform(&s.Scenario, rig.Seed(1, s.Name, 1), rig.Day{})
			require.NoError(t, err)
			again, ok := read.Scenario(s.Name)
			require.True(t, ok)
			out, err := judge.Judge(&again.Scenario, &again.Scenario, o.Trace, o.Troubles)
			require.NoError(t, err)
			if judged++; o.Verdict == rule.Fail {
				failed++
			}
			if o.Verdict != out.Verdict || o.Reason != out.Reason || !reflect.DeepEqual(o.Findings, out.Findings) {
				t.Errorf("%s, %s: was %v: %s, and is %v: %s", defect.Name, s.Name, o.Verdict, o.Reason, out.Verdict, out.Reason)
			}
		}
	}
	t.Logf("%d trials judged again, %d of them failed", judged, failed)
	if every < 100 {
		require.NotZero(t, failed, "no failed trial was among them")
	}
}

// A trial that was interrupted is void, and stays so; so does one in which the guard took
// the supply off.
func TestVoidTrialsAreJudgedVoidAgain(t *testing.T) {
	job, err := scenarios.Demo(equipment())
	require.NoError(t, err)
	s, ok := job.Scenario("normal-cycle")
	require.True(t, ok)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	a := judgedAgain(t, ctx, job, []scenarios.Scenario{*s}, nil, 1)
	requireSame(t, a)
	require.Equal(t, rule.Void, a.ledger.run.Verdict)

	job.Bench.Guard.MostCurrent.Value = 1_000_000 // a start takes more
	conducted, err := rigJob(job)
	require.NoError(t, err)
	bench, err := virtual.New(virtualConfig(job), 0)
	require.NoError(t, err)
	var stop = interruptAt{Bench: bench}
	for _, n := range []int{0, 3, 100, 5000} {
		for _, trip := range []bool{false, true} {
			c := conducted
			if !trip {
				whole, err := scenarios.Demo(equipment())
				require.NoError(t, err)
				c, err = rigJob(whole)
				require.NoError(t, err)
			}
			stop.left, stop.on = n, !trip
			o, err := rig.NewConductor(c, &stop, bench.Facts(), nil).Perform(&s.Scenario, 1, rig.Day{})
			require.NoError(t, err)
			require.Equal(t, rule.Void, o.Verdict, o.Reason)
			out, err := rig.NewRejudger(c).Judge(&s.Scenario, &s.Scenario, o.Trace, o.Troubles)
			require.NoError(t, err)
			require.Equal(t, o.Verdict, out.Verdict)
			require.Equal(t, o.Reason, out.Reason)
			require.Equal(t, o.Findings, out.Findings, "after %d observations", n)
		}
	}
}

// An interruptAt is a bench that fails after so many observations.
type interruptAt struct {
	*virtual.Bench
	left int
	on   bool
}

func (b *interruptAt) Next(until signal.Instant) (rig.Observation, error) {
	if b.left--; b.left < 0 && b.on {
		return rig.Observation{Kind: rig.Trouble, Trouble: &rig.BenchTrouble{Code: "meter-gone", Text: "the meter is gone: put it back"}}, nil
	}
	return b.Bench.Next(until)
}

// A record of a part of a job that was made before records listed what they leave out is as
// good as it was, and what it does not say is told from its files. A shorter list is a lie.
func TestAnOlderRecordOfAPartIsNotTakenForTheWhole(t *testing.T) {
	job, err := scenarios.Demo(equipment())
	require.NoError(t, err)
	s, ok := job.Scenario("normal-cycle")
	require.True(t, ok)
	base, file := oneTrial(t, job, s)
	for name, c := range map[string]struct {
		part    func(*reports.Run)
		differs []string
	}{
		"as it is":            {func(*reports.Run) {}, nil},
		"older":               {func(r *reports.Run) { r.NotPerformed = nil }, nil},
		"shorter":             {func(r *reports.Run) { r.NotPerformed = r.NotPerformed[1:] }, []string{"scenarios not performed"}},
		"as if it were whole": {func(r *reports.Run) { r.NotPerformed, r.Deviations = nil, nil }, []string{"deviations"}},
	} {
		run, trial := copied(t, base.run, &base.trial)
		c.part(run)
		a := readAgain(t, run)
		w := worker{again: a, judge: rig.NewRejudger(a.conducted), day: days(a.job, 1, false)}
		require.NoError(t, w.trial(&performed{0, trial, file}), name)
		a.files()
		a.sums()
		var what []string
		for _, d := range a.differs {
			what = append(what, d.What)
		}
		require.Equal(t, c.differs, what, name)
		v := verification{record: run, job: a.job, Result: resultGood, Verdict: "pass", Trials: 1}
		v.left()
		require.Equal(t, name == "older" || name == "as if it were whole", v.Untold, name)
		var text strings.Builder
		v.text(&text)
		require.Regexp(t, `76 of 77 scenarios not performed in this run`, text.String(), name)
		require.Equal(t, v.Untold, strings.Contains(text.String(), "this record does not say so"), name)
		require.Contains(t, text.String(), "verified: the verdict of the run is pass, of 1 of 77 scenarios", name)
	}
}

// What is not what comes of the trace is found, wherever it stands.
func TestWhatWasTamperedWithDiffers(t *testing.T) {
	job, err := scenarios.Demo(equipment())
	require.NoError(t, err)
	s, ok := job.Scenario("normal-cycle")
	require.True(t, ok)
	base, file := oneTrial(t, job, s)
	for name, tamper := range map[string]func(*reports.Run, *reports.Trial){
		"verdict": func(_ *reports.Run, x *reports.Trial) { x.Verdict = rule.Fail },
		"reason":  func(_ *reports.Run, x *reports.Trial) { x.Reason = "because" },
		"seed":    func(_ *reports.Run, x *reports.Trial) { x.Seed++ },
		"day":     func(_ *reports.Run, x *reports.Trial) { x.Day = "battery at 50.0 %" },
		"samples": func(_ *reports.Run, x *reports.Trial) { x.Samples-- },
		"value":   func(_ *reports.Run, x *reports.Trial) { x.Findings[0].Value.Most++ },
		"limit":   func(_ *reports.Run, x *reports.Trial) { x.Findings[0].Limit++ },
		"decided": func(_ *reports.Run, x *reports.Trial) { x.Findings[0].Decided = nil },
		"appraisal": func(_ *reports.Run, x *reports.Trial) {
			for i := range x.Findings {
				if x.Findings[i].Appraisal != nil {
					x.Findings[i].Appraisal.Broken++
				}
			}
		},
		"a finding less": func(_ *reports.Run, x *reports.Trial) { x.Findings = x.Findings[1:] },
		"trouble":        func(_ *reports.Run, x *reports.Trial) { x.Troubles = []string{"meter-gone: it is gone"} },
		"run verdict":    func(r *reports.Run, _ *reports.Trial) { r.Verdict = rule.Fail },
		"its sum":        func(r *reports.Run, _ *reports.Trial) { r.Scenarios[0].Verdict = rule.Inconclusive },
		"claim":          func(r *reports.Run, _ *reports.Trial) { r.Controller.Claims[0].Value = "1h" },
		"rule":           func(r *reports.Run, _ *reports.Trial) { r.Scenarios[0].Rules[0].Limit = "9 s" },
		"decision":       func(r *reports.Run, _ *reports.Trial) { r.Decision = "toss a coin" },
		"rehearsal":      func(r *reports.Run, _ *reports.Trial) { r.Bench.Simulated = false },
		"virtual":        func(r *reports.Run, _ *reports.Trial) { r.Bench.Virtual = false },
		"finer meter":    func(r *reports.Run, _ *reports.Trial) { r.Bench.Interval /= 2 },
		"trials asked":   func(r *reports.Run, _ *reports.Trial) { r.Trials = 2 },
		"file":           func(r *reports.Run, _ *reports.Trial) { r.Files[0].SHA256 = "00" },
		"added file":     func(r *reports.Run, _ *reports.Trial) { r.Files = append(r.Files, reports.File{Name: "notes.txt"}) },
		"nothing":        func(*reports.Run, *reports.Trial) {},
	} {
		run, trial := copied(t, base.run, &base.trial)
		tamper(run, trial)
		a := readAgain(t, run)
		w := worker{again: a, judge: rig.NewRejudger(a.conducted), day: days(a.job, 1, false)}
		require.NoError(t, w.trial(&performed{0, trial, file}), name)
		a.files()
		a.sums()
		if name == "nothing" {
			requireSame(t, a)
		} else {
			require.NotZero(t, a.count, name)
		}
	}
}

type oneRun struct {
	run   *reports.Run
	trial reports.Trial
}

// oneTrial performs a scenario once and gives the run, the trial and its trace file.
func oneTrial(t testing.TB, job *scenarios.Job, s *scenarios.Scenario) (oneRun, []byte) {
	t.Helper()
	bench, err := virtual.New(virtualConfig(job), 0)
	require.NoError(t, err)
	conducted, err := rigJob(job)
	require.NoError(t, err)
	shows := demonstration{trials: 1}
	l := newLedger("a", job, []scenarios.Scenario{*s}, bench.Facts(), runOptions{seed: 1, trials: 1, shows: shows})
	o, err := rig.NewConductor(conducted, bench, bench.Facts(), nil).Perform(&s.Scenario, rig.Seed(1, s.Name, 1), rig.Day{})
	require.NoError(t, err)
	o.Trial = 1
	_, trial := l.take(&o)
	var file bytes.Buffer
	require.NoError(t, tracefile.Write(&file, o.Trace))
	slim := trial
	slim.Findings = nil
	l.keep(0, slim)
	l.settle(shows, nil)
	return oneRun{l.run, trial}, file.Bytes()
}

func copied(t testing.TB, run *reports.Run, trial *reports.Trial) (*reports.Run, *reports.Trial) {
	t.Helper()
	var r reports.Run
	var x reports.Trial
	text, err := json.Marshal(run)
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(text, &r))
	text, err = json.Marshal(trial)
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(text, &x))
	return &r, &x
}

// Every number is dealt once, whatever the number of workers, and whoever is done first.
func TestDealerDealsEachOnce(t *testing.T) {
	for _, n := range []int{0, 1, 2, 3, 59, 1000} {
		for _, workers := range []int{1, 2, 3, 8} {
			hand := dealer(n, workers)
			var mu sync.Mutex
			var all sync.WaitGroup
			times := make([]int, n)
			for own := range workers {
				all.Go(func() {
					for i, ok := hand(own); ok; i, ok = hand(own) {
						mu.Lock()
						times[i]++
						mu.Unlock()
					}
				})
			}
			all.Wait()
			for i, got := range times {
				require.Equal(t, 1, got, "%d of %d, %d workers", i, n, workers)
			}
		}
	}
}

// A rule that other files do not have is not kept by them: it is not asked.
func TestARuleThatIsNotAskedAnyMoreIsTold(t *testing.T) {
	s := &reports.Scenario{Name: "normal-cycle", Rules: []reports.Rule{{Name: "it stops"}, {Name: "it starts"}}}
	recorded := []rule.Finding{{Verdict: rule.Pass}, {Rule: 1, Verdict: rule.Pass}}
	other := &scenarios.Scenario{}
	other.Rules = []rule.Rule{{Name: "it starts"}}
	a := &again{}
	a.otherFindings("normal-cycle/1", s, other, recorded, []rule.Finding{{Verdict: rule.Pass}})
	require.Equal(t, []difference{{"normal-cycle/1 it stops", "rule", "pass", "not asked"}}, a.differs)
}
