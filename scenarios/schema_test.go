package scenarios

import (
	"bytes"
	"encoding/json"
	"flag"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v4"

	"pintle/scenarios/builtin"
)

var update = flag.Bool("update", false, "write the files under testdata anew")

// golden compares a text with a file under testdata.
func golden(t *testing.T, path string, got []byte) {
	t.Helper()
	if *update {
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, got, 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err, "-update writes it")
	assert.Equal(t, string(want), string(got), path)
}

func TestSchemasAreAsTheyWere(t *testing.T) {
	for _, kind := range SchemaKinds {
		text, err := Schema(kind, equipment)
		require.NoError(t, err)
		golden(t, "testdata/schema/"+kind+".schema.json", text)
	}
	_, err := Schema("scenarios", equipment)
	assert.EqualError(t, err, `there is no schema of "scenarios": it is one of bench, gate, controller, scenario`)
}

// compiled gives the schemas as an independent library understands them. It
// checks them against the metaschema of draft 2020-12 too.
func compiled(t *testing.T) map[string]*jsonschema.Schema {
	t.Helper()
	c := jsonschema.NewCompiler()
	all := map[string]*jsonschema.Schema{}
	for _, kind := range SchemaKinds {
		text, err := Schema(kind, equipment)
		require.NoError(t, err)
		doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
		require.NoError(t, err)
		require.NoError(t, c.AddResource(kind+".json", doc))
		all[kind], err = c.Compile(kind + ".json")
		require.NoError(t, err)
	}
	return all
}

// asEditor reads a file as an editor does: scalars by the core schema of YAML 1.2
// (chapter 10.3 of its specification), in which yes and on are texts.
func asEditor(t *testing.T, text []byte) any {
	t.Helper()
	var n yaml.Node
	require.NoError(t, yaml.Unmarshal(text, &n))
	return generic(t, n.Content[0])
}

func generic(t *testing.T, n *yaml.Node) any {
	t.Helper()
	switch n.Kind {
	case yaml.MappingNode:
		m := map[string]any{}
		for i := 0; i < len(n.Content); i += 2 {
			m[n.Content[i].Value] = generic(t, n.Content[i+1])
		}
		return m
	case yaml.SequenceNode:
		list := []any{}
		for _, c := range n.Content {
			list = append(list, generic(t, c))
		}
		return list
	}
	require.Equal(t, yaml.ScalarNode, n.Kind)
	if n.Style != 0 {
		return n.Value
	}
	switch n.Value {
	case "", "~", "null", "Null", "NULL":
		return nil
	case "true", "True", "TRUE":
		return true
	case "false", "False", "FALSE":
		return false
	}
	if f, err := strconv.ParseFloat(n.Value, 64); err == nil && !math.IsNaN(f) && !math.IsInf(f, 0) && strings.Trim(n.Value, "0123456789.+-eE") == "" {
		return f
	}
	return n.Value
}

// kindOfFile is the kind of a file by its name.
func kindOfFile(name string) string {
	if kind := strings.TrimSuffix(name, ".yaml"); kind == "bench" || kind == "gate" || kind == "controller" {
		return kind
	}
	return "scenario"
}

func TestOwnFilesFollowTheSchemas(t *testing.T) {
	schemas := compiled(t)
	files := map[string][]byte{}
	for _, b := range builtin.All() {
		files["built-in/"+b.Name] = b.Text
	}
	job, err := Demo(equipment)
	require.NoError(t, err)
	for _, f := range job.Files {
		files[f.Name] = f.Text
	}
	require.Contains(t, files, "bench.yaml")
	for name, text := range files {
		assert.NoError(t, schemas[kindOfFile(name)].Validate(asEditor(t, text)), name)
	}
	for name, text := range Starter(equipment) {
		if strings.HasSuffix(name, ".yaml") {
			assert.NoError(t, schemas[kindOfFile(name)].Validate(asEditor(t, text)), name)
			on := switchedOff.ReplaceAll(text, []byte("$1$2"))
			if name == "gate.yaml" {
				on = asMachine(on)
			}
			assert.NoError(t, schemas[kindOfFile(name)].Validate(asEditor(t, on)), "%s with all switched on", name)
		}
	}
}

