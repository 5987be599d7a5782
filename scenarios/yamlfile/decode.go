package yamlfile

import (
	"errors"
	"fmt"
	"reflect"
	"slices"

	"go.yaml.in/yaml/v4"
)

// An Entry is one key of a mapping whose keys are free, with its value.
type Entry[T any] struct {
	Name  Text
	Value T
}

// A Map is a mapping whose keys are free, in the order of the file.
type Map[T any] []Entry[T]

func (Map[T]) free() {}

// Where is the place of the mapping that a struct was decoded from: a struct that
// wants to know has a field of this type.
type Where struct{ Source }

var (
	freeType   = reflect.TypeFor[interface{ free() }]()
	scalarType = reflect.TypeFor[Scalar]()
	whereType  = reflect.TypeFor[Where]()
	chosenType = reflect.TypeFor[Chosen]()
)

// IsMap says whether a type is a Map, and gives the type of its values.
func IsMap(t reflect.Type) (reflect.Type, bool) {
	if t.Implements(freeType) {
		return t.Elem().Field(1).Type, true
	}
	return nil, false
}

// AsScalar gives a type's description as a scalar, if it is one.
func AsScalar(t reflect.Type) (Scalar, bool) {
	if reflect.PointerTo(t).Implements(scalarType) {
		return reflect.New(t).Interface().(Scalar), true
	}
	return nil, false
}

// Decode puts a file into the struct that into points to. What could be decoded
// is there even where something else could not. The names are those that fields' tags
// called names speak of; only those of texts are needed.
func Decode(f *File, into any, names map[string]Names) Mistakes {
	root, bad := f.parse()
	if bad != nil {
		return Mistakes{*bad}
	}
	d := &decoder{file: f, names: names}
	d.value(root, reflect.ValueOf(into).Elem(), Field{})
	return d.first()
}

// mostMistakes is how many mistakes of one file are told: whoever made more has
// made the same one many times, or wrote no file of this kind.
const mostMistakes = 100

// first gives the file's mistakes in their order, as many as are told.
func (d *decoder) first() Mistakes {
	all, _ := errors.AsType[Mistakes](d.bad.Err())
	if len(all) <= mostMistakes {
		return all
	}
	next := all[mostMistakes]
	return append(all[:mostMistakes:mostMistakes], d.file.At(next.Line, next.Col, fmt.Sprintf("the file has %d mistakes; the rest of them is not shown", len(all)), ""))
}

// mostEntries is how long a list may be, mostKeys how many free keys a mapping may
// have: each of them is looked up among the others.
const (
	mostEntries = 5000
	mostKeys    = 500
)

type decoder struct {
	file  *File
	names map[string]Names
	bad   Mistakes
}

func (d *decoder) wrong(n *yaml.Node, text, hint string) {
	d.bad = append(d.bad, d.file.At(n.Line, n.Column, text, hint))
}

// value decodes a node of any kind.
func (d *decoder) value(n *yaml.Node, v reflect.Value, field Field) {
	if !d.honest(n) {
		return
	}
	t := v.Type()
	_, free := IsMap(t)
	switch {
	case v.CanAddr() && reflect.PointerTo(t).Implements(scalarType):
		d.scalar(n, v, field)
	case t.Kind() == reflect.Pointer:
		v.Set(reflect.New(t.Elem()))
		d.value(n, v.Elem(), field)
	case free:
		d.entries(n, v, field)
	case t.Kind() == reflect.Slice:
		d.list(n, v, field)
	case t.Kind() == reflect.Struct:
		d.mapping(n, v)
	default:
		panic("yamlfile: no way to decode a " + t.String())
	}
}

// honest refuses what makes a file mean something other than what it says.
func (d *decoder) honest(n *yaml.Node) bool {
	switch {
	case n.Kind == yaml.AliasNode:
		d.wrong(n, "an alias has no place here", Expected("the value itself"))
	case n.Anchor != "":
		d.wrong(n, fmt.Sprintf("the anchor %q has no place here", Short(n.Anchor)), Expected("the value without an anchor"))
	case n.Style&yaml.TaggedStyle != 0:
		d.wrong(n, fmt.Sprintf("the tag %q has no place here", Short(n.Tag)), Expected("the value without a tag"))
	default:
		return true
	}
	return false
}

func (d *decoder) scalar(n *yaml.Node, v reflect.Value, field Field) {
	field = field.Naming(d.names)
	if n.Kind != yaml.ScalarNode {
		shape := v.Addr().Interface().(Scalar).Shape(field)
		d.wrong(n, fmt.Sprintf("%s is wanted here, not %s", shape.What, called(n)), example(shape, field))
		return
	}
	if isEmpty(n) {
		shape := v.Addr().Interface().(Scalar).Shape(field)
		d.wrong(n, fmt.Sprintf("%q has no value", field.Key), example(shape, field))
		return
	}
	src := d.file.source(n)
	for _, p := range v.Addr().Interface().(Scalar).Set(src, field) {
		d.bad = append(d.bad, src.Mistake(p))
	}
}

