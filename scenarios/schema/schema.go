package schema

import (
	"encoding/json"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"

	"pintle/scenarios/yamlfile"
)

// Of writes the schema of a struct. The names are those that its fields' tags
// called names speak of.
func Of(t reflect.Type, title string, names map[string]yamlfile.Names) ([]byte, error) {
	w := &writer{names: names, defined: map[string]bool{}}
	root := object{{"$schema", "https://json-schema.org/draft/2020-12/schema"}, {"title", title}}
	root = append(root, w.mapping(t)...)
	if w.defs != nil {
		root.put("$defs", w.defs)
	}
	return indented(root)
}

type writer struct {
	names   map[string]yamlfile.Names
	defs    object
	defined map[string]bool
}

// value describes what may stand as the value of a key.
func (w *writer) value(t reflect.Type, f yamlfile.Field) object {
	if s, ok := yamlfile.AsScalar(t); ok {
		return w.scalar(s.Shape(f))
	}
	of, free := yamlfile.IsMap(t)
	switch {
	case t.Kind() == reflect.Pointer:
		return w.value(t.Elem(), f)
	case free:
		return w.entries(of, f)
	case t.Kind() == reflect.Slice:
		o := object{{"type", "array"}, {"items", w.value(t.Elem(), f)}}
		if f.Limit == "some" {
			o.put("minItems", 1)
		}
		return o
	case t.Kind() == reflect.Struct:
		return w.mapping(t)
	}
	panic("schema: no way to describe a " + t.String())
}

// mapping describes the keys of a struct.
func (w *writer) mapping(t reflect.Type) object {
	fields := yamlfile.Fields(t)
	var properties object
	var required []string
	spared := map[string][]string{} // what need not be given beside a key
	for _, f := range fields {
		f = f.Naming(w.names)
		p := w.value(f.Type, f)
		if f.Default != "" {
			p.put("default", standard(f))
		}
		properties.put(f.Key, append(object{{"description", f.Told()}}, p...))
		switch {
		case f.Always && f.Unless != "":
			spared[f.Unless] = append(spared[f.Unless], f.Key)
		case f.Always:
			required = append(required, f.Key)
		}
	}
	o := object{{"type", "object"}}
	choices := yamlfile.Choices(fields)
	if required == nil && choices == nil && len(spared) == 0 {
		o = object{{"type", []string{"object", "null"}}}
	}
	o.put("additionalProperties", false)
	if required != nil {
		o.put("required", required)
	}
	if choices != nil {
		o.put("oneOf", each(choices))
	}
	for _, unless := range slices.Sorted(maps.Keys(spared)) {
		o.put("anyOf", []object{{{"required", []string{unless}}}, {{"required", spared[unless]}}})
	}
	o = append(o, company(fields)...)
	o.put("properties", properties)
	return o
}

// each asks for one key in each of its schemas.
func each(keys []string) []object {
	var all []object
	for _, k := range keys {
		all = append(all, object{{"required", []string{k}}})
	}
	return all
}

// company says which keys go with which.
func company(fields []yamlfile.Field) object {
	var needs, goes object
	for _, f := range fields {
		var need []string
		for _, g := range fields {
			for _, with := range g.NeedWith {
				if with == f.Key {
					need = append(need, g.Key)
				}
			}
		}
		if f.Beside != "" {
			need = append(need, f.Beside)
		}
		if need != nil {
			needs.put(f.Key, need)
		}
		var rule object
		if f.With != nil && !f.Choice {
			rule.put("anyOf", each(f.With))
		}
		if f.Apart != nil {
			rule.put("not", object{{"anyOf", each(f.Apart)}})
		}
		if rule != nil {
			goes.put(f.Key, rule)
		}
	}
	var o object
	if needs != nil {
		o.put("dependentRequired", needs)
	}
	if goes != nil {
		o.put("dependentSchemas", goes)
	}
	return o
}

// entries describes a mapping with free keys.
func (w *writer) entries(of reflect.Type, f yamlfile.Field) object {
	names, ok := w.names[f.Names]
	if !ok {
		panic(fmt.Sprintf("schema: nothing is known of the names of %q", f.Key))
	}
	under := f
	under.Limit, under.Default, under.Names = "", "", ""
	value := w.value(of, under)
	if of.Kind() == reflect.Struct && value[0].key != "$ref" {
		value = w.define(f.Key+"-entry", value)
	}
	o := object{{"type", "object"}}
	var properties object
	for _, n := range names.Known {
		properties.put(n.Name, append(object{{"description", n.Doc}}, value...))
	}
	o.put("properties", properties)
	if names.Pattern == "" {
		o.put("additionalProperties", false)
		return o
	}
	o.put("propertyNames", object{{"pattern", names.Pattern}})
	o.put("additionalProperties", value)
	return o
}

// scalar describes a text, or refers to the description of its like.
func (w *writer) scalar(s yamlfile.Shape) object {
	if s.Name == "" {
		return shape(s)
	}
	return w.define(strings.ReplaceAll(s.Name, " ", "-"), shape(s))
}

// define writes a description once, and gives what refers to it.
func (w *writer) define(name string, o object) object {
	if !w.defined[name] {
		w.defined[name] = true
		w.defs.put(name, o)
	}
	return object{{"$ref", "#/$defs/" + name}}
}

// shape describes a text, and what editors make of it when it looks like a number
// or a truth.
func shape(s yamlfile.Shape) object {
	var o object
	if s.Words != nil {
		words := make([]any, 0, len(s.Words)+2)
		for _, word := range s.Words {
			words = append(words, word)
		}
		if s.Flag {
			words = append(words, true, false)
		}
		o.put("enum", words)
		return o
	}
	o.put("title", s.What)
	types := []string{"string"}
	if s.Number {
		types = append(types, "number")
	}
	if s.Flag {
		types = append(types, "boolean")
	}
	o.put("type", types)
	if s.Pattern != "" {
		text := object{{"pattern", s.Pattern}}
		if s.Known != nil {
			o.put("anyOf", []object{{{"enum", s.Known}}, text})
		} else {
			o = append(o, text...)
		}
	}
	if least, most, ok := strings.Cut(s.Range, " to "); ok {
		o.put("minimum", json.Number(least))
		o.put("maximum", json.Number(most))
	}
	if s.Examples != nil {
		o.put("examples", s.Examples)
	}
	return o
}

// standard gives a default as an editor would read it.
func standard(f yamlfile.Field) any {
	s, ok := yamlfile.AsScalar(f.Type)
	var number json.Number
	if ok && s.Shape(f).Number && json.Unmarshal([]byte(f.Default), &number) == nil {
		return number
	}
	return f.Default
}