func TestSchemaAndDecoderRefuseTheSame(t *testing.T) {
	schemas := compiled(t)
	files := Starter(equipment)
	const scenario = "scenarios/my-first-scenario.yaml"
	for _, c := range []struct{ what, file, old, new string }{
		{"unknown key", "bench.yaml", "longest drive:", "longest drove:"},
		{"unknown key at the top", "gate.yaml", "opening:", "openings:"},
		{"missing key", "bench.yaml", "  resolution: 10mA ", "  #resolution: 10mA "},
		{"missing key at the top", "controller.yaml", "\nboard:", "\n#board:"},
		{"text for a list", "controller.yaml", "has: [remote, open-limit, closed-limit, beam]", "has: remote"},
		{"list for a text", "bench.yaml", "title: My gate controller, first check", "title: [My gate]"},
		{"text for keys", "gate.yaml", "open stop:\n  rebound: 0\n  return: 1", "open stop: soft"},
		{"wrong unit", "bench.yaml", "interval: 1ms", "interval: 1mA"},
		{"no unit", "bench.yaml", "interval: 1ms", "interval: 1"},
		{"unknown unit", "gate.yaml", "current: 11A", "current: 11amps"},
		{"negative time", "gate.yaml", "coast: 140ms", "coast: -140ms"},
		{"wrong unit of a formula", scenario, "  - wait: 2s", "  - wait: 2A"},
		{"part above the whole", "gate.yaml", "rebound: 0\n", "rebound: 1.5\n"},
		{"unknown word", scenario, "group: convenience", "group: comfort"},
		{"unknown line", scenario, "press: remote", "press: remotes"},
		{"unknown line on the bench", "bench.yaml", "  beam: {}", "  bean: {}"},
		{"no sensor", "gate.yaml", "closed-limit:", "beam:"},
		{"line that is no button", scenario, "press: remote", "press: beam"},
		{"two steps in one", scenario, "  - wait: 2s", "  - wait: 2s\n    press: remote"},
		{"step without anything to do", scenario, "  - wait: 2s", "  - for: 2s"},
		{"two patterns", scenario, "  - absence: motor closing", "  - absence: motor closing\n    existence: motor closing"},
		{"pattern without its partner", scenario, "    within: claim start delay\n", "\n"},
		{"partner without its pattern", scenario, "  - absence: motor closing", "  - absence: motor closing\n    within: 2s"},
		{"until without after", scenario, "  - absence: motor closing", "  - absence: motor closing\n    until: motor stops"},
		{"between without and", scenario, "  - absence: motor closing", "  - absence: motor closing\n    between: motor stops"},
		{"two scopes", scenario, "  - absence: motor closing", "  - absence: motor closing\n    before: motor stops\n    after: motor starts"},
		{"event for a state", scenario, "  - absence: motor closing", "  - universality: motor starts"},
		{"unknown condition", scenario, "  - absence: motor closing", "  - absence: motor closes"},
		{"no digest", "controller.yaml", "\nmaker: ", "\nfirmware digest: 12\nmaker: "},
		{"name that no claim can have", "controller.yaml", "  start delay:", "  Start delay:"},
		{"nothing", "bench.yaml", "place: Where my gate stands", "place:"},
		{"number out of range", "bench.yaml", "  kind: virtual ", "  serial: {port: x, protocol: modbus, address: 248}\n  kind: serial "},
	} {
		t.Run(c.what, func(t *testing.T) {
			text := string(files[c.file])
			require.Contains(t, text, c.old)
			wrong := []byte(strings.Replace(text, c.old, c.new, 1))
			assert.Error(t, schemas[kindOfFile(c.file)].Validate(asEditor(t, wrong)), "the schema")
			job := folder(files)
			job[c.file].Data = wrong
			_, err := Load(job, "", equipment)
			assert.Error(t, err, "the decoder")
		})
	}
}

func TestSchemaRefusesAnEmptyScript(t *testing.T) {
	doc := asEditor(t, Starter(equipment)["scenarios/my-first-scenario.yaml"]).(map[string]any)
	schema := compiled(t)["scenario"]
	require.NoError(t, schema.Validate(doc))
	doc["script"] = []any{}
	assert.Error(t, schema.Validate(doc))
}

// TestSchemasOfferWhatIsThere looks at what an editor would offer.
func TestSchemasOfferWhatIsThere(t *testing.T) {
	text, err := Schema("controller", equipment)
	require.NoError(t, err)
	var doc struct {
		Properties struct {
			Claims struct {
				Properties map[string]struct{ Description string }
			}
		}
	}
	require.NoError(t, json.Unmarshal(text, &doc))
	for _, k := range KnownClaims {
		assert.Equal(t, k.Means, doc.Properties.Claims.Properties[k.Name].Description)
	}
}