func (d *decoder) list(n *yaml.Node, v reflect.Value, field Field) {
	if n.Kind != yaml.SequenceNode {
		d.wrong(n, "a list is wanted here, not "+called(n), Expected(`entries on lines of their own, each beginning with "- "`))
		return
	}
	if len(n.Content) == 0 && field.Limit == "some" {
		d.wrong(n, fmt.Sprintf("%q is empty", field.Key), Expected("at least one entry"))
	}
	if len(n.Content) > mostEntries {
		d.wrong(n.Content[mostEntries], "the list is too long", Expected(fmt.Sprintf("at most %d entries", mostEntries)))
		return
	}
	v.Set(reflect.MakeSlice(v.Type(), len(n.Content), len(n.Content)))
	for i, c := range n.Content {
		d.value(c, v.Index(i), field)
	}
}

// entries decodes a mapping with free keys.
func (d *decoder) entries(n *yaml.Node, v reflect.Value, field Field) {
	if n.Kind != yaml.MappingNode {
		d.wrong(n, fmt.Sprintf("%q wants keys with values, not %s", field.Key, called(n)), Expected(`"key: value" on lines of their own`))
		return
	}
	if len(n.Content) > 2*mostKeys {
		d.wrong(n.Content[2*mostKeys], "there are too many keys", Expected(fmt.Sprintf("at most %d", mostKeys)))
		return
	}
	keys := d.keys(n)
	v.Set(reflect.MakeSlice(v.Type(), len(keys), len(keys)))
	for i, k := range keys {
		name := v.Index(i).Field(0).Addr().Interface().(*Text)
		name.Source = d.file.source(k.key)
		under := field
		under.Key, under.Names = name.Text, ""
		d.value(k.value, v.Index(i).Field(1), under)
	}
}

// A pair is a key of a mapping with its value.
type pair struct{ key, value *yaml.Node }

// keys gives a mapping's pairs, without those whose key is no plain text or has
// been given before.
func (d *decoder) keys(n *yaml.Node) []pair {
	var pairs []pair
	lines := map[string]int{}
	for i := 0; i+1 < len(n.Content); i += 2 {
		k := n.Content[i]
		switch {
		case k.Kind == yaml.AliasNode || k.Anchor != "" || k.Style&yaml.TaggedStyle != 0:
			d.honest(k)
		case k.Kind != yaml.ScalarNode:
			d.wrong(k, "a key must be a text, not "+called(k), Expected(`"key: value"`))
		case k.Tag == "!!merge":
			d.wrong(k, `the merge key "<<" has no place here`, Expected("the keys themselves"))
		case lines[k.Value] > 0:
			d.wrong(k, fmt.Sprintf("%q is given twice; the first is on line %d", Short(k.Value), lines[k.Value]), Expected("one of the two"))
		default:
			lines[k.Value] = k.Line
			pairs = append(pairs, pair{k, n.Content[i+1]})
		}
	}
	return pairs
}

// mapping decodes a mapping into a struct.
func (d *decoder) mapping(n *yaml.Node, v reflect.Value) {
	fields := Fields(v.Type())
	if isEmpty(n) {
		n = &yaml.Node{Kind: yaml.MappingNode, Line: n.Line, Column: n.Column}
	}
	if n.Kind != yaml.MappingNode {
		d.wrong(n, "keys with values are wanted here, not "+called(n), Expected(`"key: value", with a key that is `+OneOf(Keys(fields))))
		return
	}
	d.place(n, v)
	given := map[string]*yaml.Node{}
	var meant []string // the keys that unknown ones were probably meant to be
	for _, p := range d.keys(n) {
		i := slices.IndexFunc(fields, func(f Field) bool { return f.Key == p.key.Value })
		if i < 0 {
			d.wrong(p.key, fmt.Sprintf("unknown key %q", Short(p.key.Value)), DidYouMean(p.key.Value, Keys(fields)))
			given[""] = p.key
			if near, ok := Nearest(p.key.Value, Keys(fields)); ok && given[near] == nil {
				meant = append(meant, near)
			}
			continue
		}
		given[p.key.Value] = p.key
		d.value(p.value, v.Field(fields[i].index), fields[i])
	}
	d.complete(n, v, fields, given, meant)
}

// place tells a struct where it stands.
func (d *decoder) place(n *yaml.Node, v reflect.Value) {
	put(v, whereType, Where{Source{File: d.file, Line: n.Line, Col: n.Column}})
}

// put gives a struct's fields of a type a value.
func put(v reflect.Value, t reflect.Type, value any) {
	for i := range v.NumField() {
		if v.Type().Field(i).Type == t {
			v.Field(i).Set(reflect.ValueOf(value))
		}
	}
}
