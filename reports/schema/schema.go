package schema

import (
	"bytes"
	"encoding"
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
	"time"
)

// object is a JSON object whose fields stay in the order in which they were put.
type object []field

type field struct {
	name  string
	value any
}

func (o object) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, f := range o {
		if i > 0 {
			b.WriteByte(',')
		}
		name, err := json.Marshal(f.name)
		if err != nil {
			return nil, err
		}
		value, err := json.Marshal(f.value)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", f.name, err)
		}
		b.Write(name)
		b.WriteByte(':')
		b.Write(value)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// Of gives the schema of a type.
func Of(t reflect.Type, title string) ([]byte, error) {
	g := &generator{known: map[string]reflect.Type{}}
	root, err := g.of(t)
	if err != nil {
		return nil, fmt.Errorf("schema of %v: %w", t, err)
	}
	all := append(object{{"$schema", "https://json-schema.org/draft/2020-12/schema"}, {"title", title}}, root...)
	all = append(all, field{"$defs", g.defs})
	plain, err := json.Marshal(all)
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	if err := json.Indent(&out, plain, "", "  "); err != nil {
		return nil, err
	}
	out.WriteByte('\n')
	return out.Bytes(), nil
}

// A generator gathers the definitions of the structs on its way.
type generator struct {
	defs  object
	known map[string]reflect.Type
}

var (
	timeType     = reflect.TypeFor[time.Time]()
	durationType = reflect.TypeFor[time.Duration]()
	textType     = reflect.TypeFor[encoding.TextMarshaler]()
)

func (g *generator) of(t reflect.Type) (object, error) {
	switch {
	case t == timeType:
		return object{{"type", "string"}, {"format", "date-time"}}, nil
	case t == durationType:
		return object{{"type", "integer"}, {"description", "nanoseconds"}}, nil
	case t.Kind() != reflect.Pointer && t.Implements(textType):
		return object{{"type", "string"}}, nil
	}
	switch t.Kind() {
	case reflect.String:
		return object{{"type", "string"}}, nil
	case reflect.Bool:
		return object{{"type", "boolean"}}, nil
	case reflect.Int, reflect.Int32, reflect.Int64:
		return object{{"type", "integer"}}, nil
	case reflect.Uint8, reflect.Uint, reflect.Uint32, reflect.Uint64:
		return object{{"type", "integer"}, {"minimum", 0}}, nil
	case reflect.Pointer:
		return g.of(t.Elem())
	case reflect.Slice:
		items, err := g.of(t.Elem())
		return object{{"type", []string{"array", "null"}}, {"items", items}}, err
	case reflect.Array:
		items, err := g.of(t.Elem())
		return object{{"type", "array"}, {"items", items}, {"minItems", t.Len()}, {"maxItems", t.Len()}}, err
	case reflect.Struct:
		return g.define(t)
	}
	return nil, fmt.Errorf("there is no way to describe %v", t)
}

// define puts a struct among the definitions, once, and refers to it.
func (g *generator) define(t reflect.Type) (object, error) {
	ref := object{{"$ref", "#/$defs/" + t.Name()}}
	switch before, ok := g.known[t.Name()]; {
	case ok && before != t:
		return nil, fmt.Errorf("%v and %v have one name", before, t)
	case ok:
		return ref, nil
	}
	g.known[t.Name()] = t
	def, err := g.fields(t)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", t.Name(), err)
	}
	g.defs = append(g.defs, field{t.Name(), def})
	return ref, nil
}

func (g *generator) fields(t reflect.Type) (object, error) {
	properties, required := object{}, []string{}
	for i := range t.NumField() {
		f := t.Field(i)
		name, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		switch {
		case f.Anonymous: // even where it is not exported, its fields are written
			return nil, fmt.Errorf("%s is embedded, which this cannot describe", f.Name)
		case name == "-" || !f.IsExported():
			continue
		case name == "":
			name = f.Name
		}
		value, err := g.field(f, options)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		properties = append(properties, field{name, value})
		if !strings.Contains(options, "omitempty") && !strings.Contains(options, "omitzero") {
			required = append(required, name)
		}
	}
	return object{{"type", "object"}, {"properties", properties}, {"required", required}, {"additionalProperties", false}}, nil
}

func (g *generator) field(f reflect.StructField, options string) (object, error) {
	if strings.Contains(options, "string") {
		return object{{"type", "string"}, {"pattern", "^-?[0-9]+$"}}, nil
	}
	value, err := g.of(f.Type)
	if words := f.Tag.Get("enum"); words != "" {
		value = append(value, field{"enum", strings.Split(words, ",")})
	}
	if word := f.Tag.Get("const"); word != "" {
		value = append(value, field{"const", word})
	}
	if doc := f.Tag.Get("doc"); doc != "" {
		value = append(value, field{"description", doc})
	}
	return value, err
}
