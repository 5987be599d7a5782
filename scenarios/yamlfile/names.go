package yamlfile

import (
	"fmt"
	"strings"
)

// Names is what may be named: by the keys of a mapping with free keys, or by a text. The
// program that reads a file knows it, and not the struct that it is decoded into.
type Names struct {
	Known   []Name
	Pattern string // of other names; empty: there are no others
}

// A Name is a name to offer, and what it means.
type Name struct{ Name, Doc string }

// Naming gives a field whose value is to be one of some names the words that it may be, and
// tells what each of them means in the field's own words. A Map has them as keys; it stays
// as it is, and so do fields without names.
func (f Field) Naming(names map[string]Names) Field {
	if f.Names == "" {
		return f
	}
	if _, free := IsMap(f.Type); free {
		return f
	}
	known, ok := names[f.Names]
	if !ok {
		panic(fmt.Sprintf("yamlfile: nothing is known of the names that %q may be", f.Key))
	}
	var told []string
	if f.Doc != "" {
		told = append(told, f.Doc)
	}
	f.Words = nil
	for _, n := range known.Known {
		f.Words = append(f.Words, n.Name)
		told = append(told, n.Name+": "+n.Doc)
	}
	f.Doc = strings.Join(told, "; ")
	return f
}
