package main

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"pintle/drivers/meter"
	"pintle/drivers/virtual"
	"pintle/rig/appraise"
	"pintle/rig/fault"
	"pintle/rig/fold"
	"pintle/rig/gate"
	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/rig/uncertainty"
	"pintle/rig/wording"
	"pintle/scenarios"
	"pintle/scenarios/quantity"
	"pintle/scenarios/yamlfile"
)

// An entry is a word of pintle's, with what it means.
type entry struct {
	kind, word string
	means      []string // paragraphs
}

func explainCommand(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "explain [WORD...]",
		Short: "what a word means: a rule, a fault, a verdict, a claim, ...",
		Long: `Explains a word that files, messages and certificates use: a pattern of a rule, a fault, a
verdict, a claim, a line, a scenario, a decision rule, a source of uncertainty, a unit, a
defect of the simulated controller, an exit status, a key of a file. Several may be asked
for at once. Without a word it lists all of them.`,
		ValidArgsFunction: completeTerms,
		RunE: func(_ *cobra.Command, args []string) error {
			all, err := terms()
			if err != nil {
				return err
			}
			if len(args) == 0 {
				a.listTerms(all)
				return nil
			}
			return a.explain(all, inTerms(all, args))
		},
	}
}

// A glossary gives the words of one table, each with what it means.
type glossary struct {
	kind  string
	words func(job *scenarios.Job, add func(word string, means ...string))
}

// glossaries is the list of all tables that the program itself works by and people read
// of, in the order in which they are listed.
var glossaries = []glossary{
	{"word", each(usualWords, func(w struct{ word, means string }) (string, string) { return w.word, w.means })},
	{"verdict", each(rule.Verdicts[:], func(v rule.VerdictInfo) (string, string) { return v.Name, v.Means })},
	{"rule", func(job *scenarios.Job, add func(string, ...string)) {
		for _, p := range rule.Patterns {
			add(p.Name, p.Means, used(job, func(s *scenarios.Scenario) bool {
				return slices.ContainsFunc(s.Rules, func(r rule.Rule) bool { return r.Pattern == p.Pattern })
			}))
		}
	}},
	{"fault", func(job *scenarios.Job, add func(string, ...string)) {
		for _, k := range fault.Kinds {
			add(k.Name, k.Means, used(job, func(s *scenarios.Scenario) bool {
				return slices.ContainsFunc(s.Faults, func(f fault.Fault) bool { return f.Kind == k.Kind })
			}))
		}
	}},
	{"claim", func(job *scenarios.Job, add func(string, ...string)) {
		for _, k := range scenarios.KnownClaims {
			add(k.Name, k.Means, promise(k), used(job, func(s *scenarios.Scenario) bool { return slices.Contains(s.Claims, k.Name) }))
		}
	}},
	{"line", func(_ *scenarios.Job, add func(string, ...string)) {
		for _, l := range signal.Lines {
			add(l.Name, l.Means, fmt.Sprintf("Made it is %s, broken it is %s.", l.Made, l.Broken))
		}
	}},
	{"kind of sensor", each(gate.Kinds[:], func(k gate.KindInfo) (string, string) { return k.Name, sentence(k.Meaning) })},
	{"bench", func(_ *scenarios.Job, add func(string, ...string)) {
		for _, b := range benches {
			add(b.Name, sentence(b.Means))
		}
	}},
	{"protocol of a meter", each(meter.Protocols(), func(p meter.ProtocolInfo) (string, string) { return p.Name, sentence(p.What) })},
	{"scenario", func(job *scenarios.Job, add func(string, ...string)) {
		for i := range job.Scenarios {
			s := &job.Scenarios[i]
			add(s.Name, s.Title+". "+s.Why, "Hazard: "+s.Hazard)
		}
	}},
	{"decision rule", func(_ *scenarios.Job, add func(string, ...string)) {
		for _, k := range uncertainty.RuleKinds() {
			for _, word := range slices.Compact([]string{k.Word(), k.Short()}) { // of files, of certificates
				add(word, k.Usual().Text(uncertainty.DefaultCoverage))
			}
		}
	}},
	{"decision of a value", each([]uncertainty.Decision{uncertainty.ConditionalPass, uncertainty.ConditionalFail}, func(d uncertainty.Decision) (string, string) {
		return strings.ReplaceAll(d.String(), "-", " "), "It " + d.Means() + ": the verdict is inconclusive, which is no pass."
	})},
	{"source of uncertainty", func(_ *scenarios.Job, add func(string, ...string)) {
		for _, s := range appraise.Sources {
			add(s.Name, "Assumed: "+s.Assumes+".", "What makes it smaller: "+s.Remedy+".")
		}
	}},
	{"unit", func(_ *scenarios.Job, add func(string, ...string)) {
		names, means := quantity.Units()
		for i := range names {
			add(names[i], means[i])
		}
	}},
	{"defect", each(virtual.Defects(), func(d virtual.DefectInfo) (string, string) { return d.Name, sentence(d.Means) })},
	{"exit status", func(_ *scenarios.Job, add func(string, ...string)) {
		for _, s := range statuses {
			add(strconv.Itoa(s.status), s.means)
		}
	}},
	{"key of bench.yaml", keysOf("bench")},
	{"key of gate.yaml", keysOf("gate")},
	{"key of controller.yaml", keysOf("controller")},
	{"key of a scenario", keysOf("scenario")},
}

