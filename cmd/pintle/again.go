package main

import (
	"bytes"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"pintle/reports"
	"pintle/reports/tracefile"
	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/scenarios"
)

// A difference is something that is not in a record what it is when it is worked out again.
type difference struct {
	Where    string `json:"where"` // scenario/trial, or another part of the run
	What     string `json:"what"`
	Recorded string `json:"recorded"`
	Again    string `json:"again"`
}

// mostDifferences is how many are kept; all are counted.
const mostDifferences = 1000

// A performed is a trial as it was kept.
type performed struct {
	scenario int
	trial    *reports.Trial
	trace    []byte // a Parquet file; nil: none was kept
}

// trials are the trials of a run, from wherever they are kept. They are asked for by
// several goroutines at once, and put the trace into the memory given where it has room.
type trials struct {
	n  int
	at func(i int, memory []byte) (performed, error)
}

// An again judges a run again from its raw traces, by the rules of the very files that it
// was performed with.
type again struct {
	run       *reports.Run
	job       *scenarios.Job
	conducted *rig.Job
	rules     []*scenarios.Scenario // by the scenarios of the run; nil: the files have none of that name
	chosen    []scenarios.Scenario  // the rules, and an empty one where there are none
	played    []*scenarios.Scenario // those whose scripts were followed: the same, unless other rules are tried

	finest  sync.Once // does reach, at the side of the judging
	mu      sync.Mutex
	ledger  *ledger // gathers what the trials come to now
	samples int64
	differs []difference
	count   int
	source  int // the last that a finding names
}

// recordedJob is the job that a run was performed with, out of the texts in its record.
func recordedJob(run *reports.Run) (*scenarios.Job, error) {
	var files []scenarios.File
	for _, f := range run.Files {
		files = append(files, scenarios.File{Name: f.Name, Text: []byte(f.Text)})
	}
	job, err := scenarios.FromFiles(files, equipment())
	if err != nil {
		return nil, fmt.Errorf("the files in the record make no job that this program understands: %w", err)
	}
	for _, f := range files {
		if f.Name == checkFile {
			job.Files = append(job.Files, f)
		}
	}
	slices.SortFunc(job.Files, func(a, b scenarios.File) int { return strings.Compare(a.Name, b.Name) })
	return job, nil
}

// newAgain gets ready to judge the trials of a run by the rules of a job. The played is the
// job that the run was performed with.
func newAgain(run *reports.Run, job, played *scenarios.Job) (*again, error) {
	conducted, err := rigJob(job)
	if err != nil {
		return nil, err
	}
	shows, err := demonstrationOf(run)
	if err != nil {
		return nil, fmt.Errorf("the record's demonstration cannot be planned: %w", err)
	}
	conducted.Meter, conducted.Guard = meterFacts(played), guardOf(played) // of the bench that the traces are from
	a := &again{run: run, job: job, conducted: conducted}
	for i := range run.Scenarios {
		s, _ := job.Scenario(run.Scenarios[i].Name)
		p, _ := played.Scenario(run.Scenarios[i].Name)
		a.rules, a.played = append(a.rules, s), append(a.played, p)
		if s == nil {
			s = &scenarios.Scenario{}
			s.Name = run.Scenarios[i].Name
		}
		a.chosen = append(a.chosen, *s)
	}
	a.ledger = quickLedger(run.ID, job, a.chosen, rig.Facts{}, runOptions{seed: run.Seed, trials: run.Trials, shows: shows})
	return a, nil
}

