package main

import (
	"embed"
	"path"

	"github.com/spf13/cobra"

	"hemrow/cmd/hemrow/internal/pipeline"
	"hemrow/cmd/hemrow/internal/plan"
	"hemrow/geo/format/delivery"
)

// demoFiles is Kestrel Rise, a field of our own invention on a hillside of an
// island that does not exist: 4.8 ha of hazel, plum and currants with a pond
// and an outcrop. The heights are for terrain.
//
//go:embed demo/kestrel-rise.geojson demo/kestrel-rise.yaml demo/kestrel-rise-heights.csv
var demoFiles embed.FS

const demoPlan = "demo/kestrel-rise.yaml"

func (a *app) demo() *cobra.Command {
	var o outputFlags
	c := &cobra.Command{
		Use:   "demo",
		Short: "Plan the built-in field, Kestrel Rise",
		Long: `Demo plans the built-in field and writes the same folder as plan does, with the
field and its plan file beside the results, to begin from.
` + exitHelp,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			data, err := demoFiles.ReadFile(demoPlan)
			if err != nil {
				return err
			}
			job := pipeline.Job{Version: version()}
			job.Find = func(name string) delivery.Source {
				return delivery.Source{FS: demoFiles, Path: path.Join("demo", name), Name: name}
			}
			if job.Plan, err = plan.Parse("kestrel-rise.yaml", data); err != nil {
				return &refusal{err}
			}
			d := pipeline.Describe(demoPlan, "plan", "plan", data)
			job.PlanFile = &d
			if o.dir == "" {
				o.dir = "kestrel-rise-plan"
			}
			return a.carryOut(c.Context(), job, o, nil)
		},
	}
	o.add(c)
	return c
}