// keysOf are the keys of a kind of file, but for those that begin a rule or a fault: these
// stand in tables of their own.
func keysOf(kind string) func(*scenarios.Job, func(string, ...string)) {
	return func(_ *scenarios.Job, add func(string, ...string)) {
		for _, k := range scenarios.FileKeys(equipment()) {
			if _, is := rule.PatternNamed(k.Key); is || k.Kind != kind {
				continue
			}
			means := []string{sentence(k.Means), "", "", ""}
			if k.Within != "" {
				means[1] = "It stands under " + k.Within + "."
			}
			if len(k.Words) > 0 {
				means[2] = "It is " + yamlfile.OneOf(k.Words) + "."
			}
			if k.Default != "" {
				means[3] = "Where it is not given: " + k.Default + "."
			}
			add(k.Key, means...)
		}
	}
}

// each is a table whose rows have a word and a sentence.
func each[T any](rows []T, tell func(T) (word, means string)) func(*scenarios.Job, func(string, ...string)) {
	return func(_ *scenarios.Job, add func(string, ...string)) {
		for _, r := range rows {
			add(tell(r))
		}
	}
}

// terms gathers the words of all tables.
func terms() ([]entry, error) {
	job, err := loadJob("")
	if err != nil {
		return nil, err
	}
	var all []entry
	for _, g := range glossaries {
		g.words(job, func(word string, means ...string) {
			all = append(all, entry{g.kind, word, slices.DeleteFunc(means, func(s string) bool { return s == "" })})
		})
	}
	return all, nil
}

// promise says what sort of figure a claim is.
func promise(k scenarios.KnownClaim) string {
	side := "at most"
	if k.Sense == rule.AtLeast {
		side = "at least"
	}
	return fmt.Sprintf("A %v: the controller promises %s this. A simulated one whose file does not say has %s.", k.Of, side, k.Default)
}

// used names the built-in scenarios that something holds for.
func used(job *scenarios.Job, holds func(*scenarios.Scenario) bool) string {
	const most = 4
	var names []string
	for i := range job.Scenarios {
		if holds(&job.Scenarios[i]) {
			names = append(names, job.Scenarios[i].Name)
		}
	}
	switch n := len(names); {
	case n == 0:
		return ""
	case n > most:
		return fmt.Sprintf("Used by %s and %d more scenarios.", strings.Join(names[:most], ", "), n-most)
	}
	return "Used by " + strings.Join(names, ", ") + "."
}

