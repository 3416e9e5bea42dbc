package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"runtime"

	"github.com/spf13/cobra"

	"hemrow/cmd/hemrow/internal/folder"
	"hemrow/cmd/hemrow/internal/pipeline"
	"hemrow/cmd/hemrow/internal/plan"
	"hemrow/geo"
	"hemrow/geo/format/delivery"
)

// outlines writes the features of any file as GeoJSON.
func (a *app) outlines() *cobra.Command {
	var out string
	var force bool
	c := &cobra.Command{
		Use:   "outlines FILE | -",
		Short: "Write what a file holds as GeoJSON in longitude and latitude",
		Long: `Outlines reads any file that plan reads, brings its coordinates to WGS84 longitude
and latitude, and writes every feature with its properties as one line of GeoJSON:
to look at, to hand on, or to plan by the hundred with batch. Nothing is repaired.
Shapefiles and GeoJSON of any length take constant memory. A feature that cannot
be read is named and left out, and the exit code says so.
` + exitHelp,
		Example: `  hemrow outlines parcels.zip --layer fields | hemrow batch - --spacing "5 m"`,
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			p := plan.Default()
			if err := override(c, &p); err != nil {
				return err
			}
			spec, err := readingSpec(p)
			if err != nil {
				return err
			}
			stream, err := a.openStream(c.Context(), args[0], delivery.Options{Layer: p.Field.Layer, Columns: p.Field.Columns})
			if err != nil {
				return err
			}
			defer stream.Close()
			failed := 0
			var errs []error
			r := pipeline.Restate{Field: spec, Workers: runtime.GOMAXPROCS(0), Progress: a.progress()}
			r.Fail = func(err error) {
				if failed++; failed <= mostPrinted {
					errs = append(errs, err)
				}
			}
			write := func(w io.Writer) error {
				_, err := r.Run(c.Context(), stream, w)
				return err
			}
			if out != "" && out != "-" {
				err = folder.WriteOne(out, folder.Options{Force: force, Protect: args}, write)
			} else {
				w := bufio.NewWriterSize(a.out, 1<<16)
				if err = write(w); err == nil {
					err = w.Flush()
				}
			}
			if err == nil && failed > 0 {
				errs = append(errs, &refusal{fmt.Errorf("%s left out", geo.Counted(failed, "feature"))})
				return errors.Join(errs...)
			}
			return err
		},
	}
	c.Flags().StringVarP(&out, "out", "o", "", "file to write to (default: standard output)")
	c.Flags().BoolVar(&force, "force", false, "overwrite an existing output file")
	planFlags(c, readingKey)
	return c
}
