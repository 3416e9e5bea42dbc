package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"hemrow/cmd/hemrow/internal/pipeline"
	"hemrow/cmd/hemrow/internal/plan"
	"hemrow/geo"
	"hemrow/geo/field"
	"hemrow/geo/format"
	"hemrow/geo/format/delivery"
)

func (a *app) check() *cobra.Command {
	c := &cobra.Command{
		Use:   "check FILE…",
		Short: "Say what a file holds and what is wrong with it",
		Long: `Check reads files of outlines, points or heights and says what is in them: the
reference system, features, parts, holes, vertices, area, perimeter, where on the
earth, faults with their places, and what would be repaired; of a grid of heights
its cells and their range. It plans nothing and changes nothing. - reads standard
input.

It reads GeoJSON, shapefiles (loose, in a folder, zipped), KML and KMZ, GPX, ISO
11783-10 task data, well-known text, lists of points (CSV and the like), GeoTIFF,
ESRI ASCII grids and XYZ grids, and tells them apart by what is in them.
` + exitHelp,
		Example: `  hemrow check parcels.zip
  hemrow check corners.csv --crs EPSG:25832`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			p := plan.Default()
			if err := override(c, &p); err != nil {
				return err
			}
			var errs []error
			for i, name := range args {
				if i > 0 {
					fmt.Fprintln(a.out)
				}
				src, err := inputSource(c.Context(), name, a.in)
				if err == nil {
					err = a.checkOne(c.Context(), src, p)
				}
				if c.Context().Err() != nil {
					return c.Context().Err()
				}
				errs = append(errs, err)
			}
			return errors.Join(errs...)
		},
	}
	planFlags(c, readingKey)
	return c
}

// readingKey chooses the keys of a plan that say how a file is read.
func readingKey(k plan.Key) bool {
	switch k.Name {
	case "crs", "datum_grid", "layer", "columns", "swap_axes", "close_lines", "split_crossings":
		return true
	}
	return false
}

// readingSpec is what those keys say.
func readingSpec(p plan.Plan) (field.Spec, error) {
	spec := pipeline.FieldSpec(p)
	spec.ObstacleMark = ""
	var err error
	if spec.CRS, err = delivery.SystemText(p.Field.CRS, fileSource); err != nil || p.Field.DatumGrid == "" {
		return spec, err
	}
	spec.DatumGrid, err = delivery.DatumGrid(fileSource(p.Field.DatumGrid))
	return spec, err
}

// checkOne prints what one file holds and returns what is wrong with it.
func (a *app) checkOne(ctx context.Context, src delivery.Source, p plan.Plan) error {
	spec, err := readingSpec(p)
	if err != nil {
		return err
	}
	if delivery.IsRaster(src) {
		return printRaster(a.out, src, spec)
	}
	file, err := delivery.Read(src, delivery.Options{Layer: p.Field.Layer, Columns: p.Field.Columns})
	if err != nil {
		return err
	}
	rep := field.Look(ctx, file, spec)
	if ctx.Err() != nil {
		return ctx.Err()
	}
	printLook(a.out, rep)
	printEdges(ctx, a.out, file, spec)
	errs := []error{rep.Refused}
	for _, f := range rep.Features {
		errs = append(errs, f.Refused)
	}
	return errors.Join(errs...)
}

// printRaster prints what a grid of heights holds.
func printRaster(w io.Writer, src delivery.Source, spec field.Spec) error {
	t, err := delivery.Heights(src, delivery.Options{})
	if err != nil {
		return err
	}
	defer t.Close()
	rep, err := field.LookRaster(t.Raster, spec)
	if err != nil {
		return err
	}
	l := t.Raster.Layout()
	fmt.Fprintf(w, "%s: %s, a grid of heights of %d by %d cells\n", oneLine(t.File.Name), t.File.Format, l.Cols, l.Rows)
	fmt.Fprintf(w, "  coordinates: %s\n", oneLine(rep.System))
	fmt.Fprintf(w, "  cells: %.4g by %.4g m; the middle lies at %s (longitude, latitude); %.0f m east to west, %.0f m north to south\n",
		rep.CellEastM, rep.CellNorthM, rep.Middle, rep.EastM, rep.NorthM)
	if rep.KnownCount > 0 {
		fmt.Fprintf(w, "  heights: %.2f to %.2f, %s; %d of %d cells have one\n",
			rep.LowestNo, rep.HighestNo, heightUnit(t.Raster.HeightUnitM()), rep.KnownCount, rep.SeenCount)
	} else {
		fmt.Fprintf(w, "  heights: none of the cells looked at has one\n")
	}
	printSome(w, append(t.File.Notes, rep.Notes...), "  ", t.File.Name)
	return nil
}

// heightUnit names a unit of heights by its size, 0 unsaid.
func heightUnit(unitM float64) string {
	switch unitM {
	case 0:
		return "in a unit that the file does not say (metres, unless height_unit says otherwise)"
	case 1:
		return "in metres"
	case geo.FootM:
		return "in feet"
	case geo.SurveyFootM:
		return "in US survey feet"
	}
	return fmt.Sprintf("in units of %v m", unitM)
}

