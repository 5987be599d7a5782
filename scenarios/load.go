package scenarios

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"

	"pintle/scenarios/builtin"
	"pintle/scenarios/yamlfile"
)

// mostScenarios is how many scenarios a job may have of its own.
const mostScenarios = 1000

// Load reads a job folder. The name is how the folder is called in messages, and the
// equipment what its bench.yaml may name. An error of type yamlfile.Mistakes tells all
// that is wrong in all files.
func Load(fsys fs.FS, name string, with Equipment) (*Job, error) {
	return load(&loader{fsys: fsys, dir: name, with: with, job: &Job{Dir: name}, builtIn: builtin.All()})
}

func load(l *loader) (*Job, error) {
	if err := l.look(); err != nil {
		return nil, err
	}
	l.decode("bench.yaml", &l.job.Bench)
	l.gate()
	l.decode("controller.yaml", &l.job.Controller)
	l.bad = append(l.bad, l.job.Bench.check(&l.with)...)
	wrong := resolveClaims(&l.job.Controller)
	l.claimsWrong = len(l.bad)+len(wrong) > 0
	l.bad = append(l.bad, wrong...)
	l.bad = append(l.bad, l.job.figures()...)
	l.scenarios()
	l.job.Title, l.job.Place = prose(l.job.Bench.Title), prose(l.job.Bench.Place)
	slices.SortFunc(l.job.Files, func(a, b File) int { return strings.Compare(a.Name, b.Name) })
	if err := l.bad.Err(); err != nil {
		return nil, err
	}
	return l.job, nil
}

// gate reads gate.yaml. What it says can only be tried where all of it can be read.
func (l *loader) gate() {
	read := l.decode("gate.yaml", &l.job.Gate)
	bad := l.job.Gate.build()
	if bad == nil && read {
		bad = l.job.Gate.try()
	}
	l.bad = append(l.bad, bad...)
}

type loader struct {
	fsys fs.FS
	dir  string
	job  *Job
	with Equipment
	bad  yamlfile.Mistakes

	builtIn  []builtin.File
	recorded bool // out of texts that a job was loaded from, so that what was left out is not there

	claimsWrong bool     // something is wrong before the scenarios are read
	has         []string // names in the folder
}

// shown is how a file of the job is called in messages.
func (l *loader) shown(rel string) string { return path.Join(l.dir, rel) }

func (l *loader) wrong(rel, text, hint string) {
	l.bad = append(l.bad, yamlfile.Mistake{File: l.shown(rel), Text: text, Hint: hint})
}

// look refuses a folder that is none, or that holds no job at all.
func (l *loader) look() error {
	entries, err := fs.ReadDir(l.fsys, ".")
	whole := func(text, hint string) error {
		name := l.dir
		if name == "" {
			name = "."
		}
		return yamlfile.Mistakes{{File: name, Text: text, Hint: hint}}
	}
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return whole("there is no such folder", "")
	case err != nil:
		return whole("cannot be read as a folder: "+err.Error(), yamlfile.Expected("a folder with bench.yaml, gate.yaml and controller.yaml"))
	}
	for _, e := range entries {
		l.has = append(l.has, e.Name())
	}
	for _, need := range []string{"bench.yaml", "gate.yaml", "controller.yaml"} {
		if slices.Contains(l.has, need) {
			return nil
		}
	}
	if len(l.has) == 0 {
		return whole("the folder is empty", yamlfile.Expected("bench.yaml, gate.yaml and controller.yaml; pintle init writes them"))
	}
	for _, e := range entries {
		if _, err := fs.Stat(l.fsys, path.Join(e.Name(), "controller.yaml")); err == nil && e.IsDir() {
			return whole("the folder holds no job", fmt.Sprintf("did you mean %q?", path.Join(l.dir, e.Name())))
		}
	}
	return whole("the folder holds no job", yamlfile.Expected("bench.yaml, gate.yaml and controller.yaml; pintle init writes them"))
}

// read reads a file of the job and keeps its text.
func (l *loader) read(rel string) (*yamlfile.File, bool) {
	f, err := yamlfile.Read(l.fsys, rel, l.shown(rel))
	if err != nil {
		var all yamlfile.Mistakes
		errors.As(err, &all)
		for i := range all {
			switch {
			case errors.Is(fileError(l.fsys, rel), fs.ErrPermission):
				all[i].Hint = yamlfile.Expected("a file that you may read: ls -l shows who may, chmod changes it")
			case all[i].Hint == "":
				all[i].Hint = cmp.Or(l.misnamed(rel), yamlfile.Expected("bench.yaml, gate.yaml and controller.yaml in one folder; pintle init writes them to start from"))
			}
		}
		l.bad = append(l.bad, all...)
		return nil, false
	}
	l.job.Files = append(l.job.Files, File{rel, f.Text})
	return f, true
}

