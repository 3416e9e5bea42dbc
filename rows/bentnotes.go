package rows

import (
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/polygon"
	"hemrow/rows/contour"
)

// noteCurved says how the rows of a block came to be straight or bent, and what
// to know of bent ones.
func (p *planner) noteCurved(name string, cv *Curved) {
	c := &cv.Choice
	laid := cv.Laid()
	if c.Partly != "" {
		p.noteIn(name, geo.Note{Code: geo.NoteTerrainMissing, Severity: geo.Caution, Text: c.Partly, Hint: "survey the missing ground before these rows are laid"})
	}
	p.noteSteep(name, cv)
	if laid.Method == contour.Straight {
		p.noteIn(name, geo.Note{Code: geo.NoteStraightKept, Severity: geo.Info, Text: c.Why})
		if p.Spec.Style == StyleContour && len(c.Candidates) > 1 {
			p.noteIn(name, geo.Note{
				Code: geo.NoteStraightKept, Severity: geo.Caution,
				Text: "the style asks for bent rows, but none pass: " + refusals(c),
				Hint: "loosen tightest_curve and edge_strain, narrowest_spacing or grade_limit, take target_fall out if it is set, or divide the block",
			})
		}
		return
	}
	text := c.Why
	if c.Overruled {
		text += fmt.Sprintf(" The style asks for bent rows: %s are laid.", laid.Method)
	}
	p.noteIn(name, geo.Note{Code: geo.NoteRowsBent, Severity: geo.Info, Text: text, Value: laid.GoodHa, Unit: "ha"})
	if c.Depth != "" {
		p.noteIn(name, geo.Note{Code: geo.NoteRestart, Severity: geo.Info, Text: c.Depth, Value: c.DepthM, Unit: "m"})
	}
	if laid.Rejected != "" {
		p.noteIn(name, geo.Note{
			Code: geo.NoteBentWorse, Severity: geo.Caution, Text: "they would not be laid by style: best, since " + laid.Rejected,
			Hint: "count the plants lost against the grade gained before ordering",
		})
	}
	for _, w := range laid.Warnings {
		p.noteIn(name, geo.Note{Code: geo.NoteBentWorse, Severity: geo.Caution, Text: w, Hint: "weigh it against what the rows gain; style: straight lays them straight"})
	}
	p.noteGaps(name, cv)
	p.noteClose(name, cv)
	p.noteStrain(name, cv)
	if r := cv.Repeat; r.Text != "" {
		p.noteIn(name, geo.Note{Code: geo.NoteOneCurve, Severity: geo.Info, Text: "a receiver that repeats one curve: " + r.Text, Value: r.WorstM, Limit: p.Spec.Curving.GuideErrM, Unit: "m"})
	}
}

// refusals is why each bent candidate was rejected.
func refusals(c *contour.Choice) (out string) {
	for _, x := range c.Candidates[1:] {
		if x.Rejected != "" {
			if out != "" {
				out += "; "
			}
			out += fmt.Sprintf("%s: %s", x.Method, x.Rejected)
		}
	}
	return out
}

// noteGaps lists where rows are broken.
func (p *planner) noteGaps(name string, cv *Curved) {
	lim := &cv.Limits
	var lostM float64
	tight, places := contour.Gap{RadiusM: math.Inf(1)}, 0
	for _, g := range cv.Laid().Gaps {
		if g.RadiusM >= lim.RadiusM {
			continue // where a ring was opened to get in and out
		}
		places++
		lostM += g.GapM
		if g.RadiusM < tight.RadiusM {
			tight = g
		}
	}
	if lostM == 0 {
		return
	}
	n := geo.Note{
		Code: geo.NoteRowsBroken, Severity: geo.Info, Value: lostM, Limit: lim.RadiusM, Unit: "m",
		Text: fmt.Sprintf("rows are broken at %s, %.0f m in all, where they would bend tighter than %.1f m", geo.Counted(places, "place"), lostM, lim.RadiusM),
		Hint: "lift the layer there, or plant these places by hand; rows.geojson has each",
	}
	n.Text += fmt.Sprintf("; the tightest asks for %.1f m, near %s", tight.RadiusM, p.whereText(tight.At))
	p.noteIn(name, n)
}

// whereText is a place in the frame in words that can be found on the ground.
func (p *planner) whereText(at orb.Point) string {
	ll := p.Field.Frame.ToLonLat(at)
	return fmt.Sprintf("%.6f, %.6f (longitude, latitude)", ll.LonDeg, ll.LatDeg)
}

// noteClose says where rows come nearer than the window allows, or are wider
// apart.
func (p *planner) noteClose(name string, cv *Curved) {
	var nearM, wideM float64
	for _, r := range cv.Laid().Score.Broken {
		if r.Faults&contour.TooNarrow != 0 {
			nearM += r.ToM - r.FromM
		}
		if r.Faults&contour.TooWide != 0 {
			wideM += r.ToM - r.FromM
		}
	}
	lim := &cv.Limits
	s := &cv.Laid().Score
	if nearM > 0 {
		p.noteIn(name, geo.Note{
			Code: geo.NoteRowsClose, Severity: geo.Caution, Value: s.SpacingLeastM, Limit: lim.NarrowRatio * lim.SpacingM, Unit: "m",
			Text: fmt.Sprintf("on %.0f m of row the next row is nearer than %.2f m, at the nearest %.2f m", nearM, lim.NarrowRatio*lim.SpacingM, s.SpacingLeastM),
			Hint: "see that the mower passes there, or leave out the shorter row",
		})
	}
	if wideM > 0 {
		p.noteIn(name, geo.Note{
			Code: geo.NoteRowsWide, Severity: geo.Info, Value: s.SpacingMaxM, Limit: lim.WideRatio * lim.SpacingM, Unit: "m",
			Text: fmt.Sprintf("on %.0f m of row the next row is farther than %.2f m", wideM, lim.WideRatio*lim.SpacingM),
		})
	}
}

