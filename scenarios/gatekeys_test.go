package scenarios

import (
	"encoding/json"
	"fmt"
	"reflect"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/scenarios/quantity"
	"pintle/scenarios/yamlfile"
)

// The three ways to write gate.yaml, with every key that each can have, one to a line.
var wholeGates = map[string]string{
	"by the stopwatch": `title: A gate
opening:
  time: 9s
  slowest: 11s
  run up: 500ms
  coast: 140ms
  current: 11A
closing:
  time: 7s
  slowest: 8500ms
  run up: 400ms
  coast: 160ms
  current: 7.5A
stall current: 30A
closed stop:
  rebound: 30 %
  return: 0.4
open stop:
  rebound: 10 %
  return: 1
parts:
  bridge:
    continuous: 30A
    short: 80A
    stands: 1s
    switching: 2ms
duty: 20 %
beam delay: 30ms
varies:
  battery: 4 %
  load: 8 %
  colder: 20degC
sensors:
  closed-limit:
    kind: lever
    from: 0 %
    to: 3 %
    hysteresis: 0.5 %
    bounce: 6ms
    delay: 1ms
  open-limit:
    from: 97 %
    to: 100 %
`,
	"that swings": `title: A gate
machine:
  swing: 85deg
  inertia: 170kgm2
` + restOfMachine + `sensors:
  closed-limit:
    kind: hall
    delay: 1ms
    wheel:
      radius: 90mm
      turns: 0.236
      arc: 12mm
      release: 0.5deg
      magnets: [6deg]
  open-limit:
    from: 97 %
    to: 100 %
`,
	"that slides": `title: A gate
machine:
  length: 3.2m
  wheel: 60mm
  mass: 240kg
` + strings.Replace(restOfMachine, "gear: 1150", "gear: 30", 1) + `sensors:
  closed-limit:
    kind: reed
    from: 0 %
    to: 3 %
  open-limit:
    from: 97 %
    to: 100 %
`,
}

const restOfMachine = `  gear: 1150
  pull:
    - at: 20 %
      torque: 2Nm
    - at: 100 %
      torque: -1Nm
  friction:
    static: 9Nm
    sliding: 8Nm
    viscous: 1Nms/rad
  motor:
    resistance: 0.8ohm
    inductance: 1.2mH
    constant: 0.08Vs/rad
    inertia: 0.0005kgm2
    viscous: 0.0001Nms/rad
  battery:
    voltage: 25.6V
    resistance: 40mohm
    cable: 20mohm
    voltage per degree: 10mV
    resistance per degree: -0.4mohm
    temperature: 15degC
    coldest: -10degC
    lowest: 88 %
`

// A gateLine is a line of a gate file: the key with those that it stands under, and its
// value.
type gateLine struct {
	path, value string
	line, col   int
}

// linesOf gives the lines of a gate file that have a value. What a file names itself is
// a star in the path.
func linesOf(text string) (all []gateLine) {
	var stack []string
	for i, raw := range strings.Split(text, "\n") {
		body := strings.Replace(raw, "- ", "  ", 1)
		key, value, ok := strings.Cut(strings.TrimLeft(body, " "), ":")
		if !ok {
			continue
		}
		depth := (len(body) - len(strings.TrimLeft(body, " "))) / 2
		for len(stack) > depth {
			stack = stack[:len(stack)-1]
		}
		for len(stack) < depth {
			stack = append(stack, "-")
		}
		if depth == 1 && (stack[0] == "sensors" || stack[0] == "parts") {
			key = "*"
		}
		stack = append(stack[:depth], key)
		if value = strings.TrimSpace(value); value != "" {
			all = append(all, gateLine{strings.ReplaceAll(strings.Join(stack, "/"), "/-/", "/"), value, i + 1, len(raw) - len(value) + 1})
		}
	}
	return all
}

// figuresOf are the keys of a struct that have figures, by their path.
func figuresOf(t reflect.Type, path string, into map[string]yamlfile.Field) {
	if of, free := yamlfile.IsMap(t); free {
		figuresOf(of, path+"*/", into)
		return
	}
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
		t = t.Elem()
	}
	for _, f := range yamlfile.Fields(t) {
		of := f.Type
		if free, ok := yamlfile.IsMap(of); ok {
			figuresOf(free, path+f.Key+"/*/", into)
			continue
		}
		for of.Kind() == reflect.Pointer || of.Kind() == reflect.Slice {
			of = of.Elem()
		}
		if _, scalar := yamlfile.AsScalar(of); scalar {
			into[path+f.Key] = f
		} else {
			figuresOf(of, path+f.Key+"/", into)
		}
	}
}

// The unit of a bare SI figure of each dimension, and what it is called with its article.
var plainUnits = map[string][2]string{
	"number": {"", "a bare number"}, "time": {"s", "a time"}, "current": {"A", "a current"}, "voltage": {"V", "a voltage"},
	"resistance": {"ohm", "a resistance"}, "inductance": {"H", "an inductance"}, "constant": {"Vs/rad", "a motor constant"},
	"inertia": {"kgm2", "an inertia"}, "torque": {"Nm", "a torque"}, "friction": {"Nms/rad", "a viscous friction"},
	"length": {"m", "a length"}, "angle": {"deg", "an angle"}, "mass": {"kg", "a mass"}, "temperature": {"degC", "a temperature"},
}

func dimensionOf(f yamlfile.Field) string {
	of := f.Type
	for of.Kind() == reflect.Slice {
		of = of.Elem()
	}
	switch of {
	case reflect.TypeFor[quantity.Duration]():
		return "time"
	case reflect.TypeFor[quantity.Amperage]():
		return "current"
	}
	return f.Unit
}

