package scenarios

import (
	"fmt"
	"reflect"

	"pintle/rig/gate"
	"pintle/rig/header"
	"pintle/rig/signal"
	"pintle/rig/uncertainty"
	"pintle/scenarios/schema"
	"pintle/scenarios/yamlfile"
)

// SchemaKinds are the kinds of files that have a schema.
var SchemaKinds = []string{"bench", "gate", "controller", "scenario"}

// kindOf is what each kind of file is.
var kindOf = map[string]struct {
	of    reflect.Type
	title string
}{
	"bench":      {reflect.TypeFor[BenchFile](), "What a gate controller is put to the test on (bench.yaml of pintle)"},
	"gate":       {reflect.TypeFor[GateFile](), "The mechanism that a gate controller will move (gate.yaml of pintle)"},
	"controller": {reflect.TypeFor[ControllerFile](), "A gate controller and what its builder claims (controller.yaml of pintle)"},
	"scenario":   {reflect.TypeFor[ScenarioFile](), "What happens to a gate controller, and what it must do (scenarios/*.yaml of pintle)"},
}

// Schema gives the JSON Schema of a kind of file, as draft 2020-12, with the equipment
// that there is to name.
func Schema(kind string, with Equipment) ([]byte, error) {
	k, ok := kindOf[kind]
	if !ok {
		return nil, fmt.Errorf("there is no schema of %q: it is %s", kind, yamlfile.OneOf(SchemaKinds))
	}
	return schema.Of(k.of, k.title, namesOf(&with))
}

// namesOf is what files may name, by the word that their structs have for it.
func namesOf(with *Equipment) map[string]yamlfile.Names {
	return map[string]yamlfile.Names{
		"line":          {Known: linesToName(func(signal.Line) bool { return true })},
		"sensor":        {Known: linesToName(isSensor)},
		"sensor kind":   {Known: kindsToName()},
		"part":          {Known: partsToName()},
		"claim":         {Known: claimsToName(), Pattern: claimName},
		"bench":         {Known: with.benchesToName()},
		"protocol":      {Known: with.protocolsToName()},
		"format":        {Known: with.formatsToName()},
		"bus":           {Known: busesToName()},
		"decision rule": {Known: rulesToName()},
	}
}

// claimName matches what checkClaimName lets pass.
const claimName = `^[a-z][a-z0-9-]*( [a-z0-9][a-z0-9-]*)*$`

func linesToName(fits func(signal.Line) bool) []yamlfile.Name {
	var all []yamlfile.Name
	for _, info := range signal.Lines {
		if fits(info.Line) {
			all = append(all, yamlfile.Name{Name: info.Name, Doc: fmt.Sprintf("made means %s, broken means %s", info.Made, info.Broken)})
		}
	}
	return all
}

// kindsToName are the kinds of sensor that the gate itself moves.
func kindsToName() []yamlfile.Name {
	var all []yamlfile.Name
	for _, k := range gate.Kinds {
		if k.OfGate {
			all = append(all, yamlfile.Name{Name: k.Name, Doc: k.Meaning})
		}
	}
	return all
}

func busesToName() []yamlfile.Name {
	var all []yamlfile.Name
	for _, b := range header.Buses {
		all = append(all, yamlfile.Name{Name: string(b.Bus), Doc: b.Means})
	}
	return all
}

func rulesToName() []yamlfile.Name {
	var all []yamlfile.Name
	for _, k := range uncertainty.RuleKinds() {
		all = append(all, yamlfile.Name{Name: k.Word(), Doc: k.Means()})
	}
	return all
}

func partsToName() []yamlfile.Name {
	var all []yamlfile.Name
	for _, p := range ratedParts {
		all = append(all, yamlfile.Name{Name: p.name, Doc: p.means})
	}
	return all
}

func claimsToName() []yamlfile.Name {
	var all []yamlfile.Name
	for _, k := range KnownClaims {
		all = append(all, yamlfile.Name{Name: k.Name, Doc: k.Means})
	}
	return all
}

// schemaPath is where a job folder keeps the schema of a kind.
func schemaPath(kind string) string { return ".schema/" + kind + ".schema.json" }
