package report

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"hemrow/cmd/hemrow/internal/result"
	"hemrow/geo"
)

const (
	pageColumns  = 100 // the widest line of a summary
	labelColumns = 12
	nameColumns  = 44
)

// Summary is the result in plain words for the grower, in lines of at most
// 100 characters. units is metric or us, whatever the document prefers.
func Summary(d result.Document, units string) []byte {
	s := summary{doc: d, units: units}
	title := cut(named(d.Field.Name, "Field"), pageColumns)
	s.line(title)
	s.line(strings.Repeat("=", utf8.RuneCountInString(title)))
	s.field()
	s.rows()
	if len(d.Blocks) > 1 {
		s.blocks()
	}
	s.curved()
	s.takeoff()
	s.notes()
	return []byte(s.String())
}

type summary struct {
	strings.Builder
	doc      result.Document
	units    string
	openTold bool // what the open area is
}

func (s *summary) line(text string) {
	s.WriteString(strings.TrimRight(text, " "))
	s.WriteByte('\n')
}

// entry is a label with text beside it, wrapped.
func (s *summary) entry(label, format string, args ...any) {
	s.beside(labelColumns, label, fmt.Sprintf(format, args...))
}

// beside is a label in so many columns with text beside it, wrapped.
func (s *summary) beside(columns int, label, text string) {
	for _, l := range wrap(text, pageColumns-columns) {
		s.line(pad(label, columns) + l)
		label = ""
	}
}

func (s *summary) field() {
	f := s.doc.Field
	working := ""
	if f.WorkingAreaM2 != nil {
		working = fmt.Sprintf("; %s of working area", area(*f.WorkingAreaM2, s.units))
	}
	s.entry("Field", "%s in %s, %s round%s", area(f.AreaM2, s.units), geo.Counted(s.doc.Totals.Blocks, "block"), length(f.PerimeterM, s.units), working)
	if t := s.doc.Terrain; t != nil {
		part := ""
		if off := s.doc.Totals.OffTerrainM; off > 0 {
			part = fmt.Sprintf("; %s of row lie outside the survey and count as level", length(off, s.units))
		}
		s.entry("Terrain", "%s above sea level, on average %s; mean slope %.1f %%, 95 %% of the ground below %.1f %%; %s%s",
			span(amount(t.LowestM, "m", s.units), amount(t.HighestM, "m", s.units)), amount(t.MeanM, "m", s.units), t.MeanSlopePct, t.Slope95Pct, clean(t.Method), part)
	}
	if len(f.Obstacles) > 0 {
		names := make([]string, len(f.Obstacles))
		for i, o := range f.Obstacles {
			names[i] = named(o.Name, "without a name")
		}
		s.entry("Obstacles", "%s", strings.Join(names, ", "))
	}
}

func (s *summary) rows() {
	t := s.doc.Totals
	if t.Rows == 0 {
		s.entry("Rows", "none fits")
		return
	}
	first, last := s.doc.Rows[0], s.doc.Rows[len(s.doc.Rows)-1]
	s.entry("Rows", "%s (%s) in %s of %s; rows are %s apart", geo.Counted(t.Rows, "row"), span(first.Name, last.Name),
		geo.Counted(t.Pieces, "piece"), span(length(t.ShortestM, s.units), length(t.LongestM, s.units)), amount(s.doc.Blocks[0].SpacingM, "m", s.units))
	if len(s.doc.Blocks) == 1 {
		s.entry("Direction", "%s", direction(s.doc.Blocks[0]))
	}
	ground := "taken as the same on the ground, whose height and slope are not known"
	switch h := s.doc.Frame.HeightM; {
	case s.doc.Terrain != nil && t.PlanM > 0:
		ground = fmt.Sprintf("%s along the ground, %s or %.2f %% more", length(t.GroundM, s.units), length(t.GroundM-t.PlanM, s.units), 100*(t.GroundM/t.PlanM-1))
	case h != nil:
		ground = fmt.Sprintf("%s at the height of the ground (%s), as if it were level", length(t.GroundM, s.units), amount(*h, "m", s.units))
	}
	s.entry("Length", "%s in plan, %s", length(t.PlanM, s.units), ground)
	if t.LeftCount > 0 {
		s.entry("Left out", "%s too short to lay, %s in all", geo.Counted(t.LeftCount, "piece"), length(t.LeftM, s.units))
	}
	ahead := ""
	if t.AheadPast > 0 {
		ahead = fmt.Sprintf("; %s within rows, %s", geo.Counted(t.AheadPast, "gap"), length(t.AheadM, s.units))
	}
	drives := ""
	if t.Drives > 0 {
		drives = fmt.Sprintf(", %s to other rows", geo.Counted(t.Drives, "drive"))
	}
	s.entry("Turns", "%s, %s%s, %s of way in all%s", geo.Counted(t.PlainTurns, "plain turn"), geo.Counted(t.BulbTurns, "bulb turn"), drives, length(t.TurnPathM, s.units), ahead)
	if t.StationsNo > 0 {
		s.entry("Plants", "%s along the rows", geo.Counted(t.StationsNo, "place"))
	}
}

