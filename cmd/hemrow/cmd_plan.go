package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"hemrow/cmd/hemrow/internal/folder"
	"hemrow/cmd/hemrow/internal/pipeline"
	"hemrow/cmd/hemrow/internal/plan"
	"hemrow/cmd/hemrow/internal/report"
	"hemrow/cmd/hemrow/internal/result"
	"hemrow/geo"
	"hemrow/geo/format/delivery"
	"hemrow/rows"
)

// planFlags adds one flag for every key of a plan file, of the same name, or
// for those of some sections.
func planFlags(c *cobra.Command, wanted func(plan.Key) bool) {
	for _, k := range plan.Keys() {
		if !k.Flag || !wanted(k) {
			continue
		}
		name := strings.ReplaceAll(k.Name, "_", "-")
		help := k.Help
		if k.Kind == plan.KindChoice {
			help += ": " + strings.Join(k.Choices, ", ")
		}
		if k.Kind == plan.KindPaths {
			c.Flags().StringArray(name, nil, help+" (may be repeated)")
			continue
		}
		c.Flags().String(name, "", help+" (default "+orNone(k.Default)+")")
		if k.Kind == plan.KindBool { // --strict alone says yes
			c.Flags().Lookup(name).NoOptDefVal = "yes"
		}
	}
}

func orNone(s string) string {
	if s == "" {
		return "none"
	}
	return s
}

// override sets the plan keys whose flags were given, in the table's order.
func override(c *cobra.Command, p *plan.Plan) error {
	var errs []error
	for _, k := range plan.Keys() {
		f := c.Flags().Lookup(strings.ReplaceAll(k.Name, "_", "-"))
		if f == nil || !f.Changed || !k.Flag {
			continue
		}
		value := f.Value.String()
		if k.Kind == plan.KindPaths {
			list, err := c.Flags().GetStringArray(f.Name)
			if err != nil {
				return err
			}
			value = plan.PathList(list)
		}
		if err := p.Override(k.Name, value); err != nil {
			errs = append(errs, err)
		}
	}
	if err := errors.Join(errs...); err != nil {
		return &usageError{err}
	}
	return nil
}

// outputFlags are the flags of commands that write a folder.
type outputFlags struct {
	dir   string
	force bool
}

func (o *outputFlags) add(c *cobra.Command) {
	c.Flags().StringVarP(&o.dir, "out", "o", "", "folder to write to (default: named after the plan or field, with -plan)")
	c.Flags().BoolVar(&o.force, "force", false, "overwrite files that hemrow did not write")
}

func (a *app) plan() *cobra.Command {
	var o outputFlags
	c := &cobra.Command{
		Use:   "plan PLAN.yaml | FIELD",
		Short: "Lay the rows of a field and count what they take",
		Long: `Plan reads a plan file, or a field outline with the plan's keys as flags, lays
the rows over the ground (over its terrain, if heights are given), counts what
they take, prints a summary and writes a folder with
  hemrow.json      the whole result, with its schema in hemrow.schema.json
  rows.geojson     row lines, outline, obstacles (WGS84)
  rows.csv         every piece of row with its lengths
  take-off.csv     every quantity with its formula and source
  map.svg          a map to scale, to print
  summary.txt      what is printed

A flag overrides the plan key of the same name; files that flags name are seen
from the folder you are in, those of the plan file from its own.
` + exitHelp,
		Example: `  hemrow plan kestrel-rise.yaml
  hemrow plan field.geojson --spacing "5 m" --heading "along longest edge"
  hemrow plan parcels.zip --choose PARCEL=12 --heights west.tif --heights east.tif`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return fmt.Errorf("plan takes one plan file or outline, not %d; heights and obstacles stand behind --heights and --obstacles", len(args))
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			job, err := openPlan(args[0])
			if err != nil {
				return err
			}
			if err := override(c, &job.Plan); err != nil {
				return err
			}
			if o.dir == "" {
				base := filepath.Base(args[0])
				o.dir = strings.TrimSuffix(base, filepath.Ext(base)) + "-plan"
			}
			protect := []string{args[0]}
			for _, in := range job.Plan.Inputs() {
				protect = append(protect, located(args[0], in))
			}
			job.Find = finder(args[0], job.Plan)
			return a.carryOut(c.Context(), job, o, protect)
		},
	}
	o.add(c)
	planFlags(c, func(plan.Key) bool { return true })
	return c
}

// openPlan makes a job of a plan file, or of an outline with default keys.
func openPlan(name string) (pipeline.Job, error) {
	job := pipeline.Job{Version: version()}
	if ext := strings.ToLower(filepath.Ext(name)); ext != ".yaml" && ext != ".yml" {
		job.Plan = plan.Default()
		job.Plan.Field.Outline = filepath.Base(name)
		if _, err := os.Stat(name); err != nil {
			return job, &geo.InputError{File: name, Problem: "cannot be read: " + unwrapPath(err)}
		}
		return job, nil
	}
	data, err := readBounded(name, mostPlanBytes)
	if err != nil {
		return job, &geo.InputError{File: name, Problem: "cannot be read: " + err.Error()}
	}
	if job.Plan, err = plan.Parse(name, data); err != nil {
		return job, &refusal{err}
	}
	d := pipeline.Describe(name, "plan", "plan", data)
	job.PlanFile = &d
	return job, nil
}

// finder tells where the files of a plan are.
func finder(planFile string, p plan.Plan) pipeline.Find {
	return func(name string) delivery.Source {
		in := plan.Input{Name: name}
		for _, i := range p.Inputs() {
			if i.Name == name {
				in = i
			}
		}
		src := fileSource(located(planFile, in))
		src.Name = name
		return src
	}
}

// located is where a file of a plan is, seen from where the program runs.
func located(planFile string, in plan.Input) string {
	if in.Typed {
		return in.Name
	}
	return beside(planFile, in.Name)
}

// beside resolves a path in a plan file: relative to the plan file's folder.
func beside(planFile, name string) string {
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(filepath.Dir(planFile), name)
}

// carryOut runs a job, writes its folder, prints summary and notes.
func (a *app) carryOut(ctx context.Context, job pipeline.Job, o outputFlags, protect []string) error {
	if err := o.check(); err != nil {
		return err
	}
	if err := job.Plan.Validate(); err != nil {
		return &refusal{err}
	}
	var done func()
	job.Step, done = a.steps()
	doc, err := pipeline.Run(ctx, job)
	done()
	var fault *rows.SpecFault
	if errors.As(err, &fault) { // one that only the field brings to light
		return &refusal{job.Plan.Locate(fault)}
	}
	if err != nil {
		return err
	}
	if err := writeFolder(doc, o, protect); err != nil {
		return err
	}
	fmt.Fprintf(a.out, "%s\nWritten to %s\n", report.Summary(doc, doc.Units), oneLine(filepath.Clean(o.dir)))
	return nil
}

// check refuses - as an output folder: several files are written.
func (o outputFlags) check() error {
	if o.dir == "-" {
		return &usageError{errors.New("--out names a folder; - (standard output) takes one file only")}
	}
	return nil
}

func writeFolder(doc result.Document, o outputFlags, protect []string) error {
	files, err := pipeline.Outputs(doc)
	if err != nil {
		return err
	}
	return folder.Write(o.dir, files, folder.Options{Force: o.force, Protect: protect})
}
