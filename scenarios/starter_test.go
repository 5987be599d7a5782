package scenarios

import (
	"reflect"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/scenarios/yamlfile"
)

// folder makes a file system of files.
func folder(files map[string][]byte) fstest.MapFS {
	m := fstest.MapFS{}
	for name, text := range files {
		m[name] = &fstest.MapFile{Data: text}
	}
	return m
}

func TestStarterLoads(t *testing.T) {
	job, err := Load(folder(Starter(equipment)), "my-job", equipment)
	require.NoError(t, err)
	_, ok := job.Scenario("my-first-scenario")
	assert.True(t, ok, "the starter's own scenario is there")
	for _, s := range job.Scenarios {
		if s.NotApplicable != "" { // lines that a first bench does not have are switched off there
			assert.Contains(t, s.NotApplicable, "the bench has no line", s.Name)
		}
	}
}

// switchedOff matches a setting that is commented out, as the starter explains.
var switchedOff = regexp.MustCompile(`(?m)^( *)#(\S.*)$`)

func TestStarterLoadsWithAllSwitchedOn(t *testing.T) {
	files := Starter(equipment)
	for name, text := range files {
		if strings.HasSuffix(name, ".yaml") {
			files[name] = switchedOff.ReplaceAll(text, []byte("$1$2"))
		}
	}
	files["gate.yaml"] = asMachine(files["gate.yaml"])
	files["bench.yaml"] = []byte(strings.Replace(string(files["bench.yaml"]), "kind: virtual", "kind: serial ", 1))
	job, err := Load(folder(files), "my-job", equipment)
	require.NoError(t, err)
	assert.NotNil(t, job.Bench.Meter.Serial)
	s, _ := job.Scenario("my-first-scenario")
	require.Len(t, s.Rules, 17, "each of the 16 patterns, one of them twice")
	assert.Len(t, s.Faults, 14)
}

// asMachine takes out of the gate's file what cannot stand beside the machine: the
// measured figures, and what is said of a sliding gate.
func asMachine(text []byte) []byte {
	measured := regexp.MustCompile(`(?s)# How it moves, in each direction\..*# Or, in place of opening`)
	sliding := regexp.MustCompile(`(?m)^.*of a sliding gate.*\n`)
	return sliding.ReplaceAll(measured.ReplaceAll(text, []byte("# In place of opening")), nil)
}

// TestStarterExplainsEveryKey holds the starter to the structs: a key that is
// added there must be added here.
func TestStarterExplainsEveryKey(t *testing.T) {
	files := Starter(equipment)
	for name, of := range map[string]any{"bench.yaml": BenchFile{}, "gate.yaml": GateFile{}, "controller.yaml": ControllerFile{},
		"scenarios/my-first-scenario.yaml": ScenarioFile{}} {
		for _, key := range everyKey(reflect.TypeOf(of)) {
			at := regexp.MustCompile(`(?m)^ *#?(- )?` + regexp.QuoteMeta(key) + `:`)
			assert.Regexp(t, at, string(files[name]), name)
		}
	}
}

// everyKey lists the keys of a struct and of all inside it.
func everyKey(t reflect.Type) []string {
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
		if of, free := yamlfile.IsMap(t); free {
			t = of
		} else {
			t = t.Elem()
		}
	}
	if _, ok := yamlfile.AsScalar(t); ok || t.Kind() != reflect.Struct {
		return nil
	}
	var keys []string
	for _, f := range yamlfile.Fields(t) {
		keys = append(append(keys, f.Key), everyKey(f.Type)...)
	}
	return keys
}

func TestStarterBeginsWithTheModeline(t *testing.T) {
	for name, text := range Starter(equipment) {
		if strings.HasSuffix(name, ".yaml") {
			assert.Regexp(t, `^# yaml-language-server: \$schema=\.\.?/\.schema/[a-z]+\.schema\.json\n`, string(text), name)
		}
	}
}