// spoilings are figures that a key must not take, with what must be said of each.
func spoilings(f yamlfile.Field) map[string]string {
	d := dimensionOf(f)
	unit, other := plainUnits[d][0], "7kg"
	if d == "mass" {
		other = "7V"
	}
	all := map[string]string{other: "not " + plainUnits[d][1], "7parsecs": "parsecs"}
	if d != "number" {
		all["7"] = "has no unit"
	}
	if least, most, ranged := strings.Cut(f.Limit, " to "); ranged {
		low, _ := strconv.ParseFloat(least, 64)
		high, _ := strconv.ParseFloat(most, 64)
		plain := func(x float64) string {
			x, _ = strconv.ParseFloat(strconv.FormatFloat(x, 'g', 9, 64), 64)
			return strconv.FormatFloat(x, 'f', -1, 64) + unit
		}
		all[plain(low-high*1e-7)], all[plain(high*1.0001)] = "is out of range", "is out of range"
		return all
	}
	if f.Limit == "positive" {
		all["0"+unit] = "is zero"
	}
	if f.Limit != "any" {
		all["-1"+unit] = "is negative"
	}
	if d == "time" {
		all["25h"] = "is longer than a day"
	}
	return all
}

// Every figure that gate.yaml can have is refused without its unit, with the unit of
// something else, below its range and above it: in the line and column where it stands, and
// with what was expected, unit included.
func TestEveryFigureOfTheGateIsHeldToUnitAndRange(t *testing.T) {
	figures := map[string]yamlfile.Field{}
	figuresOf(reflect.TypeFor[GateFile](), "", figures)
	seen := map[string]bool{}
	for name, text := range wholeGates {
		require.Empty(t, mistakesOf(t, text), name)
		for _, l := range linesOf(text) {
			f, known := figures[l.path]
			require.True(t, known, "%s: %s", name, l.path)
			seen[l.path] = true
			if dimensionOf(f) == "" {
				continue // a text
			}
			for value, says := range spoilings(f) {
				refuses(t, text, l, f, value, says)
			}
		}
	}
	for path := range figures {
		assert.True(t, seen[path], "%s stands in none of the files of this test", path)
	}
}

// refuses puts a value in the place of a line's own.
func refuses(t *testing.T, text string, l gateLine, f yamlfile.Field, value, says string) {
	t.Helper()
	lines, col := strings.Split(text, "\n"), l.col
	raw := lines[l.line-1][:l.col-1] + value
	if strings.HasPrefix(l.value, "[") {
		raw, col = lines[l.line-1][:l.col-1]+"["+value+"]", col+1
	}
	lines[l.line-1] = raw
	all := mistakesOf(t, strings.Join(lines, "\n"))
	what := fmt.Sprintf("%s: %s", l.path, value)
	if !assert.Len(t, all, 1, "%s: told once, and nothing of what follows from it", what) {
		return
	}
	m := all[0]
	assert.Equal(t, "my-gate/gate.yaml", m.File, what)
	assert.Equal(t, l.line, m.Line, what)
	assert.GreaterOrEqual(t, m.Col, col, what)
	assert.LessOrEqual(t, m.Col, col+len(value), what)
	assert.Equal(t, raw, m.Source, what)
	assert.Contains(t, m.Text, says, what)
	assert.NotEmpty(t, m.Hint, what)
	if says == "is out of range" {
		assert.Contains(t, m.Hint, plainUnits[dimensionOf(f)][0], what)
	}
}

// mistakesOf reads gate.yaml as a job does.
func mistakesOf(t *testing.T, gate string) yamlfile.Mistakes {
	t.Helper()
	job := fstest.MapFS{"gate.yaml": {Data: []byte(gate)}}
	l := &loader{fsys: job, dir: "my-gate", with: equipment, job: &Job{Dir: "my-gate"}}
	require.NoError(t, l.look())
	l.gate()
	if l.bad.Err() == nil {
		return nil
	}
	return l.bad
}

// Every key of gate.yaml has a text that an editor shows, in which its range stands with
// its unit.
func TestEveryKeyOfTheGateIsTold(t *testing.T) {
	text, err := Schema("gate", equipment)
	require.NoError(t, err)
	var doc map[string]any
	require.NoError(t, json.Unmarshal(text, &doc))
	figures := map[string]yamlfile.Field{}
	figuresOf(reflect.TypeFor[GateFile](), "", figures)
	for path, f := range figures {
		told, _ := schemaOf(t, doc, path)["description"].(string)
		assert.NotEmpty(t, told, path)
		if strings.Contains(f.Limit, " to ") {
			assert.Regexp(t, `; from -?[0-9.]+[A-Za-z0-9/]* to [0-9.]+`+plainUnits[dimensionOf(f)][0]+`$`, told, path)
		}
		if d := dimensionOf(f); d != "" {
			of := schemaOf(t, doc, path)
			if items, list := of["items"].(map[string]any); list {
				of = items
			}
			assert.Equal(t, plainUnits[d][1], of["title"], path)
			assert.NotEmpty(t, of["examples"], path)
		}
	}
}

// schemaOf is what the schema has of a path.
func schemaOf(t *testing.T, doc map[string]any, path string) map[string]any {
	t.Helper()
	at := doc
	for _, key := range strings.Split(path, "/") {
		for {
			if items, ok := at["items"].(map[string]any); ok {
				at = items
			} else if ref, ok := at["$ref"].(string); ok {
				at = doc["$defs"].(map[string]any)[strings.TrimPrefix(ref, "#/$defs/")].(map[string]any)
			} else {
				break
			}
		}
		properties, _ := at["properties"].(map[string]any)
		if key == "*" {
			for _, one := range properties {
				at = one.(map[string]any)
			}
			continue
		}
		next, ok := properties[key].(map[string]any)
		require.True(t, ok, "%s: %s", path, key)
		at = next
	}
	return at
}
