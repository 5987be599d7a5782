package main

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"pintle/reports"
	"pintle/reports/outline"
	"pintle/reports/proof"
	"pintle/reports/schema"
	"pintle/scenarios"
)

// writtenSchemas are those of what pintle writes, by kind; scenarios has those of
// what people write.
var writtenSchemas = []struct {
	kind string
	of   func() ([]byte, error)
}{
	{"summary", outline.Schema},
	{"record", func() ([]byte, error) {
		return schema.Of(reflect.TypeFor[reports.Run](), "The record of a run, as pintle export --as json writes it")
	}},
	{"trial", func() ([]byte, error) {
		return schema.Of(reflect.TypeFor[reports.Trial](), "One trial of a record")
	}},
	{"proof", proof.Schema},
}

func schemaKinds() []string {
	kinds := slices.Clone(scenarios.SchemaKinds)
	for _, s := range writtenSchemas {
		kinds = append(kinds, s.kind)
	}
	return kinds
}

// schemaOf gives the schema of a kind of file, whoever writes it.
func schemaOf(kind string) ([]byte, error) {
	for _, s := range writtenSchemas {
		if s.kind == kind {
			return s.of()
		}
	}
	if !slices.Contains(scenarios.SchemaKinds, kind) {
		return nil, usage(fmt.Errorf("there is no schema of %q: it is one of %s%s", kind, strings.Join(schemaKinds(), ", "), suggestion(kind, schemaKinds())))
	}
	return scenarios.Schema(kind, equipment())
}

func schemaCommand(a *app) *cobra.Command {
	return &cobra.Command{
		Use:                   "schema " + strings.Join(schemaKinds(), "|"),
		DisableFlagsInUseLine: true, // it has none, and they are many kinds
		Short:                 "the JSON Schema of one kind of file, for editors and programs",
		Long: `Prints the JSON Schema of one kind of file: of those that people write, for completion
and checking in an editor; and of what pintle export writes as json (record, and trial
for one trial of it) and as summary, and of what pintle prove --json prints (proof), for
the programs that read it.`,
		Args:      cobra.ExactArgs(1),
		ValidArgs: schemaKinds(),
		RunE: func(_ *cobra.Command, args []string) error {
			text, err := schemaOf(args[0])
			if err != nil {
				return err
			}
			_, err = a.raw.Write(text)
			return err
		},
	}
}
