package report

import (
	"fmt"
	"strings"

	"hemrow/cmd/hemrow/internal/result"
	"hemrow/geo"
)

const (
	// gapsListed is how many broken places a summary names before it only counts.
	gapsListed = 4
	// landColumns are those of the labels under rows and the land.
	landColumns = 14
)

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
	s.land("Laid", s.laid(b))
	s.land("Why", c.Why)
	if len(c.Candidates) > 1 {
		s.candidates(c)
		s.land("Open area", s.openArea(c.Candidates[0].AreaM2))
	}
	s.land("Grade", gradeKept(c))
	s.land("No heights", c.Partly)
	s.land("Limits", s.limits(c.Limits, laid))
	s.land("Depth", c.Depth)
	if laid != nil && len(laid.Gaps) > 0 {
		s.land("Broken", s.broken(laid.Gaps))
	}
	if c.Repeat != nil {
		s.land("Receiver", c.Repeat.Text)
	}
}

// land is an entry under rows and the land, none without text.
func (s *summary) land(label, text string) {
	if text = clean(text); text != "" {
		s.beside(landColumns, "  "+label, text)
	}
}

// openArea is the area that candidates are measured against; what it is, is
// told once.
func (s *summary) openArea(areaM2 float64) string {
	text := area(areaM2, s.units)
	if !s.openTold {
		text += ": what is left of the block less obstacles and, all round, the side clearance or the headland, whichever is less; the working area has the headlands taken off too"
		s.openTold = true
	}
	return text
}

// gradeKept is how the rows laid keep the limit of grade, with straight ones
// beside them; nothing where no ground is known.
func gradeKept(c *result.Curved) string {
	kept := func(a result.Candidate) string {
		return fmt.Sprintf("on %.1f %% of the length, worst %.1f %%", a.OnGradePct, a.WorstGradePct)
	}
	text, beside, where := "", "", ""
	for i, a := range c.Candidates {
		switch {
		case a.PiecesNo == 0 || a.NoGroundPct >= 100:
		case a.Laid:
			text = "kept " + kept(a)
		case i == 0:
			beside = "; straight rows would keep it " + kept(a)
		}
		if a.NoGroundPct > 0 && (a.Laid || i == 0) {
			where = " (where heights are known)"
		}
	}
	if text == "" {
		return ""
	}
	return text + beside + where
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
	start := func(mark, name string) string { return pad(mark+" "+cut(name, 32), 34) }
	row := func(mark, name string, cells ...any) {
		s.line(start(mark, name) + fmt.Sprintf("%9s%8s%8s%7s%9s%15s%9s", cells...))
	}
	row(" ", "", "inside", "score", "pieces", "short", "worst", "spacing", "tightest")
	row(" ", "", "limits", "", "", "", "grade", "nearly always", "radius")
	row(" ", "", areaUnit, "", "", "", "%", lengthUnit, lengthUnit)
	for _, a := range c.Candidates {
		mark := " "
		if a.Laid {
			mark = "*"
		}
		if a.PiecesNo == 0 && a.Rejected != "" {
			s.line(start(mark, clean(a.Method)) + "   no bent row fits")
			continue
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
	for _, text := range refusals(c) {
		for i, l := range wrap(text, pageColumns-4) {
			s.line("  " + strings.Repeat(" ", 2*min(i, 1)) + l)
		}
	}
	s.line("  * laid. The score is the share of the open area inside every limit, less a price for turns;")
	s.line("    spacing is to the next row on either side, but for 1 place in 200 nearer and 1 in 200 farther")
}

// refusals are why candidates may not be laid, each reason once: those laid
// all the same have a note, and where no fall is aimed at, to have no rows is
// the reason, which the table says.
func refusals(c *result.Curved) (list []string) {
	var reasons []string
	methods := map[string][]string{}
	for _, a := range c.Candidates {
		why := clean(a.Rejected)
		if why == "" || a.Laid || strings.Contains(clean(c.Why), why) || (a.PiecesNo == 0 && c.Limits.TargetPct == 0) {
			continue
		}
		if len(methods[why]) == 0 {
			reasons = append(reasons, why)
		}
		methods[why] = append(methods[why], clean(a.Method))
	}
	for _, why := range reasons {
		list = append(list, strings.Join(methods[why], ", ")+" may not be laid: "+why)
	}
	return list
}

// limits are the limits in words.
func (s *summary) limits(l result.Limits, laid *result.Candidate) string {
	half := ""
	if l.HalfSlope {
		half = " and half the slope of the land"
	}
	text := fmt.Sprintf("grade to %s %%%s over %s, rows %s apart, radius %s or more; pieces shorter than %s do not count",
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
