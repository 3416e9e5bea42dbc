package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"hemrow/cmd/hemrow/internal/folder"
	"hemrow/cmd/hemrow/internal/plan"
	"hemrow/geo/field"
	"hemrow/geo/format/delivery"
)

func (a *app) starter() *cobra.Command {
	var out, units string
	var force bool
	c := &cobra.Command{
		Use:   "starter FIELD",
		Short: "Write a commented plan file for a field, with every default in sight",
		Long: `Starter looks into an outline and writes a plan file for it beside it, named
after it with .yaml, or to --out (- for standard output). What the flags say of
the field and its heights goes into the file.
` + exitHelp,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			u, err := plan.ParseUnits(units)
			if err != nil {
				return &usageError{err}
			}
			p := plan.Default()
			if err := override(c, &p); err != nil {
				return err
			}
			file, err := readOutline(c.Context(), args[0], a.in, delivery.Options{Layer: p.Field.Layer, Columns: p.Field.Columns})
			if err != nil {
				return err
			}
			spec, err := readingSpec(p)
			if err != nil {
				return err
			}
			rep := field.Look(c.Context(), file, spec)
			stem := strings.TrimSuffix(filepath.Base(args[0]), filepath.Ext(args[0]))
			if out == "" {
				out = filepath.Join(filepath.Dir(args[0]), stem+".yaml")
			}
			p.Name, p.Field.Outline, p.Units = stem, args[0], u
			base := filepath.Dir(args[0])
			if out != "-" {
				base = filepath.Dir(out)
			}
			p.Rename(func(name string) string {
				if rel, err := filepath.Rel(base, name); err == nil {
					name = rel
				}
				return filepath.ToSlash(name)
			})
			text := plan.Starter(p, featureNote(rep))
			if out == "-" {
				_, err := a.out.Write(text)
				return err
			}
			opt := folder.Options{Force: force, Protect: args}
			err = folder.WriteOne(out, opt, func(w io.Writer) error {
				_, err := w.Write(text)
				return err
			})
			if err != nil {
				return err
			}
			fmt.Fprintf(a.out, "Written to %s. Look it over, then: hemrow plan %s\n", oneLine(out), oneLine(out))
			return nil
		},
	}
	c.Flags().StringVarP(&out, "out", "o", "", "file to write, - for standard output")
	c.Flags().StringVar(&units, "units", "metric", "metric or us")
	c.Flags().BoolVar(&force, "force", false, "overwrite an existing file")
	planFlags(c, func(k plan.Key) bool { return k.Section == "field" && k.Name != "outline" || k.Section == "terrain" })
	return c
}

// featureNote says in a few lines what the outline file holds.
func featureNote(rep field.Report) string {
	var b strings.Builder
	for _, f := range rep.Features {
		fmt.Fprintf(&b, "feature %d %q: %s\n", f.Number, f.Name, inWords(f))
	}
	return b.String()
}
