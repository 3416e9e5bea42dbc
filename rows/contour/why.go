package contour

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// levelGround says why the ground gives rows no direction, empty if it does.
func levelGround(site *Site) string {
	const everyM, share = 5, 0.95
	r, _ := regionOf(site.Area)
	nx, ny := cells(r.bound.Max[0]-r.bound.Min[0], everyM), cells(r.bound.Max[1]-r.bound.Min[1], everyM)
	xs, in := make([]float64, nx), make([]bool, nx)
	for i := range xs {
		xs[i] = r.bound.Min[0] + everyM*(float64(i)+0.5)
	}
	var steep []float64
	for j := range ny {
		y := r.bound.Min[1] + everyM*(float64(j)+0.5)
		r.holds(y, xs, in)
		for i, x := range xs {
			if !in[i] {
				continue
			}
			if gx, gy, ok := site.Design.Gradient(orb.Point{x, y}); ok {
				steep = append(steep, math.Hypot(gx, gy))
			}
		}
	}
	if len(steep) == 0 {
		return "the heights of the ground are not known"
	}
	slices.Sort(steep)
	if s := steep[int(share*float64(len(steep)-1))]; s < flatRatio {
		return fmt.Sprintf("the ground is flat, with slopes up to %.1f %%, so that it does not choose a direction", 100*s)
	}
	return ""
}

// explain says in one sentence why the winner won.
func (c *Choice) explain(lim *Limits) {
	straight, best := &c.Candidates[0], c.Best()
	if best.Method == Straight {
		c.Why = c.whyStraight(lim)
		return
	}
	a, b := &straight.Score, &best.Score
	c.Slight = b.JRatio < a.JRatio+slightRatio && b.Grade995Ratio > a.Grade995Ratio*2/3
	c.Why = fmt.Sprintf("%s win: %.2f of %.2f ha lie inside every limit%s against %.2f ha with straight rows (score %.3f against %.3f), "+
		"the grade exceeded on 0.5 %% of the length is %.1f %% against %.1f %%, and there are %d pieces of row against %d",
		upper(best.Method.String()), best.GoodHa, b.AreaM2/1e4, unjudged(b), straight.GoodHa, b.JRatio, a.JRatio,
		100*b.Grade995Ratio, 100*a.Grade995Ratio, b.Pieces, a.Pieces)
	if lim.TargetRatio != 0 {
		c.Why += fmt.Sprintf("; %.0f %% of the length falls as asked for against %.0f %%", 100*b.FallOKRatio, 100*a.FallOKRatio)
	}
	for i := range c.Candidates {
		if x := &c.Candidates[i]; x.Rejected == "" && x.Score.merit(lim) > b.merit(lim) {
			c.Why += fmt.Sprintf("; %s score %.3f, a tie, in %d pieces", x.Method, x.Score.JRatio, x.Score.Pieces)
		}
	}
	if c.Slight {
		c.Why += fmt.Sprintf("; the gain of %.3f is slight, and straight rows lose little", b.JRatio-a.JRatio)
	}
	c.Why += "."
}

func (c *Choice) whyStraight(lim *Limits) string {
	a := &c.Candidates[0]
	var next, barred *Candidate
	for i := range c.Candidates[1:] {
		switch x := &c.Candidates[i+1]; {
		case x.Rejected != "":
			if barred == nil || x.Score.JRatio > barred.Score.JRatio {
				barred = x
			}
		case next == nil || x.Score.JRatio > next.Score.JRatio:
			next = x
		}
	}
	verb := "win"
	if barred != nil && barred.Score.JRatio > a.Score.JRatio+tieRatio {
		verb = "are laid"
	}
	s := fmt.Sprintf("Straight rows %s with %.2f of %.2f ha inside every limit%s (score %.3f)", verb, a.GoodHa, a.Score.AreaM2/1e4, unjudged(&a.Score), a.Score.JRatio)
	switch {
	case next != nil && next.Score.JRatio > a.Score.JRatio && lim.TargetRatio == 0:
		s += fmt.Sprintf(": %s would gain %.4f, within the %.3f that the chance of row ends decides and not worth bending rows for",
			next.Method, next.Score.JRatio-a.Score.JRatio, tieRatio)
	case next != nil:
		s += fmt.Sprintf(": the best other layout, %s, scores %.3f", next.Method, next.Score.JRatio)
	}
	if barred != nil && barred.Score.JRatio > a.Score.JRatio+tieRatio {
		s += fmt.Sprintf("; %s would score %.3f, but %s", barred.Method, barred.Score.JRatio, barred.Rejected)
	}
	return s + "."
}

