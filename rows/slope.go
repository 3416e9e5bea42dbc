package rows

import (
	"fmt"
	"math"

	"hemrow/geo"
	"hemrow/geo/terrain"
	"hemrow/rows/contour"
)

// drape lays the pieces of a block on the terrain: heights, ground lengths,
// grades and side slopes. pieces are those of materialise, still level.
func (p *planner) drape(pieces []Piece) {
	s := p.Field.Surface
	if s == nil || len(pieces) == 0 {
		return
	}
	d := terrain.NewDraper(s, p.Field.Frame, p.Spec.GradeChordM)
	for i := range pieces {
		pc := &pieces[i]
		prof := d.Drape(pc.Line.Points())
		pc.Slope, pc.Line, pc.GroundM = &prof, prof.Line, prof.GroundM
	}
}

// Steps of side slope at which driving along a row gets a caution, in percent:
// no safe limit is published, since load, tyres, speed and ground decide
// (common practice, no source). The first two are cautions, the last is
// serious.
const (
	sideNoticePct  = 10
	sideStrongPct  = 15
	sideSeriousPct = 25
)

// Grades along rows that are set out against erosion, by USDA NRCS Conservation
// Practice Standards. 331, Contour Orchard and Other Perennial Crops: the lesser
// of half the slope of the land and a cap, which is higher where the alleys are
// kept covered. 330, Contour Farming: the lesser of half the slope and 2 %, on
// land of 2 to 10 %. Their further terms (0.2 % at least on tight soils, more
// near a stable outlet) need what a survey of heights does not say.
const (
	coveredCapPct = 10
	bareCapPct    = 4
	halfOfLand    = 0.5
	farmingCapPct = 2
	farmingLowPct = 2
	farmingTopPct = 10
)

// absurdPct: ground steeper than 45 degrees is a cliff or an error in the data.
const absurdPct = 100

// capPct is the steepest grade of a row.
func (s Spec) capPct() float64 {
	if s.AlleyCover {
		return coveredCapPct
	}
	return bareCapPct
}

// lie is what the terrain says of all rows together, by the metre.
type lie struct {
	totalM, offM            float64
	offRows                 int
	noticeM, strongM, overM float64 // side slopes beyond the steps
	orchardM, farmingM      float64 // grades beyond standards 331 and 330
	side, grade             extreme
	breach                  extreme // of standard 331
}

// extreme is the worst place of all.
type extreme struct {
	pct, atM, limitPct float64
	piece              string
}

// sameSlopePct: slopes that differ by less are the same place to a reader, who
// sees a tenth of a percent; the first of them is named on every processor.
const sameSlopePct = 0.001

func (e *extreme) see(pct, atM, limitPct float64, piece string) {
	if math.Abs(pct) > math.Abs(e.pct)+sameSlopePct {
		*e = extreme{math.Abs(pct), atM, limitPct, piece}
	}
}

// noteTerrain says what the terrain means for the rows: where it ends, where
// the tractor leans, where water would run.
func (p *planner) noteTerrain() {
	if p.Field.Surface == nil {
		return
	}
	var l lie
	for _, r := range p.Rows {
		for k := range r.Pieces {
			p.measure(&l, p.PieceName(r, r.Pieces[k]), &r.Pieces[k])
		}
	}
	if l.totalM == 0 {
		return
	}
	if l.offRows > 0 {
		p.note(geo.Note{
			Code: geo.NoteOffTerrain, Severity: geo.Caution,
			Text: fmt.Sprintf("%s leave the terrain survey over %.0f m in all; there the ground length is the plan length at the mean height",
				geo.Counted(l.offRows, "piece"), l.offM),
			Hint:  "survey the missing ground, or order with slack for it",
			Value: l.offM, Unit: "m",
		})
	}
	p.noteSide(&l)
	p.noteGrade(&l)
}

// slopeStepM is the distance between the places where side slope and grade are
// judged for their metres: a tractor is longer.
const slopeStepM = 2.0

