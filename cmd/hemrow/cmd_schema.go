package main

import (
	"github.com/spf13/cobra"

	"hemrow/cmd/hemrow/internal/plan"
	"hemrow/cmd/hemrow/internal/result"
)

func (a *app) schema() *cobra.Command {
	return &cobra.Command{
		Use:       "schema plan | result",
		Short:     "Print the JSON Schema of plan files or of result documents",
		Long:      "Schema prints a JSON Schema (draft 2020-12) for editors and other programs.\n" + exitHelp,
		ValidArgs: []string{"plan", "result"},
		Args:      cobra.MatchAll(cobra.ExactArgs(1), cobra.OnlyValidArgs),
		RunE: func(_ *cobra.Command, args []string) error {
			text := plan.Schema()
			if args[0] == "result" {
				text = result.Schema()
			}
			_, err := a.out.Write(text)
			return err
		},
	}
}
