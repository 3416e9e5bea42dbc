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

	"hemrow/geo"
	"hemrow/geo/field"
	"hemrow/geo/format"
)

func (a *app) check() *cobra.Command {
	return &cobra.Command{
		Use:   "check FILE…",
		Short: "Say what an outline file holds and what is wrong with it",
		Long: `Check reads outline files and says what is in them: features, parts, holes,
vertices, area, perimeter, where on the earth, faults with their places, and
what would be repaired. It plans nothing and changes nothing. - reads standard
input.
` + exitHelp,
		Args: cobra.MinimumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			var errs []error
			for i, name := range args {
				if i > 0 {
					fmt.Fprintln(a.out)
				}
				file, err := readOutline(c.Context(), name, a.in)
				if err != nil {
					errs = append(errs, err)
					continue
				}
				rep := field.Look(c.Context(), file)
				if err := c.Context().Err(); err != nil {
					return err
				}
				printLook(a.out, rep)
				printEdges(c.Context(), a.out, file)
				for _, f := range rep.Features {
					if f.Refused != nil {
						errs = append(errs, f.Refused)
					}
				}
			}
			return errors.Join(errs...)
		},
	}
}

// printLook prints a report for people.
func printLook(w io.Writer, rep field.Report) {
	fmt.Fprintf(w, "%s: %s, %s\n", oneLine(rep.File), rep.Format, geo.Counted(len(rep.Features), "feature"))
	if rep.Declared != "" {
		fmt.Fprintf(w, "  coordinates: %s\n", oneLine(rep.Declared))
	} else {
		fmt.Fprintf(w, "  coordinates: WGS84 longitude and latitude, by the format\n")
	}
	printSome(w, rep.Notes, "  ")
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
		printFaults(w, f.Faults)
		if f.Refused != nil {
			fmt.Fprintf(w, "  would be refused, see below\n")
			continue
		}
		if len(f.Repairs) > 0 {
			fmt.Fprintf(w, "  planning would do and say:\n")
			printSome(w, f.Repairs, "    ")
		}
	}
}

// mostEdgeFeatures is up to how many features edges are listed for.
const mostEdgeFeatures = 6

// printEdges lists the longest edges of each outline by the numbers that
// heading: along edge N takes.
func printEdges(ctx context.Context, w io.Writer, file format.File) {
	if len(file.Features) > mostEdgeFeatures {
		return
	}
	for _, ft := range file.Features {
		one := file
		one.Features = []format.Feature{ft}
		f, _, err := field.Build(ctx, one, nil, field.Spec{})
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
		fmt.Fprintf(w, "  no fault in its rings\n")
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

func printSome(w io.Writer, notes geo.Notes, indent string) {
	for i, n := range notes {
		if i == mostPrinted {
			fmt.Fprintf(w, "%sand %d more\n", indent, len(notes)-i)
			return
		}
		fmt.Fprintf(w, "%s%s\n", indent, oneLine(n.String()))
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
	w = append(w, fmt.Sprintf("%d vertices", f.Vertices))
	if f.AreaM2 > 0 {
		w = append(w, fmt.Sprintf("%.4f ha", f.AreaM2/geo.HectareM2), fmt.Sprintf("%.1f m around", f.PerimeterM))
	}
	return strings.Join(w, ", ")
}