// measure adds one piece and finds the runs of its grade. Slopes of the ground
// are taken over the chord of the spec, so that the noise of single heights does
// not decide: 5 cm of it is 0.7 % over 10 m.
func (p *planner) measure(l *lie, name string, pc *Piece) {
	if pc.Slope == nil {
		return
	}
	s := pc.Slope
	l.totalM += pc.PlanM
	if s.OutsideM > geo.CoincidentM {
		l.offM += s.OutsideM
		l.offRows++
	}
	l.side.see(s.ChordSidePct, s.ChordSideAtM, 0, name)
	l.grade.see(s.ChordGradePct, s.ChordAtM, 0, name)
	orchard := contour.Limits{GradeRatio: p.Spec.capPct() / 100, HalfSlope: true} // standard 331
	var runs runs
	for _, at := range contour.Places(pc.Line.Points(), p.Field.Surface, p.Spec.GradeChordM, slopeStepM) {
		stepM, midM := at.ToM-at.FromM, (at.FromM+at.ToM)/2
		runs.add(at)
		gradePct, sidePct := 100*math.Abs(at.GradeRatio), 100*math.Abs(at.SideRatio)
		landPct := math.Hypot(gradePct, sidePct)
		if math.IsNaN(landPct) {
			continue
		}
		l.lean(sidePct, stepM)
		if limitPct := 100 * orchard.GradeLimitRatio(landPct/100); gradePct > limitPct {
			l.orchardM += stepM
			l.breach.see(gradePct, midM, limitPct, name)
		}
		if landPct >= farmingLowPct && landPct <= farmingTopPct && gradePct > min(halfOfLand*landPct, farmingCapPct) {
			l.farmingM += stepM
		}
	}
	pc.Grades = runs.onGround(pc.Line)
}

func (l *lie) lean(pct, stepM float64) {
	if pct > sideNoticePct {
		l.noticeM += stepM
	}
	if pct > sideStrongPct {
		l.strongM += stepM
	}
	if pct > sideSeriousPct {
		l.overM += stepM
	}
}

// noteSide cautions where the tractor leans.
func (p *planner) noteSide(l *lie) {
	if l.noticeM == 0 {
		return
	}
	n := geo.Note{
		Code: geo.NoteSideSlope, Severity: geo.Caution, Value: l.side.pct, Limit: sideNoticePct, Unit: "%",
		Text: fmt.Sprintf("the tractor leans on %.0f m of row with a side slope beyond %d %%", l.noticeM, sideNoticePct),
		Hint: "these steps are common practice and no limit of safety: the operator's manual and the operator decide; roll bar and seat belt, slow, wide turns",
	}
	if l.strongM > 0 {
		n.Text += fmt.Sprintf(", %.0f m of it beyond %d %%", l.strongM, sideStrongPct)
		n.Limit = sideStrongPct
	}
	if l.overM > 0 {
		n.Text += fmt.Sprintf(", %.0f m beyond %d %%", l.overM, sideSeriousPct)
		n.Severity, n.Limit = geo.Serious, sideSeriousPct
		n.Hint = "do not drive there along the row before the operator's manual and the operator allow it; turn the rows, or lay them by hand. " + n.Hint
	}
	n.Text += fmt.Sprintf(" (means over %g m both ways); the worst %g m of row are in %s at %.0f m, %.1f %%",
		p.Spec.GradeChordM, p.Spec.GradeChordM, l.side.piece, l.side.atM, l.side.pct)
	p.note(n)
}

// otherStyle is where to look for rows nearer to the contour.
func (p *planner) otherStyle() string {
	if p.Spec.Style == StyleStraight {
		return " (style: best looks for rows that follow the land)"
	}
	return ""
}

// noteGrade cautions where rows run steeper than the standards against erosion
// allow.
func (p *planner) noteGrade(l *lie) {
	if l.grade.pct > absurdPct {
		p.note(geo.Note{
			Code: geo.NoteRowGrade, Severity: geo.Serious, Value: l.grade.pct, Limit: absurdPct, Unit: "%",
			Text: fmt.Sprintf("row %s is as steep as %.0f %% at %.0f m: no machine works there", l.grade.piece, l.grade.pct, l.grade.atM),
			Hint: "the heights may be in another unit than taken (height_unit), or hold a stray point",
		})
	}
	if l.orchardM == 0 {
		return
	}
	alleys := "covered alleys"
	if !p.Spec.AlleyCover {
		alleys = "bare alleys"
	}
	n := geo.Note{
		Code: geo.NoteRowGrade, Severity: geo.Caution, Value: l.breach.pct, Limit: l.breach.limitPct, Unit: "%",
		Text: fmt.Sprintf("%.0f of %.0f m of row run steeper than half the slope of the land or than %.0f %%, the grade of USDA NRCS Conservation Practice Standard 331 (Contour Orchard) with %s; "+
			"the worst is row %s at %.0f m, %.1f %% where %.1f %% is the limit",
			l.orchardM, l.totalM, p.Spec.capPct(), alleys, l.breach.piece, l.breach.atM, l.breach.pct, l.breach.limitPct),
		Hint: "film sheds all rain onto the alley and water runs along the rows: lay the rows nearer to the contour, across the fall" + p.otherStyle() + "; keep alleys in sod, lead the water to a stable outlet; local erosion rules and advisers decide",
	}
	if l.farmingM > 0 {
		n.Text += fmt.Sprintf("; by Standard 330 (Contour Farming, 2 %% at most on land of 2 to 10 %%) it is %.0f m", l.farmingM)
	}
	p.note(n)
}
