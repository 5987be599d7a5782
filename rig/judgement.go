package rig

import (
	"pintle/rig/appraise"
	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A judgement puts what a bench saw into the order of time and hands it to the
// rules. Edges arrive at once, samples only after the meter's latency and motor
// changes only after they have lasted, so edges and samples wait until nothing
// earlier can come any more. A trial and a recorded trace go through the same
// judgement, so that a verdict can be worked out again.
type judgement struct {
	detector *motion.Detector
	monitor  *rule.Monitor
	watch    *rule.Watch     // nil where no script is followed
	rules    []rule.Rule     // the scenario's
	followed []rule.Rule     // all that the monitor follows: those first
	beside   []int           // of the rest: whose verdict they can take away
	appraise *appraise.Trial // nil where nothing is appraised

	initial  [signal.LineCount]signal.Level
	began    bool
	edges    []signal.EdgeSeen // waiting, by Span.Early
	samples  []signal.Sample   // waiting
	lastFrom signal.Instant    // of the sample last delivered: the next one's changes begin no earlier
}

func (j *judgement) reset(initial [signal.LineCount]signal.Level) {
	j.detector.Reset()
	if j.appraise != nil {
		j.appraise.Reset()
	}
	j.initial, j.began = initial, false
	j.edges, j.samples = j.edges[:0], j.samples[:0]
	j.lastFrom = -signal.Never
}

// edge takes an edge in. Edges of different lines may come slightly out of the
// order of their earliest instants, so each is put in its place.
func (j *judgement) edge(e signal.EdgeSeen) {
	j.edges = append(j.edges, e)
	for i := len(j.edges) - 1; i > 0 && j.edges[i-1].Span.Early > e.Span.Early; i-- {
		j.edges[i-1], j.edges[i] = e, j.edges[i-1]
	}
}

// atOnce is how many samples are looked at by one before the next does: so many stay in
// the fastest memory.
const atOnce = 512

// steady takes in the next samples that change nothing and find nothing waiting: most of
// them are such. It says how many, and does so where no script is followed.
func (j *judgement) steady(s []signal.Sample) int {
	if !j.began || len(j.samples) > 0 || j.watch != nil {
		return 0
	}
	before := signal.Never
	if len(j.edges) > 0 {
		before = j.edges[0].Span.Early
	}
	n := j.detector.Steady(s[:min(len(s), atOnce)], before)
	if n > 0 {
		j.monitor.Samples(s[:n])
		j.lastFrom = s[n-1].From
	}
	return n
}

// calm takes in a sample that changes nothing and finds nothing waiting, as sample does,
// and says whether it is one.
func (j *judgement) calm(s signal.Sample) bool {
	if !j.began || len(j.edges) > 0 || len(j.samples) > 0 || !j.detector.Calm(s) {
		return false
	}
	j.deliverSample(s)
	return true
}

// sample takes a sample in and says whether the motor was seen changing. The
// rules begin with the first sample that reaches past the origin; what came
// before only told what the motor was doing then.
func (j *judgement) sample(s signal.Sample) (motion.Change, bool) {
	change, changed := j.detector.Sample(s)
	if !j.began {
		if s.To <= 0 {
			return change, changed
		}
		j.begin(change, changed)
		if changed && change.Was == motion.Unknown {
			changed = false
		}
	}
	final := j.detector.Final()
	if !changed && len(j.edges) == 0 && len(j.samples) == 0 && final >= s.From {
		j.deliverSample(s)
		return change, false
	}
	j.samples = append(j.samples, s)
	if changed {
		if j.appraise != nil {
			j.appraise.Motor(change)
		}
		j.deliver(change.Span.Early)
		j.monitor.Motor(change)
		if j.watch != nil {
			j.watch.Motor(change)
		}
	}
	j.deliver(final)
	return change, changed
}

func (j *judgement) begin(change motion.Change, changed bool) {
	state := j.detector.State()
	if changed && change.Was != motion.Unknown {
		state = change.Was
	}
	j.began = true
	j.monitor.Begin(0, j.initial, state)
	if j.watch != nil {
		j.watch.Begin(0, j.initial, state)
	}
}

// deliver hands over all that waits and can begin no later than the instant.
func (j *judgement) deliver(upTo signal.Instant) {
	e, s := 0, 0
	for {
		edge := e < len(j.edges) && j.edges[e].Span.Early <= upTo
		sample := s < len(j.samples) && j.lastFrom <= upTo
		switch {
		case edge && (!sample || j.edges[e].Span.Early <= j.lastFrom):
			j.monitor.Edge(j.edges[e])
			if j.watch != nil {
				j.watch.Edge(j.edges[e])
			}
			e++
		case sample:
			j.deliverSample(j.samples[s])
			s++
		default:
			j.edges = j.edges[:copy(j.edges, j.edges[e:])]
			j.samples = j.samples[:copy(j.samples, j.samples[s:])]
			return
		}
	}
}

func (j *judgement) deliverSample(s signal.Sample) {
	j.monitor.Sample(s)
	if j.watch != nil {
		j.watch.Sample(s)
	}
	j.lastFrom = s.From
}

// final is the instant up to which everything has been handed over.
func (j *judgement) final() signal.Instant {
	if !j.began {
		return -signal.Never
	}
	return j.detector.Final()
}

// settled says that every rule was settled by the end of the trial, up to which it hands
// over all that waits.
func (j *judgement) settled(end signal.Instant) bool {
	if !j.began || len(j.rules) == 0 {
		return false
	}
	j.deliver(end)
	return j.monitor.Settled()
}

// finish hands over what lies before the end of the trial and gives the
// findings. A trial in which the meter never spoke has none that are settled.
func (j *judgement) finish(end signal.Instant) []rule.Finding {
	if !j.began {
		j.begin(motion.Change{}, false)
	}
	j.deliver(end)
	return j.monitor.Finish(end)
}

// appraised is finish, with what each measured value is to be trusted added to it; for
// those who want nothing but verdicts only where the verdict hangs on it.
func (j *judgement) appraised(end signal.Instant, brief bool) []rule.Finding {
	all := j.finish(end)
	if j.appraise == nil {
		return all
	}
	for i := range all {
		if open := all[i].ByValue && all[i].Verdict == rule.Inconclusive; open || !brief {
			j.appraise.Appraise(&j.followed[i], &all[i])
		}
	}
	return j.agree(all)
}

func newJudgement(job *Job, s *Scenario) (*judgement, error) {
	detector, err := motion.NewDetector(job.Motion)
	if err != nil {
		return nil, err
	}
	var judge rule.Judge
	var trial *appraise.Trial
	followed, beside := s.Rules, []int(nil)
	if job.Appraiser != nil {
		trial = job.Appraiser.Trial()
		judge = trial.Judge
		followed, beside = nearby(s.Rules, job.Appraiser)
	}
	monitor, err := rule.Compile(followed, judge)
	if err != nil {
		return nil, err
	}
	awaited := make([]rule.Condition, 0, len(s.Script))
	for _, step := range s.Script {
		if step.Kind == Await {
			awaited = append(awaited, step.Condition)
		}
	}
	watch, err := rule.NewWatch(awaited)
	if err != nil {
		return nil, err
	}
	return &judgement{detector: detector, monitor: monitor, watch: watch, rules: s.Rules, followed: followed, beside: beside, appraise: trial}, nil
}
