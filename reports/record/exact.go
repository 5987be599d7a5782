package record

import (
	"errors"
	"fmt"
	"reflect"
	"strings"
	"time"
	"unicode/utf8"
)

// largest is the largest magnitude up to which a double holds every integer.
const largest = 1 << 53

// exact says what in a value canonical JSON could not write exactly: up to ten
// fields, each by its path.
func exact(v any) error {
	w := walk{}
	w.value(reflect.ValueOf(v), "", false)
	return errors.Join(w.errs...)
}

type walk struct{ errs []error }

// refuse notes a field.
func (w *walk) refuse(path, form string, args ...any) {
	if len(w.errs) < 10 {
		w.errs = append(w.errs, fmt.Errorf("%s: %s", strings.TrimPrefix(path, "."), fmt.Sprintf(form, args...)))
	}
}

var timeType = reflect.TypeFor[time.Time]()

// value looks at a value; quoted says that its number is written as a text.
func (w *walk) value(v reflect.Value, path string, quoted bool) {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			w.value(v.Elem(), path, quoted)
		}
	case reflect.Struct:
		w.fields(v, path)
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			w.value(v.Index(i), fmt.Sprintf("%s[%d]", path, i), quoted)
		}
	case reflect.String:
		if !utf8.ValidString(v.String()) {
			w.refuse(path, "%q is not UTF-8", v.String())
		}
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		if n := v.Int(); !quoted && (n > largest || n < -largest) {
			w.refuse(path, "%d is beyond 2^53, so it cannot be written exactly", n)
		}
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		if n := v.Uint(); !quoted && n > largest {
			w.refuse(path, "%d is beyond 2^53, so it cannot be written exactly", n)
		}
	case reflect.Bool:
	default:
		// Floats among them: what decides is written as integers.
		w.refuse(path, "a %v has no place in a record", v.Type())
	}
}

// fields looks at the fields of a structure.
func (w *walk) fields(v reflect.Value, path string) {
	if v.Type() == timeType {
		return
	}
	for i := range v.NumField() {
		f := v.Type().Field(i)
		name, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		if name == "" {
			name = f.Name
		}
		w.value(v.Field(i), path+"."+name, options == "string")
	}
}
