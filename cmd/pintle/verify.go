package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"reflect"

	"github.com/spf13/cobra"

	"pintle/reports"
	"pintle/reports/evidence"
	"pintle/reports/seal"
	"pintle/scenarios"
)

// verifyOptions are the flags of pintle verify.
type verifyOptions struct {
	key, rules string
	json       bool
}

func verifyCommand(a *app) *cobra.Command {
	var o verifyOptions
	c := &cobra.Command{
		Use:   "verify FILE",
		Short: "check a record, and work every verdict out again",
		Long: `Checks a record, or an excerpt of one trial out of it, on a machine that has nothing else:
who signed it, that no byte was changed and nothing is missing, and that every value, every
verdict and every sum is what comes of the raw traces by the rules in the record itself.
It says what all this does not prove.

--key is the public key of whoever signed the record, as a file or as the line of text that
pintle key show prints; get it by another way than the record. Without it your own key is
tried. Where neither fits, everything else is checked, and the result is inconclusive: who
signed it is unproven.

With --rules the same traces are also judged by the files of another job folder, in which a
claim is tightened, say, or a rule or the decision rule is another one. It prints what came
out otherwise.

Exit status: 0 everything holds; 1 something is wrong or, with --rules, came out otherwise;
2 all that could be checked holds, and who signed it is unproven; 64 the call is wrong.`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error { return a.verify(args[0], o) },
	}
	c.Flags().StringVar(&o.key, "key", "", "the public `KEY` of who signed it: a file, or the text")
	c.Flags().StringVar(&o.rules, "rules", "", "judge the same traces by the job folder `DIR` as well")
	c.Flags().BoolVar(&o.json, "json", false, "print as JSON")
	return c
}

// A verification is what came of checking a record.
type verification struct {
	File      string         `json:"file"`
	Excerpt   bool           `json:"excerpt,omitempty"`
	Trial     string         `json:"trial,omitempty"` // of an excerpt: which it is, and its verdict
	Run       string         `json:"run,omitempty"`
	Signature sealing        `json:"signature"`
	Entries   int            `json:"entries,omitempty"`
	Root      string         `json:"root,omitempty"`
	Trials    int            `json:"trials,omitempty"`
	Samples   int64          `json:"samples,omitempty"`
	Verdict   string         `json:"verdict,omitempty"` // that the record has
	Bad       string         `json:"bad,omitempty"`     // why it is no record, or not a whole one
	Lacking   []evidence.Gap `json:"lacking,omitempty"`
	Left      []string       `json:"notPerformed,omitempty"`       // scenarios of the job that were not performed in the run
	Untold    bool           `json:"notPerformedUntold,omitempty"` // the record does not list them: its files tell
	Of        int            `json:"applicable,omitempty"`         // scenarios that apply to the job
	BuiltIn   breadth        `json:"builtIn,omitzero"`
	Differs   int            `json:"differs"`
	Different []difference   `json:"different,omitempty"`
	Rules     *otherRules    `json:"rules,omitempty"`
	Unproven  []string       `json:"unproven"`
	Result    string         `json:"result"` // verified, inconclusive or not verified
	record    *reports.Run   // without its trials
	job       *scenarios.Job // out of the record's own files
}

// A sealing is what is known of the signature.
type sealing struct {
	State string `json:"state"` // good, unproven or bad
	Key   string `json:"key,omitempty"`
	Text  string `json:"text"`
}

// otherRules is what came of judging by other rules.
type otherRules struct {
	Dir       string       `json:"dir"`
	Verdict   string       `json:"verdict"`
	Otherwise int          `json:"otherwise"`
	Different []difference `json:"different,omitempty"`
	Scripts   []string     `json:"otherScripts,omitempty"` // of which the traces are not
}

// Results of a verification.
const (
	resultGood = "verified"
	resultOpen = "inconclusive"
	resultBad  = "not verified"
)

func (a *app) verify(file string, o verifyOptions) error {
	var key *seal.Public
	if o.key != "" {
		p, err := seal.FindPublic(o.key)
		if err != nil {
			return usage(err)
		}
		key = &p
	}
	var other *scenarios.Job
	if o.rules != "" {
		var err error
		if other, err = loadJob(o.rules); err != nil {
			return err
		}
	}
	f, size, err := openRecord(file)
	if err != nil {
		return usage(err)
	}
	defer f.Close()
	rec, err := evidence.Open(f, size)
	if errors.Is(err, evidence.ErrNotRecord) {
		return usage(fmt.Errorf("%s: %w; a record is the zip that pintle certify RUN writes", file, err))
	}
	if errors.Is(err, evidence.ErrNewer) {
		return usage(fmt.Errorf("%s: %w", file, err))
	}
	v := &verification{File: file}
	if err != nil {
		v.Bad = err.Error()
	} else {
		v.seal(rec, key)
		if err := v.check(rec, other, o.rules); err != nil {
			v.Bad = err.Error()
		}
	}
	return a.tellVerification(v, o.json)
}

func openRecord(file string) (f *os.File, size int64, err error) {
	if f, err = os.Open(file); err != nil {
		return nil, 0, fmt.Errorf("open the record: %w; pintle certify RUN --record %s makes one", err, file)
	}
	info, err := f.Stat()
	switch {
	case err != nil:
		err = fmt.Errorf("look at the record: %w", err)
	case !info.Mode().IsRegular():
		err = fmt.Errorf("%s is no file; a record is the one zip that pintle certify RUN writes, as it was before anybody unpacked it", file)
	default:
		return f, info.Size(), nil
	}
	return nil, 0, errors.Join(err, f.Close())
}

