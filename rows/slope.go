package rows

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/terrain"
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

// Grades along rows of orchards that are set out against erosion: the lesser
// of half the slope of the land and a cap, which is higher where the alleys
// are kept covered (USDA NRCS Conservation Practice Standard 331, Contour
// Orchard and Other Perennial Crops, criteria for row grade). Land under
// levelPct is outside what Standard 330, Contour Farming, is meant for (2 to
// 10 %), and its rows pass whatever they do.
const (
	coveredCapPct = 10
	bareCapPct    = 4
	halfOfLand    = 0.5
	levelPct      = 2
)

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
	gradeM                  float64 // grades beyond the standard
	side, grade             extreme
}

// extreme is the worst place of all.
type extreme struct {
	pct, atM float64
	piece    string
}

// sameSlopePct: slopes that differ by less are the same place to a reader, who
// sees a tenth of a percent; the first of them is named on every processor.
const sameSlopePct = 0.001

func (e *extreme) see(pct, atM float64, piece string) {
	if math.Abs(pct) > math.Abs(e.pct)+sameSlopePct {
		e.pct, e.atM, e.piece = pct, atM, piece
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
		for _, pc := range r.Pieces {
			p.measure(&l, p.PieceName(r, pc), pc)
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

// measure adds one piece.
func (p *planner) measure(l *lie, name string, pc Piece) {
	if pc.Slope == nil {
		return
	}
	s := pc.Slope
	l.totalM += pc.PlanM
	if s.OutsideM > geo.CoincidentM {
		l.offM += s.OutsideM
		l.offRows++
	}
	l.side.see(s.ChordSidePct, s.ChordSideAtM, name)
	l.grade.see(s.ChordGradePct, s.ChordAtM, name)
	a, b := pc.Line.Ends()
	lengthM := math.Hypot(b[0]-a[0], b[1]-a[1])
	n := int(math.Ceil(lengthM / slopeStepM))
	dir := orb.Point{(b[0] - a[0]) / lengthM, (b[1] - a[1]) / lengthM}
	stepM := pc.PlanM / float64(n)
	half := min(p.Spec.GradeChordM, lengthM) / 2
	for i := range n {
		u := (float64(i) + 0.5) / float64(n) * lengthM
		at := orb.Point{a[0] + u*dir[0], a[1] + u*dir[1]}
		gx, gy, ok := p.Field.Surface.Gradient(at)
		if !ok {
			continue
		}
		l.lean(100*math.Abs(gx*dir[1]-gy*dir[0]), stepM)
		u = min(max(u, half), lengthM-half) // the chord stays on the row
		z0, ok0 := p.Field.Surface.Height(orb.Point{a[0] + (u-half)*dir[0], a[1] + (u-half)*dir[1]})
		z1, ok1 := p.Field.Surface.Height(orb.Point{a[0] + (u+half)*dir[0], a[1] + (u+half)*dir[1]})
		land := 100 * math.Hypot(gx, gy)
		if ok0 && ok1 && half > 0 && land >= levelPct && 100*math.Abs(z1-z0)/(2*half) > min(halfOfLand*land, p.Spec.capPct()) {
			l.gradeM += stepM
		}
	}
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
	worst := math.Abs(l.side.pct)
	if l.noticeM == 0 || worst <= sideNoticePct {
		return
	}
	n := geo.Note{
		Code: geo.NoteSideSlope, Severity: geo.Caution, Value: worst, Limit: sideNoticePct, Unit: "%",
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
	n.Text += fmt.Sprintf("; the worst %.0f m are in row %s at %.0f m, %.1f %%", p.Spec.GradeChordM, l.side.piece, l.side.atM, worst)
	p.note(n)
}

// noteGrade cautions where rows run steeper than the standards against erosion
// allow.
func (p *planner) noteGrade(l *lie) {
	if l.gradeM == 0 {
		return
	}
	alleys := "covered alleys"
	if !p.Spec.AlleyCover {
		alleys = "bare alleys"
	}
	p.note(geo.Note{
		Code: geo.NoteRowGrade, Severity: geo.Caution, Value: math.Abs(l.grade.pct), Limit: p.Spec.capPct(), Unit: "%",
		Text: fmt.Sprintf("%.0f of %.0f m of row run steeper than USDA NRCS practice standards 330 and 331 have contour rows run (half the slope of the land, at most %.0f %% with %s); "+
			"the steepest %.0f m are in row %s at %.0f m, %.1f %%",
			l.gradeM, l.totalM, p.Spec.capPct(), alleys, p.Spec.GradeChordM, l.grade.piece, l.grade.atM, math.Abs(l.grade.pct)),
		Hint: "film sheds all rain onto the alley and water runs along the rows: lay the rows more along the slope, keep alleys in sod, lead the water to a stable outlet; local erosion rules and advisers decide",
	})
}
