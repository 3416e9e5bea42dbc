package rows

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/rows/contour"
)

// noteCurved says how the rows of a block came to be straight or bent, and what
// to know of bent ones.
func (p *planner) noteCurved(name string, cv *Curved) {
	c := &cv.Choice
	laid := cv.Laid()
	if laid.Method == contour.Straight {
		p.noteIn(name, geo.Note{Code: geo.NoteStraightKept, Severity: geo.Info, Text: c.Why})
		if p.Spec.Style == StyleContour && len(c.Candidates) > 1 {
			p.noteIn(name, geo.Note{
				Code: geo.NoteStraightKept, Severity: geo.Caution,
				Text: "the style asks for bent rows, but none pass: " + refusals(c),
				Hint: "look at tightest_curve, narrowest_spacing and grade_limit, or divide the block",
			})
		}
		return
	}
	text := c.Why
	if cv.Passed {
		text += fmt.Sprintf(" The style asks for bent rows: %s are laid.", laid.Method)
	}
	p.noteIn(name, geo.Note{Code: geo.NoteRowsBent, Severity: geo.Info, Text: text, Value: laid.GoodHa, Unit: "ha"})
	if c.Depth != "" {
		p.noteIn(name, geo.Note{Code: geo.NoteRestart, Severity: geo.Info, Text: c.Depth, Value: c.DepthM, Unit: "m"})
	}
	if c.Partly != "" {
		p.noteIn(name, geo.Note{Code: geo.NoteTerrainMissing, Severity: geo.Caution, Text: c.Partly, Hint: "survey the missing ground before these rows are laid"})
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
	p.noteGaps(name, laid)
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
func (p *planner) noteGaps(name string, laid *contour.Candidate) {
	var lostM float64
	tight := contour.Gap{RadiusM: math.Inf(1)}
	for _, g := range laid.Gaps {
		lostM += g.GapM
		if g.RadiusM < tight.RadiusM {
			tight = g
		}
	}
	if lostM == 0 {
		return
	}
	lim := p.Spec.limits()
	n := geo.Note{
		Code: geo.NoteRowsBroken, Severity: geo.Info, Value: lostM, Limit: lim.RadiusM, Unit: "m",
		Text: fmt.Sprintf("rows are broken at %s, %.0f m in all, where they would bend tighter than %.1f m", geo.Counted(len(laid.Gaps), "place"), lostM, lim.RadiusM),
		Hint: "lift the layer there, or plant these places by hand; the list has each",
	}
	if !math.IsInf(tight.RadiusM, 1) {
		n.Text += fmt.Sprintf("; the tightest asks for %.1f m, near %s", tight.RadiusM, p.whereText(tight.At))
	}
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

// noteStrain cautions where curves stretch the film's edge.
func (p *planner) noteStrain(name string, cv *Curved) {
	strainPct, stopPct := 100*cv.Laid().Score.StrainMaxRatio, p.Spec.Curving.StrainPct
	if strainPct <= stopPct*strainWarnShare {
		return
	}
	p.noteIn(name, geo.Note{
		Code: geo.NoteFilmStrain, Severity: geo.Caution, Value: strainPct, Limit: stopPct, Unit: "%",
		Text: fmt.Sprintf("on the tightest curve, of %.1f m, one edge of the film has to be %.1f %% longer than its middle (half its width over the radius; %g %% is the limit set)",
			cv.Laid().Score.RadiusMinM, strainPct, stopPct),
		Hint: "lay slowly there and watch the inner edge for wrinkles; a trial on a curve of that radius tells more than any figure",
	})
}

// strainWarnShare of the greatest strain is where the caution begins: 1 % of 3 %
// (common practice, no source).
const strainWarnShare = 1.0 / 3

func (p *planner) noteIn(block string, n geo.Note) {
	n.Place = "block " + block
	p.note(n)
}