// direction is the heading of a block's rows in words.
func direction(b result.Block) string {
	if b.Tally.Rows == 0 {
		return "no rows"
	}
	deg, a, z := geo.Bearing(b.HeadingDeg).HeadingText(2), clean(b.EndA), clean(b.EndB)
	if follows(b) {
		return fmt.Sprintf("rows follow the land, on average %s deg from true north, roughly from %s to %s; each row's own ends stand in rows.csv", deg, a, z)
	}
	return fmt.Sprintf("%s deg from true north, from %s (end A) to %s (end B)", deg, a, z)
}

func (s *summary) blocks() {
	s.line("")
	s.line("Blocks")
	for _, b := range s.doc.Blocks {
		rows := "no rows"
		if b.Tally.Rows > 0 {
			ground := ""
			if s.doc.Terrain != nil {
				ground = fmt.Sprintf(", %s along the ground", length(b.Tally.GroundM, s.units))
			}
			rows = fmt.Sprintf("%s (%d to %d) in %s, %s in plan%s; %s", geo.Counted(b.Tally.Rows, "row"), b.FirstRowNo, b.LastRowNo,
				geo.Counted(b.Tally.Pieces, "piece"), length(b.Tally.PlanM, s.units), ground, direction(b))
		}
		label := "  " + named(b.Name, "?")
		if len([]rune(label)) >= labelColumns { // a line of its own
			s.line(label)
			label = ""
		}
		s.entry(label, "%s; %s", area(b.AreaM2, s.units), rows)
	}
}

func (s *summary) takeoff() {
	t := s.doc.Takeoff
	if len(t.Quantities) == 0 {
		return
	}
	s.line("")
	s.line("What it takes (cover: " + clean(t.Cover) + ")")
	estimates := false
	for _, q := range t.Quantities {
		v, unit := converted(q.Value, q.Unit, s.units)
		mark := ""
		if q.Estimate {
			mark, estimates = "  estimate", true
		}
		name := wrap(named(q.Name, q.Key), nameColumns)
		for _, l := range name[:len(name)-1] {
			s.line("  " + l)
		}
		s.line("  " + pad(name[len(name)-1], nameColumns) + fmt.Sprintf("%14s %s%s", figure(v), cut(one(v, clean(unit)), 20), mark))
	}
	if estimates {
		s.line("  An estimate is a judgement and no count: see take-off.csv for what it rests on.")
	}
	s.line("  How each figure was counted, from what and by which source: take-off.csv")
}

func (s *summary) notes() {
	for _, part := range []struct{ severity, title string }{
		{"info", "For information"}, {"caution", "Look at these before you order or drive"}, {"serious", "Serious: settle these first"},
	} {
		title := part.title
		for _, n := range s.doc.Notes {
			if n.Severity != part.severity || s.told(n) {
				continue
			}
			if title != "" {
				s.line("")
				s.line(title)
				title = ""
			}
			text := named(n.Text, n.Code)
			if p := clean(n.Place); p != "" {
				text = p + ": " + text
			}
			if h := clean(n.Hint); h != "" {
				text += ". What to do: " + h
			}
			mark := "  - "
			for _, l := range wrap(text, pageColumns-len(mark)) {
				s.line(mark + l)
				mark = "    "
			}
		}
	}
}
