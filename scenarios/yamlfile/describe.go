package yamlfile

import (
	"fmt"
	"reflect"
	"strings"
	"sync"
)

// A Field is one key of a mapping, as the tags of a struct field describe it:
//
//	key      the key as files write it
//	doc      what it is for, in words
//	need     "yes", or the choices with which the key must be given (a|b)
//	unless   the key beside which a key that must be given need not be
//	with     the choices with which the key may be given (a|b); others refuse it
//	choice   any text: exactly one of the struct's keys that have it must be given
//	beside   the key that must be given too
//	apart    the keys that must not be given too (a|b)
//	names    which of the names that Decode is given may stand here, such as line: as keys of
//	         a Map, else as the value, whose words they then are
//	words    the values allowed (a|b)
//	limit    what the type is to hold the value to, such as positive; of a list: "some"
//	         where it must not be empty
//	unit     what the type is to measure, such as time
//	default  the value of a key that is not given
type Field struct {
	Key, Doc, Default, Limit, Unit string
	Beside, Names, Unless          string
	Choice                         bool
	Always                         bool     // must be given
	NeedWith, With, Words, Apart   []string // see the tags
	Into                           string   // of a table's key: the struct's field that its value goes to
	Type                           reflect.Type
	index                          int
}

// Chosen is which of a table's choices was given. A struct that has a field of this
// type is Tabled.
type Chosen struct {
	Source
	Key string
}

// A Tabled struct has the keys of a table, where its field of the type Chosen stands,
// beside those of its tags.
type Tabled interface {
	// TableKeys lists them: each with Into, and as for the rest the tags would say.
	// It is asked of the zero value, once.
	TableKeys() []Field
}

var described sync.Map // reflect.Type to []Field

// Fields describes the keys of a struct in the order of its fields.
func Fields(t reflect.Type) []Field {
	if known, ok := described.Load(t); ok {
		return known.([]Field)
	}
	var fields []Field
	for i := range t.NumField() {
		switch f := t.Field(i); {
		case f.Type == chosenType:
			fields = append(fields, tabled(t)...)
		case f.Tag.Get("key") != "":
			fields = append(fields, describe(f, f.Tag.Get("key"), i))
		}
	}
	described.Store(t, fields)
	return fields
}

// tabled describes the keys that a struct has of a table.
func tabled(t reflect.Type) []Field {
	keys := reflect.Zero(t).Interface().(Tabled).TableKeys()
	for i := range keys {
		into, ok := t.FieldByName(keys[i].Into)
		if !ok || len(into.Index) != 1 {
			panic(fmt.Sprintf("yamlfile: %v has no field %q for the key %q", t, keys[i].Into, keys[i].Key))
		}
		keys[i].Type, keys[i].index = into.Type, into.Index[0]
	}
	return keys
}

func describe(f reflect.StructField, key string, index int) Field {
	list := func(tag string) []string {
		if s := f.Tag.Get(tag); s != "" {
			return strings.Split(s, "|")
		}
		return nil
	}
	d := Field{Key: key, Doc: f.Tag.Get("doc"), Default: f.Tag.Get("default"), Limit: f.Tag.Get("limit"), Unit: f.Tag.Get("unit"),
		Choice: f.Tag.Get("choice") != "", With: list("with"), Words: list("words"), Apart: list("apart"),
		Beside: f.Tag.Get("beside"), Names: f.Tag.Get("names"), Unless: f.Tag.Get("unless"), Type: f.Type, index: index}
	if d.Always = f.Tag.Get("need") == "yes"; !d.Always {
		d.NeedWith = list("need")
	}
	return d
}

// Keys lists the keys of a description.
func Keys(fields []Field) []string {
	keys := make([]string, len(fields))
	for i, f := range fields {
		keys[i] = f.Key
	}
	return keys
}

// Told is what the key is for, with the range of what may stand there.
func (f Field) Told() string {
	if s, ok := AsScalar(f.Type); ok {
		if within := s.Shape(f).Within; within != "" {
			return f.Doc + "; " + within
		}
	}
	return f.Doc
}

// Choices lists the keys of which exactly one must be given.
func Choices(fields []Field) []string {
	var keys []string
	for _, f := range fields {
		if f.Choice {
			keys = append(keys, f.Key)
		}
	}
	return keys
}

// A Shape describes a scalar type to a schema.
type Shape struct {
	Name     string   // a schema writes shapes of one name once; empty: wherever they stand
	What     string   // in words, such as "a duration"
	Pattern  string   // of its text, anchored; empty: any text
	Words    []string // the only texts allowed; nil: any
	Known    []string // texts to offer, beside whatever the pattern allows
	Number   bool     // a bare number is one of its texts
	Range    string   // of bare numbers, such as "0 to 1"; empty: any
	Within   string   // the same of figures with their units, in words; empty: nothing to say
	Flag     bool     // true or false is one of its texts
	Examples []string
}

// A Scalar is a type that makes itself of a scalar's text. Field carries the tags
// of the struct field that it stands in.
type Scalar interface {
	Set(src Source, field Field) []Problem
	Shape(field Field) Shape
}

func place(file string, line, col int) string { return fmt.Sprintf("%s:%d:%d", file, line, col) }