// noteSteep cautions where rows do not keep the grade that was asked for.
func (p *planner) noteSteep(name string, cv *Curved) {
	s, lim := &cv.Laid().Score, &cv.Limits
	knownM := s.LengthM * (1 - s.NoGroundRatio)
	overM := knownM * (1 - s.OnGradeRatio)
	if overM < slopeStepM {
		return
	}
	half := ""
	if lim.HalfSlope {
		half = " or than half the slope of the land"
	}
	p.noteIn(name, geo.Note{
		Code: geo.NoteGradeLimit, Severity: geo.Caution, Value: 100 * s.GradeMaxRatio, Limit: 100 * lim.GradeRatio, Unit: "%",
		Text: fmt.Sprintf("%.0f of %.0f m of row run steeper than the grade_limit of %g %%%s; the worst is %.1f %%",
			overM, knownM, 100*lim.GradeRatio, half, 100*s.GradeMaxRatio),
		Hint: "the map shows where: leave these places in sod, break the film there, or smooth the land",
	})
}

// noteStrain cautions where curves stretch the film's edge, and says where the
// film asks for wider curves than the machine does.
func (p *planner) noteStrain(name string, cv *Curved) {
	c := &p.Spec.Curving
	if r := c.filmRadiusM(); r > c.RadiusM {
		p.noteIn(name, geo.Note{
			Code: geo.NoteFilmStrain, Severity: geo.Info, Value: r, Limit: c.RadiusM, Unit: "m",
			Text: fmt.Sprintf("curves are kept to %.1f m and wider by the film: %.2f m wide, its edge would stretch by more than edge_strain, %g %%, on the tightest_curve of %g m",
				r, c.FilmM, c.StrainPct, c.RadiusM),
		})
	}
	strainPct := 100 * cv.Laid().Score.StrainMaxRatio
	if strainPct <= min(strainWarnPct, c.StrainPct) {
		return
	}
	p.noteIn(name, geo.Note{
		Code: geo.NoteFilmStrain, Severity: geo.Caution, Value: strainPct, Limit: c.StrainPct, Unit: "%",
		Text: fmt.Sprintf("on the tightest curve, of %.1f m, one edge of the film has to be %.1f %% longer than its middle (half its width over the radius; %g %% is the limit set)",
			cv.Laid().Score.RadiusMinM, strainPct, c.StrainPct),
		Hint: "lay slowly there and watch the inner edge for wrinkles; a trial on a curve of that radius tells more than any figure",
	})
}

// strainWarnPct is the strain from which there is a caution (common practice, no
// source).
const strainWarnPct = 1

// noteEnds cautions where bent rows end before others, without room to turn.
func (p *planner) noteEnds() {
	if p.Spec.HeadlandM == 0 {
		return
	}
	for i, b := range p.Blocks {
		if !b.Bent || b.RowCount == 0 {
			continue
		}
		rows := p.Rows[b.FirstRow-1 : b.FirstRow-1+b.RowCount]
		var names []string
		for _, end := range p.blocked(rows) {
			names = append(names, fmt.Sprintf("%s %c", p.Name(rows[end[0]]), "AB"[end[1]]))
		}
		if len(names) == 0 {
			continue
		}
		list := strings.Join(names[:min(len(names), namedEnds)], ", ")
		if more := len(names) - namedEnds; more > 0 {
			list += fmt.Sprintf(" and %d more", more)
		}
		p.noteIn(p.Blocks[i].Name, geo.Note{
			Code: geo.NoteEndBlocked, Severity: geo.Caution, Value: float64(len(names)), Unit: "ends",
			Text: fmt.Sprintf("%d of %d row ends stand before other rows, nearer than the headland of %g m: %s", len(names), 2*b.RowCount, p.Spec.HeadlandM, list),
			Hint: "lay these rows towards that end and lift out over the alley, or reverse out; leave the outermost row out where the crew needs to turn",
		})
	}
}

// namedEnds is how many row ends a note names.
const namedEnds = 12

// blocked finds the ends of rows, by row and end, with another row across the
// headland ahead of them: nearer to its middle line than half a spacing, which a
// neighbour beside it never is.
func (p *planner) blocked(rows []Row) (out [][2]int) {
	var segs [][2]orb.Point
	var of []int
	for i, r := range rows {
		for _, pc := range r.Pieces {
			line := withoutBreaks(pc.Line)
			for k := 1; k < len(line); k++ {
				segs, of = append(segs, [2]orb.Point{line[k-1], line[k]}), append(of, i)
			}
		}
	}
	index := polygon.NewSegmentIndex(segs)
	for i := range rows {
		for n, e := range endsOf(&rows[i]).end {
			ahead := orb.Point{e.at[0] + p.Spec.HeadlandM*e.out[0], e.at[1] + p.Spec.HeadlandM*e.out[1]}
			met := false
			index.Search(orb.MultiPoint{e.at, ahead}.Bound().Pad(p.Spec.SpacingM/2), func(k int) bool {
				met = of[k] != i && polygon.SegmentDistanceM(e.at, ahead, segs[k][0], segs[k][1]) < p.Spec.SpacingM/2
				return !met
			})
			if met {
				out = append(out, [2]int{i, n})
			}
		}
	}
	return out
}

func (p *planner) noteIn(block string, n geo.Note) {
	n.Place = "block " + block
	p.note(n)
}
