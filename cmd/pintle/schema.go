package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"pintle/scenarios"
)

func schemaCommand(a *app) *cobra.Command {
	return &cobra.Command{
		Use:       "schema bench|gate|controller|scenario",
		Short:     "the JSON Schema of one kind of file, for editors",
		Args:      cobra.ExactArgs(1),
		ValidArgs: scenarios.SchemaKinds,
		RunE: func(_ *cobra.Command, args []string) error {
			text, err := scenarios.Schema(args[0])
			if err != nil {
				return usage(fmt.Errorf("%w%s", err, suggestion(args[0], scenarios.SchemaKinds)))
			}
			_, err = a.raw.Write(text)
			return err
		},
	}
}
