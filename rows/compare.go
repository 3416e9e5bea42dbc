package rows

import (
	"context"
	"math"
	"slices"

	"hemrow/geo"
	"hemrow/geo/terrain"
	"hemrow/rows/contour"
)

// compare lays a block by the land beside straight rows and says which to lay.
// ch are the best straight rows in plan; what it returns are the straight rows
// that lie best on the ground. Where there is nothing to compare, curved is nil.
func (p *planner) compare(ctx context.Context, i int, b geo.Block, ch choice) (choice, *Curved, error) {
	if p.Field.Surface == nil {
		return ch, nil, nil
	}
	st := &p.site
	area, err := p.openGround(i, st)
	if err != nil {
		p.noteIn(b.Name, geo.Note{
			Code: geo.NoteStraightKept, Severity: geo.Caution,
			Text: "rows are straight, since the ground that bent ones may use could not be confirmed: " + err.Error(),
			Hint: "simplify the outline, or change headland and clearances a little",
		})
		return ch, nil, nil
	}
	lim := p.Spec.limits()
	site := contour.Site{Area: area, Raw: p.Field.Surface, Open: st.opening().cut, Bent: p.Spec.Style == StyleContour}
	step := func(name string) { p.tell("block " + b.Name + ": " + name) }
	step("comparing straight rows on the slope")
	if ch, err = p.levelest(ctx, st, lim, ch); err != nil {
		return ch, nil, err
	}
	box := b.Outline.Bound().Pad(designPadM)
	site.Design = terrain.SampleGrid(site.Raw, box, min(designMostM, max(designLeastM, site.Raw.SpacingM()))).Smooth(p.Spec.SpacingM)
	cv := &Curved{Limits: lim}
	if p.Spec.LongestM > 0 {
		site.Divide = func(m contour.Method, rows []contour.Row) []contour.Row {
			c := crossings{ctx: ctx, longestM: p.Spec.LongestM, widthM: p.Spec.CrossAlleyM, limits: lim, rows: slices.Clone(rows)}
			c.run()
			cv.alleys[m], cv.divided[m] = c.alleys, len(c.met)
			return c.rows
		}
	}
	if cv.Choice, err = contour.Best(ctx, site, lim, p.straightRows(st, ch), step); err != nil {
		return ch, nil, err
	}
	if laid := cv.Laid(); laid.Method != contour.Straight {
		step("looking for one curve to repeat")
		cv.Repeat = contour.Repeatability(laid.Rows, cv.Choice.Candidates[contour.ByGuide].Guides, lim, p.Spec.HeadlandM+guideReachM, p.Spec.Curving.GuideErrM)
	}
	return ch, cv, nil
}

const (
	// designPadM is how far the design terrain goes past the outline, so that
	// smoothing there knows the ground beyond.
	designPadM = 30
	// Between designLeastM and designMostM the design terrain has the spacing of
	// the survey: finer ground is smoothed away, coarser cells would show in the
	// rows.
	designLeastM = 1
	designMostM  = 2
	// guideReachM is how far a guide for repetition runs on straight beyond the
	// headland, to steer in by (common practice, no source).
	guideReachM = 30
)

// straightRows is the rows of a choice.
func (p *planner) straightRows(st *site, ch choice) []contour.Row {
	cut := st.pieces(&p.clip, ch)
	out := make([]contour.Row, len(cut.bits))
	for k, b := range cut.bits {
		out[k] = contour.Row{Line: cut.line(b), Number: b.row}
	}
	return out
}

const (
	levelHeadings = 8 // whose places of row one are tried
	levelOffsets  = 10
	// levelStepM is how far apart the grade is taken when headings are compared.
	levelStepM = 4
	// levelTie is the share of the row length by which another heading must gain
	// to be taken in place of the best in plan: the chance of row ends.
	levelTie = 0.002
)

// levelest finds the straight rows with the greatest length inside the limits,
// less what each piece costs: all headings at one place of row one, then the
// best of them at several. The best rows in plan are kept on a tie.
func (p *planner) levelest(ctx context.Context, st *site, lim contour.Limits, inPlan choice) (choice, error) {
	headings := st.headings()
	offsets := []float64{inPlan.offset}
	if p.Spec.FirstRow.Best {
		offsets = offsets[:0]
		for j := range levelOffsets {
			offsets = append(offsets, p.Spec.SpacingM*float64(j)/levelOffsets)
		}
	}
	tries := make([]choice, len(headings))
	for k, h := range headings {
		tries[k] = choice{h, offsets[len(offsets)/2]}
	}
	found, err := p.levelOf(ctx, st, &lim, tries)
	if err != nil {
		return inPlan, err
	}
	tries = []choice{inPlan}
	for range min(levelHeadings, len(headings)) {
		best := 0
		for k := range found {
			if found[k] > found[best] {
				best = k
			}
		}
		found[best] = math.Inf(-1)
		for _, o := range offsets {
			tries = append(tries, choice{headings[best], o})
		}
	}
	if found, err = p.levelOf(ctx, st, &lim, tries); err != nil {
		return inPlan, err
	}
	best := 0
	for k := range found {
		if margin := levelTie * math.Abs(found[0]); found[k] > found[best] && found[k] > found[0]+margin {
			best = k
		}
	}
	return tries[best], nil
}

// levelOf is the score of choices of straight rows, worked out side by side.
func (p *planner) levelOf(ctx context.Context, st *site, lim *contour.Limits, tries []choice) ([]float64, error) {
	out := make([]float64, len(tries))
	workers := max(1, p.workers)
	share(workers, func(w int) {
		var clip clipper
		for k := w; k < len(tries) && ctx.Err() == nil; k += workers {
			out[k] = p.levelM(st, &clip, lim, tries[k])
		}
	})
	return out, ctx.Err()
}

// levelM is what the grade of straight rows is worth, less what pieces cost.
func (p *planner) levelM(st *site, clip *clipper, lim *contour.Limits, ch choice) (sumM float64) {
	cut := st.pieces(clip, ch)
	for _, b := range cut.bits {
		sumM += contour.GradeWorthM(cut.line(b), p.Field.Surface, *lim, levelStepM)
		sumM -= lim.TurnM
	}
	return sumM
}