// inTerms puts together what a shell took apart: a term may have spaces. What is part of
// none is a word by itself; where nothing is a term, all of it is one.
func inTerms(all []entry, args []string) (words []string) {
	known := false
	for len(args) > 0 {
		n := len(args)
		for n > 1 && !isTerm(all, strings.Join(args[:n], " ")) {
			n--
		}
		word := strings.Join(args[:n], " ")
		known = known || isTerm(all, word)
		words, args = append(words, word), args[n:]
	}
	if !known {
		return []string{strings.Join(words, " ")}
	}
	return words
}

func isTerm(all []entry, word string) bool {
	return slices.ContainsFunc(all, func(t entry) bool { return strings.EqualFold(t.word, word) })
}

// explain prints every meaning of each word. Of none where one is not known.
func (a *app) explain(all []entry, words []string) error {
	var errs []error
	for _, word := range words {
		if !isTerm(all, word) {
			errs = append(errs, fmt.Errorf("there is no word %q here%s", word, then(alike(all, word), "pintle explain lists all")))
		}
	}
	if len(errs) > 0 {
		return usage(errors.Join(errs...))
	}
	first := true
	for _, word := range words {
		for _, t := range all {
			if !strings.EqualFold(t.word, word) {
				continue
			}
			if !first {
				fmt.Fprintln(a.out)
			}
			first = false
			fmt.Fprintf(a.out, "%s (%s)\n", t.word, t.kind)
			for _, text := range t.means {
				a.paragraph(text)
			}
		}
	}
	return nil
}

// alike offers the words that hold the one typed, or the nearest.
func alike(all []entry, word string) string {
	var names, holding []string
	for _, t := range all {
		names = append(names, t.word)
		if len(word) > 2 && strings.Contains(strings.ToLower(t.word), strings.ToLower(word)) && !slices.Contains(holding, t.word) {
			holding = append(holding, t.word)
		}
	}
	const most = 5
	if n := len(holding); n > 0 && n <= most {
		return ": did you mean " + strings.Join(holding, ", or ") + "?"
	}
	return nearest(word, names)
}

// nearest offers the word that is near, or those of which a part is nearer: "reverasl" may
// be "reversal after beam".
func nearest(word string, names []string) string {
	parts := map[string][]string{}
	known := slices.Clone(names)
	for _, n := range names {
		for _, part := range strings.FieldsFunc(n, func(r rune) bool { return r == ' ' || r == '-' }) {
			if len(part) > 3 && !slices.Contains(parts[part], n) {
				parts[part] = append(parts[part], n)
				known = append(known, part)
			}
		}
	}
	near, ok := yamlfile.Nearest(strings.ToLower(word), known)
	if !ok || slices.Contains(names, near) {
		return suggestion(word, names)
	}
	const most = 5
	of := parts[near]
	return ": did you mean " + strings.Join(of[:min(most, len(of))], ", or ") + "?"
}

// listTerms prints all words by their kinds.
func (a *app) listTerms(all []entry) {
	kind, words := "", []string(nil)
	flush := func() {
		if kind == "" {
			return
		}
		fmt.Fprintf(a.out, "%s\n", kind)
		a.row(words)
	}
	for _, t := range all {
		if t.kind != kind {
			flush()
			kind, words = t.kind, nil
		}
		words = append(words, t.word)
	}
	flush()
}

// row prints words beside each other, none broken in two, in lines of at most 80
// columns.
func (a *app) row(words []string) {
	held := make([]string, len(words))
	for i, w := range words {
		held[i] = fold.Held(w)
	}
	fmt.Fprint(a.out, fold.Hanging("  ", strings.Join(held, ", "), a.wide()))
}

// sentence makes a sentence of a clause.
func sentence(text string) string {
	return wording.Upper(strings.TrimSuffix(text, ".")) + "."
}

// completeTerms offers words, with the kind of each.
func completeTerms(_ *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
	all, err := terms()
	if err != nil || len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	var words []string
	for _, t := range all {
		if strings.HasPrefix(t.word, begun) {
			words = append(words, t.word+"\t"+t.kind)
		}
	}
	return words, cobra.ShellCompDirectiveNoFileComp
}