// differ notes a difference where the two texts are not the same.
func (a *again) differ(where, what, recorded, now string) {
	if recorded == now {
		return
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.count++; len(a.differs) < mostDifferences {
		a.differs = append(a.differs, difference{where, what, recorded, now})
	}
}

// judge judges all trials, on several processors. The error is that of the place where
// they are kept.
func (a *again) judge(all trials) error {
	var failed atomic.Pointer[error]
	var workers sync.WaitGroup
	day := days(a.job, a.run.Seed, a.run.Demonstration != nil)
	n := min(runtime.GOMAXPROCS(0), max(all.n, 1))
	hand := dealer(all.n, n)
	for own := range n {
		workers.Go(func() {
			w := worker{again: a, judge: rig.NewRejudger(a.conducted), day: day}
			if own == n-1 {
				a.finest.Do(a.reach)
			}
			for i, ok := hand(own); ok && failed.Load() == nil; i, ok = hand(own) {
				p, err := all.at(i, w.bytes)
				if p.trace != nil {
					w.bytes = p.trace
				}
				if err == nil {
					err = w.trial(&p)
				}
				if err != nil {
					failed.CompareAndSwap(nil, &err)
				}
			}
		})
	}
	workers.Wait()
	if err := failed.Load(); err != nil {
		return *err
	}
	slices.SortStableFunc(a.differs, func(x, y difference) int { return strings.Compare(x.Where, y.Where) })
	return nil
}

// reach works out how finely the bench decides, with the appraiser that judges: what they
// draw they share.
func (a *again) reach() {
	a.ledger.run.Bench.Finest = finest(a.conducted.Appraiser, a.job, a.chosen)
}

// dealer deals numbers below n to workers, each once. Each worker has a stretch of its own,
// and helps the others when it is done: the trials of one scenario share what one of them
// has worked out, and two workers at the same scenario would both work it out.
func dealer(n, workers int) func(own int) (int, bool) {
	next := make([]atomic.Int64, workers)
	for w := range next {
		next[w].Store(int64(n * w / workers))
	}
	return func(own int) (int, bool) {
		for k := range workers {
			w := (own + k) % workers
			end := int64(n * (w + 1) / workers)
			if next[w].Load() >= end {
				continue
			}
			if i := next[w].Add(1) - 1; i < end {
				return int(i), true
			}
		}
		return 0, false
	}
}

// A worker judges one trial after the other, in memory of its own.
type worker struct {
	*again
	judge  *rig.Rejudger
	day    func(scenario string, trial int) rig.Day
	reader tracefile.Reader
	bytes  []byte       // the trace as it was kept
	trace  signal.Trace // without its samples
}

// trial judges one trial again and holds it against what was recorded.
func (w *worker) trial(p *performed) error {
	s := &w.run.Scenarios[p.scenario]
	where := fmt.Sprintf("%s/%d", s.Name, p.trial.Number)
	now := reports.Trial{Number: p.trial.Number, Verdict: rule.Void, Reason: "there is no trace to judge it by"}
	switch rules, played := w.rules[p.scenario], w.played[p.scenario]; {
	case rules == nil || played == nil:
		now.Reason = "the files have no scenario of this name"
	case p.trace == nil && len(p.trial.Troubles) > 0:
		now.Reason = p.trial.Reason // the bench failed before anything was kept
	case p.trace != nil:
		out, samples, err := w.rejudge(rules, played, p)
		if err != nil {
			return fmt.Errorf("%s: %w", where, err)
		}
		now.Verdict, now.Reason, now.Findings = out.Verdict, out.Reason, out.Findings
		w.differ(where, "number of samples", fmt.Sprint(p.trial.Samples), fmt.Sprint(samples))
		if rules == played {
			w.sameFindings(where, rules, p.trial.Findings, now.Findings)
		} else {
			w.otherFindings(where, s, rules, p.trial.Findings, now.Findings)
		}
	}
	w.named(p.trial.Findings)
	w.differ(where, "verdict", p.trial.Verdict.String(), now.Verdict.String())
	if w.rules[p.scenario] == w.played[p.scenario] {
		w.differ(where, "reason", p.trial.Reason, now.Reason)
		w.differ(where, "seed", fmt.Sprint(p.trial.Seed), fmt.Sprint(rig.Seed(w.run.Seed, s.Name, p.trial.Number)))
		w.differ(where, "day", p.trial.Day, w.dayOf(p.scenario, p.trial.Number))
	}
	now.Findings = nil // the sums need no more
	w.ledger.keep(p.scenario, now)
	atomic.AddInt64(&w.samples, int64(p.trial.Samples))
	return nil
}

// rejudge judges a trace as it is read, and counts its samples.
func (w *worker) rejudge(rules, played *scenarios.Scenario, p *performed) (rig.Rejudged, int, error) {
	var under rig.Rejudging
	var failed error
	samples := 0
	err := w.reader.Each(bytes.NewReader(p.trace), int64(len(p.trace)), &w.trace, func(s []signal.Sample) {
		if samples == 0 {
			under, failed = w.judge.Begin(&rules.Scenario, &w.trace)
		}
		if samples += len(s); failed == nil {
			under.Samples(s)
		}
	})
	if err == nil && samples == 0 {
		under, failed = w.judge.Begin(&rules.Scenario, &w.trace)
	}
	if err == nil {
		err = failed
	}
	if err != nil {
		return rig.Rejudged{}, 0, err
	}
	return under.End(&played.Scenario, &w.trace, troublesOf(p.trial)), samples, nil
}

// dayOf is what was unusual about a trial's day.
func (w *worker) dayOf(scenario, trial int) string {
	if w.played[scenario] == nil {
		return ""
	}
	d := w.day(w.run.Scenarios[scenario].Name, trial)
	if w.played[scenario].Steady {
		d = d.Steady()
	}
	return d.String()
}

// troublesOf reads what troubles the bench had.
func troublesOf(t *reports.Trial) []rig.BenchTrouble {
	var all []rig.BenchTrouble
	for _, told := range t.Troubles {
		code, text := reports.ReadTrouble(told)
		all = append(all, rig.BenchTrouble{Code: code, Text: text})
	}
	return all
}

// sums holds the verdicts of scenarios and run against those of their trials now, and all
// that the record says of the job against what its files say.
func (a *again) sums() {
	var interrupted error
	if a.run.Reason != "" {
		interrupted = fmt.Errorf("%s", a.run.Reason)
	}
	shows, err := demonstrationOf(a.run)
	if err != nil {
		return // newAgain has refused it
	}
	a.ledger.settle(shows, interrupted)
	now := a.ledger.run
	for i := range now.Scenarios {
		x, y := &a.run.Scenarios[i], &now.Scenarios[i]
		a.differ(x.Name, "verdict", x.Verdict.String(), y.Verdict.String())
		if a.rules[i] == a.played[i] {
			a.differ(x.Name, "reason", x.Reason, y.Reason)
			a.differ(x.Name, "shown by its trials", shownText(x.Shown), shownText(y.Shown))
		}
	}
	a.differ("run", "verdict", a.run.Verdict.String(), now.Verdict.String())
}

func shownText(s *reports.Shown) string {
	if s == nil {
		return "nothing"
	}
	return fmt.Sprintf("%s (state %d, to the millionth %d)", s.Text(), s.State, s.AtLeast)
}

// same notes a difference between two values.
func (a *again) same(where, what string, recorded, now any) {
	x, y := plainText(recorded), plainText(now)
	a.differ(where, what, x, y)
}
