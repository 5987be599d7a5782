package scenarios

import (
	"fmt"
	"slices"
	"strings"

	"pintle/rig/fault"
	"pintle/rig/signal"
	"pintle/rig/wording"
	"pintle/scenarios/yamlfile"
)

// The keys of the times that a fault may have beside the one that its kind begins
// with, by the figures that a kind with them needs.
var besides = []struct {
	figures fault.Figures
	field   yamlfile.Field
}{
	{fault.Every, yamlfile.Field{Key: "every", Into: "Every", Unit: "time", Limit: "positive", Doc: "how often it does so"}},
	{fault.By | fault.For, yamlfile.Field{Key: "after", Into: "After", Unit: "time", Limit: "positive", Doc: "how long after making it does so"}},
}

// TableKeys are the keys of the kinds of faults, and then those of their other times.
func (FaultFile) TableKeys() []yamlfile.Field {
	var own, more []yamlfile.Field
	for i := range fault.Kinds {
		own = withKind(own, &fault.Kinds[i])
	}
	for _, b := range besides {
		f := b.field
		for i := range fault.Kinds {
			if k := &fault.Kinds[i]; k.Needs.Has(b.figures) {
				f.With = append(f.With, k.Name)
			}
		}
		f.NeedWith = f.With
		more = append(more, f)
	}
	return append(own, more...)
}

// withKind adds a kind's key. Kinds that are a key and its word share the key.
func withKind(fields []yamlfile.Field, k *fault.KindInfo) []yamlfile.Field {
	f := yamlfile.Field{Key: k.Name, Choice: true, Doc: wording.Clause(k.Means)}
	switch k.Main() {
	case fault.Other:
		f.Into, f.Limit = "Other", "faulty"
	case 0:
		return withWord(fields, f)
	default:
		f.Into, f.Unit, f.Limit = "Time", "time", "positive"
	}
	return append(fields, f)
}

func withWord(fields []yamlfile.Field, f yamlfile.Field) []yamlfile.Field {
	key, word := inWords(f.Key)
	doc := word + ": " + f.Doc
	if at := slices.IndexFunc(fields, func(f yamlfile.Field) bool { return f.Key == key }); at >= 0 {
		fields[at].Words, fields[at].Doc = append(fields[at].Words, word), fields[at].Doc+"; "+doc
		return fields
	}
	f.Key, f.Into, f.Words, f.Doc = key, "Word", []string{word}, doc
	return append(fields, f)
}

// inWords takes a kind's name apart into its key and its word.
func inWords(name string) (key, word string) {
	at := strings.LastIndex(name, " ")
	return name[:at], name[at+1:]
}

// fault makes one fault. Its kind is called by the key that was chosen, and what that
// needs says where the times go.
func (c *compiler) fault(f FaultFile) fault.Fault {
	x := fault.Fault{Line: f.Line.Line, Other: f.Other.Line}
	x.Kind, _ = fault.KindNamed(strings.TrimSpace(f.Kind.Key + " " + f.Word.Text))
	if x.Other == x.Line && x.Line != signal.NoLine {
		c.bad = append(c.bad, f.Other.Wrong("a line cannot be swapped with itself", yamlfile.Expected("another line")))
	}
	switch t := c.time(f.Time); x.Kind.Info().Main() {
	case fault.Gap:
		x.Gap, x.Every = t, c.time(f.Every)
		c.checkGap(&f, &x)
	case fault.For:
		x.For, x.By = t, c.time(f.After)
	case fault.By:
		x.By = t
	}
	return x
}

// checkGap refuses gaps that fill their period, and those too short to be made.
func (c *compiler) checkGap(f *FaultFile, x *fault.Fault) {
	info := x.Kind.Info()
	switch {
	case x.Every > 0 && x.Gap >= x.Every:
		c.bad = append(c.bad, f.Time.Wrong(info.Filled, yamlfile.Expected("less than every "+f.Every.Text)))
	case x.Gap > 0 && x.Gap < info.Least:
		c.bad = append(c.bad, f.Time.Wrong("that is too short for a bench to make", yamlfile.Expected(fmt.Sprintf("at least %v", info.Least))))
	}
}
