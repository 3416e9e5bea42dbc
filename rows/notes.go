package rows

import (
	"fmt"

	"hemrow/geo"
)

// noteBlock says what the reader of a block's rows must know.
func (p *planner) noteBlock(st *site, b Block, x axes, divided int) {
	s := p.Spec
	note := func(n geo.Note) { p.noteIn(b.Name, n) }
	if b.Curved != nil {
		p.noteCurved(b.Name, b.Curved)
	}
	if b.RowCount == 0 {
		note(geo.Note{
			Code: geo.NoteEmptyBlock, Severity: geo.Caution,
			Text: "no row fits between headlands and clearances",
			Hint: "reduce headland, side_clearance, obstacle_clearance or shortest_row, or leave the block out",
		})
		return
	}
	if b.LeftCount > 0 {
		note(geo.Note{
			Code: geo.NoteShortLeft, Severity: geo.Info,
			Text:  fmt.Sprintf("%s shorter than %g m left out, %.1f m in all", geo.Counted(b.LeftCount, "piece"), s.ShortestM, b.LeftM),
			Value: b.LeftM, Limit: s.ShortestM, Unit: "m",
		})
	}
	if divided > 0 {
		note(geo.Note{
			Code: geo.NoteRunDivided, Severity: geo.Info,
			Text:  fmt.Sprintf("%s of row divided at %s, so that none is longer than %g m", geo.Counted(divided, "piece"), geo.Counted(len(b.Alleys), "cross alley"), s.LongestM),
			Value: float64(len(b.Alleys)), Limit: s.LongestM, Unit: "m",
		})
	}
	t := b.Turning
	if t.OutsidePast > 0 {
		note(geo.Note{
			Code: geo.NoteGapOutside, Severity: geo.Caution,
			Text:  fmt.Sprintf("%s in rows lie outside the outline, %.0f m in all", geo.Counted(t.OutsidePast, "gap"), t.OutsideM),
			Hint:  "the machine has to drive round them, or the rows on either side be laid as blocks of their own",
			Value: t.OutsideM, Unit: "m",
		})
	}
	if t.NeedM > s.HeadlandM+geo.CoincidentM {
		note(geo.Note{
			Code: geo.NoteHeadlandTight, Severity: geo.Caution,
			Text: fmt.Sprintf("the headland of %g m is shallower than the %.1f m that a turn of radius %g m takes, without the length of the implement",
				s.HeadlandM, t.NeedM, s.TurnRadiusM),
			Hint:  "deepen the headland, turn outside the field, or reverse at the row ends",
			Value: s.HeadlandM, Limit: t.NeedM, Unit: "m",
		})
	}
	if vmin, vmax := st.across(x); vmax-vmin < 2*s.SpacingM {
		note(geo.Note{
			Code: geo.NoteSpacingWide, Severity: geo.Info,
			Text:  fmt.Sprintf("the block is %.1f m across the rows, less than two spacings", vmax-vmin),
			Value: vmax - vmin, Limit: 2 * s.SpacingM, Unit: "m",
		})
	}
}

func (p *planner) note(n geo.Note) { p.notes = append(p.notes, n) }