// explainPartly says what was done where the survey of heights ends.
func (c *Choice) explainPartly() {
	best := c.Best()
	share := best.Score.NoGroundRatio
	if share <= 0 {
		return
	}
	c.Partly = fmt.Sprintf("The heights of the ground are not known along %.0f m of row, %.1f %% of all: the grade there is not judged and counts as good",
		share*best.Score.LengthM, 100*share)
	if best.Method == ByField || best.Method == Restarted {
		c.Partly += ", and rows run on as straight as their spacing lets them"
	}
}

// unjudged says how much of a score rests on ground that is not known.
func unjudged(s *Score) string {
	if s.NoGroundRatio <= 0 {
		return ""
	}
	return fmt.Sprintf(", %.2f ha of it on ground of unknown height, which is taken as good", s.NoGroundRatio*s.CoverRatio*s.AreaM2/1e4)
}

// upper is the text with a capital first letter, which is of ASCII.
func upper(s string) string { return string(s[0]-'a'+'A') + s[1:] }

// explainDepth says how deep a block one guide could serve, where rows restart.
func (c *Choice) explainDepth(p *portfolio) {
	best := c.Best()
	zones := map[int]bool{}
	for _, r := range best.Rows {
		zones[r.Zone] = true
	}
	if len(zones) < 2 {
		return
	}
	d, to := depthOf(best, p)
	if math.IsInf(d, 1) {
		c.Depth = fmt.Sprintf("Rows begin anew %s: no single run of rows keeps every limit over the whole area.", times(len(zones)-1))
		return
	}
	c.DepthM = d
	c.Depth = fmt.Sprintf("Rows begin anew %s: the slope across them changes along the row so much that rows parallel to %s keep a grade of %s "+
		"for %.0f m to either side, %s (the grade times the distance along the row between two places, over the difference of the slopes across it there).",
		times(len(zones)-1), to, p.lim.gradeText(), d, inRows(d, p.lim.SpacingM))
}

// depthOf is how far rows parallel to one line of the layout keep the grade, and
// which line that is: the guide with most row, or without guides the longest
// row. It is +Inf where they do everywhere.
func depthOf(c *Candidate, p *portfolio) (depthM float64, to string) {
	if len(c.Guides) > 0 {
		g := slices.MaxFunc(c.Guides, func(a, b Guide) int { return cmp.Compare(a.RowsM, b.RowsM) })
		return g.ServesM, "the guide with most row"
	}
	longest := slices.MaxFunc(c.Rows, func(a, b Row) int { return cmp.Compare(lengthM(a.Line), lengthM(b.Line)) })
	curve := NewCurve(longest.Line)
	if curve == nil {
		return math.Inf(1), ""
	}
	return newFiller(p.site, p.lim, nil).serves(curve), "the longest one"
}

// gradeText is the greatest grade in words.
func (l *Limits) gradeText() string {
	s := fmt.Sprintf("%.1f %%", 100*l.GradeRatio)
	if l.HalfSlope {
		s += " or half the slope of the land"
	}
	return s
}

// inRows is a depth in rows.
func inRows(depthM, spacingM float64) string {
	n := int((depthM + geo.CoincidentM) / spacingM)
	if n < 1 {
		return "less than one row"
	}
	return geo.Counted(n, "row")
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}