// seal checks the signature: with the key given, else with one's own if it is that.
func (v *verification) seal(rec *evidence.Record, given *seal.Public) {
	said, _ := seal.Parse(rec.Signature()) // its form was checked as it was read
	v.Signature = sealing{State: "unproven", Key: said.KeyID}
	whose, key := "the key given", given
	if key == nil {
		own, err := ownKey()
		if err == nil && own.ID() == said.KeyID {
			whose, key = "your own key", &own
		}
	}
	s := &v.Signature
	switch {
	case rec.Signature() == nil && given == nil:
		s.Text = "there is none, so who made the record is unproven"
		return
	case key == nil:
		s.Text = fmt.Sprintf("of key %s, which you have not: who signed the record is unproven; name the signer's public key with --key", said.KeyID)
		return
	}
	err := rec.Verify(func(head, signature []byte) error {
		_, err := seal.Verify(*key, head, signature)
		if errors.Is(err, seal.ErrOtherKey) {
			return fmt.Errorf("%w: %w", evidence.ErrOtherKey, err)
		}
		return err
	})
	switch {
	case errors.Is(err, evidence.ErrOtherKey):
		s.State, s.Text = "bad", fmt.Sprintf("not made with the key given, %s: it names key %s; if that is the signer's as well, name it with --key", key.ID(), said.KeyID)
		return
	case err != nil:
		s.State, s.Text = "bad", err.Error()
		return
	}
	s.State, s.Text = "good", fmt.Sprintf("made with %s, %s", whose, key.ID())
}

// ownKey is the user's own public key, where there is one that can be had without asking.
func ownKey() (seal.Public, error) {
	file, err := keyOptions{}.private()
	if err != nil {
		return seal.Public{}, err
	}
	return seal.LoadPublic(publicFile(file))
}

// check works everything out again.
func (v *verification) check(rec *evidence.Record, other *scenarios.Job, dir string) error {
	run, head := rec.Run(), rec.Head()
	v.record, v.Excerpt, v.Run, v.Verdict = run, rec.IsExcerpt(), run.ID, run.Verdict.String()
	v.Entries, v.Root, v.Trials, v.Lacking = head.Leaves, head.Root, rec.Len(), rec.Gaps()
	job, err := recordedJob(run)
	if err != nil {
		return err
	}
	v.job = job
	v.left()
	again, err := newAgain(run, job, job)
	if err != nil {
		return err
	}
	all := trials{rec.Len(), func(i int, memory []byte) (performed, error) {
		p, err := rec.Into(i, memory)
		if err == nil && v.Excerpt { // the only one
			v.Trial = fmt.Sprintf("trial %d of %s is %v", p.Trial.Number, p.Scenario, p.Trial.Verdict)
		}
		return performed{p.Index, p.Trial, p.Trace}, err
	}}
	if err := again.judge(all); err != nil {
		return err
	}
	again.files()
	if !v.Excerpt {
		again.sums()
	}
	v.Samples, v.Differs, v.Different = again.samples, again.count, again.differs
	if other == nil {
		return nil
	}
	return v.try(all, other, dir)
}

// try judges by other rules.
func (v *verification) try(all trials, other *scenarios.Job, dir string) error {
	lend(other, v.job)
	again, err := newAgain(v.record, other, v.job)
	if err != nil {
		return err
	}
	if err := again.judge(all); err != nil {
		return err
	}
	v.Rules = &otherRules{Dir: dir}
	if !v.Excerpt {
		again.sums()
		v.Rules.Verdict = again.ledger.run.Verdict.String()
	}
	v.Rules.Otherwise, v.Rules.Different = again.count, again.differs
	for i, s := range again.rules {
		if p := again.played[i]; s != nil && p != nil && !reflect.DeepEqual(bare(s), bare(p)) {
			v.Rules.Scripts = append(v.Rules.Scripts, s.Name)
		}
	}
	return nil
}

// bare is what a scenario does to the controller, without where that stands.
func bare(s *scenarios.Scenario) any {
	var steps []any
	for _, x := range s.Script {
		x.Source = ""
		steps = append(steps, x)
	}
	return []any{s.Start, s.Faults, steps, s.Repeat}
}

// left finds what of the job was not performed, by the files in the record.
func (v *verification) left() {
	v.Left, v.Of = notPerformed(v.record, v.job), len(v.job.Applicable())
	v.BuiltIn = breadthOf(v.record, v.job)
	v.Untold = len(v.Left) > 0 && len(v.record.NotPerformed) == 0
}

// notPerformed are the scenarios that apply to a job and were not performed in a run.
func notPerformed(run *reports.Run, job *scenarios.Job) []string {
	done := map[string]bool{}
	for _, s := range run.Scenarios {
		done[s.Name] = true
	}
	var left []string
	for _, s := range job.Applicable() {
		if !done[s.Name] {
			left = append(left, s.Name)
		}
	}
	return left
}

// plainText is a value as JSON, to be compared and told.
func plainText(v any) string {
	text, err := json.Marshal(v)
	if err != nil {
		return err.Error()
	}
	return string(text)
}
