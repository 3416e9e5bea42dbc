package report

import (
	"fmt"
	"strings"

	"hemrow/cmd/hemrow/internal/result"
	"hemrow/geo"
)

// gapsListed is how many broken places a summary names before it only counts.
const gapsListed = 4

// curved tells how the rows of each block run, where more than straight rows
// were looked at.
func (s *summary) curved() {
	for _, b := range s.doc.Blocks {
		if b.Curved != nil {
			s.curvedBlock(b)
		}
	}
}

func (s *summary) curvedBlock(b result.Block) {
	c, laid := b.Curved, laidOf(b)
	title := "Rows and the land"
	if len(s.doc.Blocks) > 1 {
		title = cut(title+", block "+named(b.Name, "without a name"), pageColumns)
	}
	s.line("")
	s.line(title)
	s.entry("  Laid", "%s", s.laid(b))
	s.entry("  Why", "%s", clean(c.Why))
	if len(c.Candidates) > 1 {
		s.candidates(c)
	}
	s.entry("  Limits", "%s", s.limits(c.Limits, laid))
	if c.Depth != "" {
		s.entry("  Depth", "%s", clean(c.Depth))
	}
	if laid != nil && len(laid.Gaps) > 0 {
		s.entry("  Broken", "%s", s.broken(laid.Gaps))
	}
	if c.Repeat != nil {
		s.entry("  Receiver", "%s", clean(c.Repeat.Text))
	}
}

// laid is what was laid, in words.
func (s *summary) laid(b result.Block) string {
	text := clean(b.Curved.Laid)
	switch {
	case b.Curved.Passed:
		text += ", the best that follow the land, as the plan asks; straight rows are better"
	case b.Curved.Slight:
		text += "; they gain little over straight rows"
	}
	return text
}

// candidates is the table of all ways of laying.
func (s *summary) candidates(c *result.Curved) {
	_, lengthUnit := converted(0, "m", s.units)
	_, areaUnit := converted(0, "ha", s.units)
	row := func(mark, name string, cells ...any) {
		s.line(pad(mark+" "+cut(name, 32), 34) + fmt.Sprintf("%9s%8s%8s%7s%9s%15s%9s", cells...))
	}
	row(" ", "", "inside", "score", "pieces", "short", "worst", "spacing", "tightest")
	row(" ", "", "limits", "", "", "", "grade", "99 % of sides", "radius")
	row(" ", "", areaUnit, "", "", "", "%", lengthUnit, lengthUnit)
	for _, a := range c.Candidates {
		mark := " "
		if a.Laid {
			mark = "*"
		}
		m := func(lengthM float64, decimals string) string {
			v, _ := converted(lengthM, "m", s.units)
			return fmt.Sprintf(decimals, v)
		}
		inside, _ := converted(a.GoodM2/geo.HectareM2, "ha", s.units)
		radius, spacing := "-", "-"
		if a.TightestM != nil {
			radius = m(*a.TightestM, "%.1f")
		}
		if a.SpacingHighM > 0 {
			spacing = m(a.SpacingLowM, "%.2f") + " to " + m(a.SpacingHighM, "%.2f")
		}
		row(mark, clean(a.Method), fmt.Sprintf("%.2f", inside), fmt.Sprintf("%.3f", a.Score), itoa(a.PiecesNo), itoa(a.ShortNo),
			fmt.Sprintf("%.1f", a.WorstGradePct), spacing, radius)
	}
	for _, a := range c.Candidates {
		if a.Rejected != "" {
			for i, l := range wrap(clean(a.Method)+" may not be laid: "+clean(a.Rejected), pageColumns-4) {
				s.line("  " + strings.Repeat(" ", 2*min(i, 1)) + l)
			}
		}
	}
	s.line("  * laid. The score is the share of the open area inside every limit, less a price for turns")
}

// limits are the limits in words.
func (s *summary) limits(l result.Limits, laid *result.Candidate) string {
	half := ""
	if l.HalfSlope {
		half = " and half the slope of the land"
	}
	text := fmt.Sprintf("grade to %s %%%s over %s, rows %s apart, radius %s or more, rows of %s or more",
		decimals(l.GradePct, 2), half, amount(l.ChordM, "m", s.units), span(amount(l.NarrowM, "m", s.units), amount(l.WideM, "m", s.units)),
		amount(l.RadiusM, "m", s.units), amount(l.ShortestM, "m", s.units))
	if l.TargetPct != 0 {
		text += fmt.Sprintf("; rows should fall %s %% towards %s", decimals(l.TargetPct, 2), clean(l.TargetSide))
		if laid != nil {
			text += fmt.Sprintf(": %.0f %% of the length laid does, the mean is %.2f %%", laid.FallOKPct, laid.FallMeanPct)
		}
	}
	return text
}

// broken names the first broken places by their longitude and latitude.
func (s *summary) broken(gaps []result.Gap) string {
	list := make([]string, 0, gapsListed+1)
	for _, g := range gaps[:min(gapsListed, len(gaps))] {
		text := fmt.Sprintf("%s at %.6f, %.6f", length(g.GapM, s.units), g.LonLat.LonDeg(), g.LonLat.LatDeg())
		if g.AskedM != nil {
			text += fmt.Sprintf(" (radius %s)", length(*g.AskedM, s.units))
		}
		list = append(list, text)
	}
	if more := len(gaps) - len(list); more > 0 {
		list = append(list, fmt.Sprintf("and %d more", more))
	}
	return fmt.Sprintf("%s where a row would bend too tightly or run in a ring, by longitude and latitude: %s", geo.Counted(len(gaps), "gap"), strings.Join(list, "; "))
}

// told reports a note for information that repeats what stands under a block's
// rows and the land.
func (s *summary) told(n result.Note) bool {
	switch geo.Code(n.Code) {
	case geo.NoteRowsBent, geo.NoteStraightKept, geo.NoteRestart, geo.NoteOneCurve:
	default:
		return false
	}
	for _, b := range s.doc.Blocks {
		if b.Curved != nil && n.Severity == "info" && n.Place == "block "+b.Name {
			return true
		}
	}
	return false
}
