package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"hemrow/geo"
	"hemrow/geo/field"
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
	fmt.Fprintf(w, "%s: %s, %s\n", oneLine(rep.File), rep.Format, counted(len(rep.Features), "feature"))
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

// mostPrinted is how many faults or notes of one feature are printed; the
// rest are counted.
const mostPrinted = 12

func printFaults(w io.Writer, faults []field.Fault) {
	if len(faults) == 0 {
		fmt.Fprintf(w, "  no fault in its rings\n")
		return
	}
	fmt.Fprintf(w, "  %s:\n", counted(len(faults), "fault"))
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
		w = append(w, counted(f.Parts, "polygon"))
		if f.Holes > 0 {
			w = append(w, counted(f.Holes, "hole"))
		}
	}
	if f.Lines > 0 {
		w = append(w, counted(f.Lines, "line"))
	}
	if f.Points > 0 {
		w = append(w, counted(f.Points, "point"))
	}
	w = append(w, fmt.Sprintf("%d vertices", f.Vertices))
	if f.AreaM2 > 0 {
		w = append(w, fmt.Sprintf("%.4f ha", f.AreaM2/geo.HectareM2), fmt.Sprintf("%.1f m around", f.PerimeterM))
	}
	return strings.Join(w, ", ")
}

// counted is a number with its noun, in the plural where it needs one.
func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, strings.TrimSuffix(noun, "s"))
}