// printLook prints a report for people.
func printLook(w io.Writer, rep field.Report) {
	fmt.Fprintf(w, "%s: %s, %s\n", oneLine(rep.File), rep.Format, geo.Counted(len(rep.Features), "feature"))
	fmt.Fprintf(w, "  coordinates: %s\n", oneLine(rep.System))
	turned := func(n geo.Note) bool { return n.Code == geo.NoteSystem } // the line above says it
	printSome(w, slices.DeleteFunc(slices.Clone(rep.Notes), turned), "  ", rep.File)
	for _, f := range rep.Features {
		fmt.Fprintf(w, "\nfeature %d", f.Number)
		if f.Name != "" {
			fmt.Fprintf(w, " %q", oneLine(f.Name))
		}
		fmt.Fprintf(w, ": %s\n", inWords(f))
		if f.AreaM2 > 0 {
			fmt.Fprintf(w, "  lies at %s (longitude, latitude), %.0f m east to west, %.0f m north to south\n",
				f.Middle, f.EastM, f.NorthM)
		}
		if f.HeightCount > 0 {
			fmt.Fprintf(w, "  %d of its vertices have heights, %.2f to %.2f\n", f.HeightCount, f.LowestM, f.HighestM)
			if f.AreaM2 == 0 && f.Points > 2 {
				what := "a survey of heights, which plan takes as terrain: --heights"
				if rep.Refused != nil {
					what = "the corners of an outline, or a survey of heights (--heights)"
				}
				fmt.Fprintf(w, "  %s\n", what)
				continue
			}
		}
		printFaults(w, f.Faults)
		if f.Refused != nil {
			fmt.Fprintf(w, "  would be refused, see below\n")
			continue
		}
		if len(f.Repairs) > 0 {
			fmt.Fprintf(w, "  planning would do and say:\n")
			printSome(w, f.Repairs, "    ", rep.File, (&geo.InputError{Feature: f.Number, Name: f.Name}).Place())
		}
	}
}

// mostEdgeFeatures is up to how many features edges are listed for.
const mostEdgeFeatures = 6

// printEdges lists the longest edges of each outline by the numbers that
// heading: along edge N takes.
func printEdges(ctx context.Context, w io.Writer, file format.File, spec field.Spec) {
	if len(file.Features) > mostEdgeFeatures {
		return
	}
	for _, ft := range file.Features {
		one := file
		one.Features = []format.Feature{ft}
		f, _, err := field.Build(ctx, one, nil, spec)
		if err != nil {
			continue
		}
		for _, b := range f.Blocks {
			fmt.Fprintf(w, "\nlongest edges of %q, for heading: along edge N\n", oneLine(b.Name))
			ring := b.Outline[0]
			edges := make([]int, len(ring)-1)
			for i := range edges {
				edges[i] = i
			}
			long := func(i int) float64 { return f.Frame.PlanM(ring[i], ring[i+1]) }
			slices.SortStableFunc(edges, func(i, j int) int { return cmp.Compare(long(j), long(i)) })
			for _, i := range edges[:min(5, len(edges))] {
				h := geo.BearingOf(ring[i+1][0]-ring[i][0], ring[i+1][1]-ring[i][1])
				fmt.Fprintf(w, "  edge %d: %.1f m, heading %s deg, from %s\n", i+1, long(i), h.HeadingText(2), f.Frame.ToLonLat(ring[i]))
			}
		}
	}
}

// mostPrinted is how many faults or notes of one feature are printed; the
// rest are counted.
const mostPrinted = 12

func printFaults(w io.Writer, faults []field.Fault) {
	if len(faults) == 0 {
		fmt.Fprintf(w, "  no fault in its outline\n")
		return
	}
	fmt.Fprintf(w, "  %s:\n", geo.Counted(len(faults), "fault"))
	for i, f := range faults {
		if i == mostPrinted {
			fmt.Fprintf(w, "    and %d more\n", len(faults)-i)
			return
		}
		fmt.Fprintf(w, "    %s\n", oneLine(f.String()))
	}
}

// printSome prints notes, one on a line, and what to do about those that call
// for a look. Places that the lines above name are left out: the file, then the
// feature.
func printSome(w io.Writer, notes geo.Notes, indent string, named ...string) {
	for i, n := range notes {
		if i == mostPrinted {
			fmt.Fprintf(w, "%sand %d more\n", indent, len(notes)-i)
			return
		}
		for _, place := range named {
			if rest, ok := strings.CutPrefix(n.Place, place); ok {
				n.Place = strings.TrimLeft(rest, ":, ")
			}
		}
		fmt.Fprintf(w, "%s%s\n", indent, oneLine(n.String()))
		if n.Hint != "" && n.Severity > geo.Info {
			fmt.Fprintf(w, "%s  %s\n", indent, oneLine(n.Hint))
		}
	}
}

// inWords says what a feature holds.
func inWords(f field.FeatureReport) string {
	var w []string
	if f.Parts > 0 {
		w = append(w, geo.Counted(f.Parts, "polygon"))
		if f.Holes > 0 {
			w = append(w, geo.Counted(f.Holes, "hole"))
		}
	}
	if f.Lines > 0 {
		w = append(w, geo.Counted(f.Lines, "line"))
	}
	if f.Points > 0 {
		w = append(w, geo.Counted(f.Points, "point"))
	}
	if len(w) == 0 {
		w = append(w, "no shape")
	}
	if f.Parts+f.Lines > 0 {
		w = append(w, fmt.Sprintf("%d vertices", f.Vertices))
	}
	if f.AreaM2 > 0 {
		w = append(w, fmt.Sprintf("%.4f ha", f.AreaM2/geo.HectareM2), fmt.Sprintf("%.1f m around", f.PerimeterM))
	}
	return strings.Join(w, ", ")
}
