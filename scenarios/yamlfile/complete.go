package yamlfile

import (
	"fmt"
	"reflect"
	"slices"

	"go.yaml.in/yaml/v4"
)

// complete checks which keys were given together, and fills in what was not given.
// A key that was misspelt is not reported as missing too.
func (d *decoder) complete(n *yaml.Node, v reflect.Value, fields []Field, given map[string]*yaml.Node, meant []string) {
	choice, chosen := d.choose(n, fields, given)
	if chosen {
		put(v, chosenType, Chosen{d.file.source(given[choice]), choice})
	}
	for _, f := range fields {
		key, is := given[f.Key]
		switch {
		case slices.Contains(meant, f.Key):
			fill(v.Field(f.index), f)
		case !is && (f.Always && !spared(f, given) || chosen && slices.Contains(f.NeedWith, choice)):
			d.wrong(n, fmt.Sprintf("the key %q is missing", f.Key), Expected(f.Key+": "+what(f.Naming(d.names), "...")))
		case is && chosen && !f.Choice && f.With != nil && !slices.Contains(f.With, choice):
			d.wrong(key, fmt.Sprintf("%q does not go with %q", f.Key, choice), Expected(f.Key+" only with "+OneOf(f.With)))
		case !is:
			fill(v.Field(f.index), f)
		default:
			d.company(key, f, fields, given)
		}
	}
}

// spared says whether a key need not be given because of another one.
func spared(f Field, given map[string]*yaml.Node) bool {
	return f.Unless != "" && given[f.Unless] != nil
}

// company checks which other keys a key stands with.
func (d *decoder) company(key *yaml.Node, f Field, fields []Field, given map[string]*yaml.Node) {
	if i := slices.IndexFunc(fields, func(x Field) bool { return x.Key == f.Beside }); i >= 0 && given[f.Beside] == nil {
		d.wrong(key, fmt.Sprintf("%q stands without %q", f.Key, f.Beside), Expected(f.Beside+": "+what(fields[i], "...")))
	}
	for _, other := range f.Apart {
		if given[other] != nil {
			d.wrong(key, fmt.Sprintf("%q and %q cannot stand together", f.Key, other), Expected("one of the two"))
		}
	}
}

// choose finds the one key of several that says what a mapping is.
func (d *decoder) choose(n *yaml.Node, fields []Field, given map[string]*yaml.Node) (string, bool) {
	choices := Choices(fields)
	var chosen []string
	for _, c := range choices {
		if given[c] != nil {
			chosen = append(chosen, c)
		}
	}
	switch {
	case len(choices) == 0:
		return "", false
	case len(chosen) == 1:
		return chosen[0], true
	case len(chosen) > 1:
		d.wrong(given[chosen[1]], fmt.Sprintf("%q and %q cannot stand together", chosen[0], chosen[1]), Expected("an entry of its own for each"))
	case given[""] == nil: // an unknown key was probably meant to be it, and is reported already
		d.wrong(n, "nothing here says what it is", Expected(OneOf(choices)))
	}
	return "", false
}

// fill gives a value that no file gives its default, and those inside it theirs.
func fill(v reflect.Value, field Field) {
	t := v.Type()
	switch _, free := IsMap(t); {
	case reflect.PointerTo(t).Implements(scalarType):
		if field.Default == "" {
			return
		}
		if bad := v.Addr().Interface().(Scalar).Set(Source{Text: field.Default}, field); bad != nil {
			panic(fmt.Sprintf("yamlfile: the default of %q is wrong: %s", field.Key, bad[0].Text))
		}
	case free:
	case t.Kind() == reflect.Struct:
		for _, f := range Fields(t) {
			fill(v.Field(f.index), f)
		}
	}
}

// Fill gives a whole struct its defaults.
func Fill(into any) { fill(reflect.ValueOf(into).Elem(), Field{}) }

// isEmpty says whether nothing stands where a value could.
func isEmpty(n *yaml.Node) bool {
	return n.Kind == yaml.ScalarNode && n.Value == "" && n.Style&(yaml.SingleQuotedStyle|yaml.DoubleQuotedStyle|yaml.LiteralStyle|yaml.FoldedStyle) == 0
}

// called names what stands at a node.
func called(n *yaml.Node) string {
	switch {
	case isEmpty(n):
		return "nothing"
	case n.Kind == yaml.ScalarNode:
		return fmt.Sprintf("the text %q", Short(n.Value))
	case n.Kind == yaml.SequenceNode:
		return "a list"
	case n.Kind == yaml.MappingNode:
		return "keys with values"
	}
	return "an alias"
}

// example makes a hint of a scalar's description.
func example(s Shape, field Field) string {
	switch {
	case s.Words != nil:
		return Expected(OneOf(s.Words))
	case len(s.Examples) > 0:
		return Expected(s.What + ", such as " + s.Examples[0])
	}
	return Expected(field.Key + ": " + what(field, s.What))
}
