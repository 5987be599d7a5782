package scenarios

import (
	"reflect"
	"slices"

	"pintle/scenarios/yamlfile"
)

// A FileKey is a key that a file may have, and what it means.
type FileKey struct {
	Kind    string // of the file: bench, gate, controller, scenario
	Key     string
	Within  string // the key that it stands under; empty: it stands at the left
	Means   string
	Words   []string // that it may be, where only some may
	Default string
}

// FileKeys lists the keys of all files, in the order of their schemas. What means the
// same in several places of a file is listed once.
func FileKeys(with Equipment) []FileKey {
	l := keyLister{names: namesOf(&with)}
	for _, kind := range SchemaKinds {
		l.kind = kind
		l.list(kindOf[kind].of, "")
	}
	return l.all
}

type keyLister struct {
	names map[string]yamlfile.Names
	kind  string
	all   []FileKey
}

// list goes through the keys of a struct, and of what stands under each.
func (l *keyLister) list(t reflect.Type, within string) {
	for _, f := range yamlfile.Fields(t) {
		f = f.Naming(l.names)
		if f.Doc != "" && !l.has(f.Key, f.Told()) {
			l.all = append(l.all, FileKey{l.kind, f.Key, within, f.Told(), f.Words, f.Default})
		}
		l.under(f.Type, f.Key)
	}
}

func (l *keyLister) has(key, doc string) bool {
	return slices.ContainsFunc(l.all, func(k FileKey) bool { return k.Kind == l.kind && k.Key == key && k.Means == doc })
}

// under goes on into what stands under a key.
func (l *keyLister) under(t reflect.Type, key string) {
	if _, ok := yamlfile.AsScalar(t); ok {
		return
	}
	of, free := yamlfile.IsMap(t)
	switch {
	case free:
		l.under(of, key)
	case t.Kind() == reflect.Pointer, t.Kind() == reflect.Slice:
		l.under(t.Elem(), key)
	case t.Kind() == reflect.Struct:
		l.list(t, key)
	}
}