// fileError is why a file cannot be opened.
func fileError(fsys fs.FS, rel string) error {
	f, err := fsys.Open(rel)
	if err == nil {
		f.Close()
	}
	return err
}

// misnamed offers the file that a missing one was perhaps meant to be.
func (l *loader) misnamed(rel string) string {
	var others []string
	for _, n := range l.has {
		if n != "bench.yaml" && n != "gate.yaml" && n != "controller.yaml" && n != "scenarios" {
			others = append(others, n)
		}
	}
	if near, ok := yamlfile.Nearest(rel, others); ok {
		return fmt.Sprintf("is it %s? It must be called %s", l.shown(near), rel)
	}
	return ""
}

// decode says whether there is a file without mistakes.
func (l *loader) decode(rel string, into any) bool {
	f, ok := l.read(rel)
	if !ok {
		return false
	}
	bad := yamlfile.Decode(f, into, namesOf(&l.with))
	l.bad = append(l.bad, bad...)
	return bad == nil
}

// source is a scenario's file before it is decoded.
type source struct {
	name, rel string
	file      *yamlfile.File
	builtIn   bool
}

// scenarios reads the job's own scenarios and the built-in ones that apply. One
// of the job's own takes the place of the built-in one of the same name.
func (l *loader) scenarios() {
	sources := l.own()
	choice := &l.job.Controller.Scenarios
	known := names(sources)
	for _, b := range l.builtIn {
		if choice.BuiltIn.Text == "none" || slices.Contains(names(sources), b.Name) {
			continue
		}
		rel := BuiltInFile(b.Name)
		sources = append(sources, source{b.Name, rel, yamlfile.New(rel, b.Text), true})
		known = append(known, b.Name)
	}
	for _, w := range choice.Without {
		if !slices.Contains(known, w.Text) && !l.recorded {
			l.bad = append(l.bad, w.Wrong(fmt.Sprintf("there is no scenario %q", yamlfile.Short(w.Text)), yamlfile.DidYouMean(w.Text, known)))
		}
		sources = slices.DeleteFunc(sources, func(s source) bool { return s.name == w.Text })
	}
	slices.SortFunc(sources, func(a, b source) int { return strings.Compare(a.name, b.name) })
	for _, s := range sources {
		l.compile(s)
	}
}

func names(sources []source) []string {
	var all []string
	for _, s := range sources {
		all = append(all, s.name)
	}
	return all
}

// own reads the files of the folder scenarios.
func (l *loader) own() []source {
	entries, err := fs.ReadDir(l.fsys, "scenarios")
	if err != nil {
		if !errors.Is(err, fs.ErrNotExist) {
			l.wrong("scenarios", "cannot be read as a folder", yamlfile.Expected("a folder with a file for each scenario"))
		}
		return nil
	}
	if len(entries) > mostScenarios {
		l.wrong("scenarios", fmt.Sprintf("holds %d files", len(entries)), yamlfile.Expected(fmt.Sprintf("at most %d", mostScenarios)))
		return nil
	}
	var all []source
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), ".") || strings.HasSuffix(e.Name(), "~") {
			continue // what editors leave behind
		}
		rel := path.Join("scenarios", e.Name())
		name, ok := strings.CutSuffix(e.Name(), ".yaml")
		if !ok || !scenarioName(name) {
			l.wrong(rel, "is not called as a scenario is", yamlfile.Expected("small letters, digits and hyphens, ending in .yaml, such as stuck-limit.yaml"))
			continue
		}
		if f, ok := l.read(rel); ok {
			all = append(all, source{name, rel, f, false})
		}
	}
	return all
}

func scenarioName(name string) bool {
	for i, c := range name {
		if (c < 'a' || c > 'z') && (c < '0' || c > '9') && (c != '-' || i == 0) {
			return false
		}
	}
	return name != "" && len(name) <= 100
}

// compile decodes one scenario and puts the job's claims in.
func (l *loader) compile(s source) {
	var f ScenarioFile
	bad := yamlfile.Decode(s.file, &f, nil)
	c := &compiler{job: l.job, file: &f, rel: s.rel, names: scenarioClaims(l.job)}
	made, more := c.compile(s.name, s.file.Text)
	made.BuiltIn = s.builtIn
	// A scenario rests on the claims: with a mistake among those, what the engine
	// would say of it leads nowhere.
	if bad = append(bad, more...); bad == nil && !l.claimsWrong {
		bad = c.try(&made)
	}
	l.bad = append(l.bad, bad...)
	l.job.Scenarios = append(l.job.Scenarios, made)
	if s.builtIn {
		l.job.Files = append(l.job.Files, File{s.rel, s.file.Text})
	}
}

// scenarioClaims lists the claims that a scenario may refer to.
func scenarioClaims(j *Job) []string {
	all := claimNames(j.Controller.Values)
	for _, k := range KnownClaims {
		if !slices.Contains(all, k.Name) {
			all = append(all, k.Name)
		}
	}
	return all
}
