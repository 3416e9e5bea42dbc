package result

import (
	"fmt"
	"math"

	"hemrow/geo"
	"hemrow/rows"
	"hemrow/rows/contour"
)

// styleOf is how the rows of a block run.
func styleOf(b rows.Block) string {
	if b.Bent {
		return styles()[1]
	}
	return styles()[0]
}

// endsOf are the compass points of a block's ends, by its first row. Where rows
// are bent their ends differ, and the block's are those of its mean heading.
func endsOf(b Block, first rows.Row) (a, z string) {
	if b.Style == styles()[0] {
		return first.EndA.String(), first.EndB.String()
	}
	end := geo.Bearing(b.HeadingDeg).Compass()
	return end.Opposite().String(), end.String()
}

// zoneOf is the zone of a row: where rows are straight there is one.
func (m *maker) zoneOf(r rows.Row) int {
	if !m.Layout.Blocks[r.Block].Bent {
		return 1
	}
	return r.Zone
}

// curved is how rows by the land compare, nil where they were not asked for.
func (m *maker) curved(b rows.Block) (*Curved, error) {
	c := b.Curved
	if c == nil {
		return nil, nil
	}
	if c.Choice.Winner < 0 || c.Choice.Winner >= len(c.Choice.Candidates) {
		return nil, fmt.Errorf("block %s is laid by candidate %d of %d", b.Name, c.Choice.Winner+1, len(c.Choice.Candidates))
	}
	m.see("the depth of block "+b.Name, c.Choice.DepthM)
	out := &Curved{
		Limits: m.limits(c.Limits), Laid: c.Laid().Method.String(), Why: text(c.Choice.Why), Passed: c.Choice.Overruled, Slight: c.Choice.Slight,
		Depth: text(c.Choice.Depth), DepthM: mm(c.Choice.DepthM), Partly: text(c.Choice.Partly), Candidates: make([]Candidate, len(c.Choice.Candidates)),
	}
	for i := range c.Choice.Candidates {
		out.Candidates[i] = m.candidate(&c.Choice.Candidates[i], i == c.Choice.Winner)
	}
	if r := c.Repeat; len(r.Guide) > 0 {
		out.Repeat = m.repeat(r)
	}
	return out, nil
}

func (m *maker) limits(l contour.Limits) Limits {
	m.see("a limit of rows", l.SpacingM, l.NarrowRatio, l.WideRatio, l.GradeRatio, l.TargetRatio, l.ChordM,
		l.RadiusM, l.ShortM, l.GapM, l.TurnM, l.ChordErrM, l.FilmM)
	side := ""
	if l.TargetRatio != 0 {
		m.see("the side that rows fall to", l.TargetSide[0], l.TargetSide[1])
		side = geo.BearingOf(l.TargetSide[0], l.TargetSide[1]).Compass().String()
	}
	return Limits{
		SpacingM: mm(l.SpacingM), NarrowM: mm(l.NarrowRatio * l.SpacingM), WideM: mm(l.WideRatio * l.SpacingM),
		GradePct: pct(l.GradeRatio), HalfSlope: l.HalfSlope, TargetPct: pct(l.TargetRatio), TargetSide: side, ChordM: mm(l.ChordM), RadiusM: mm(l.RadiusM),
		ShortestM: mm(l.ShortM), GapM: mm(l.GapM), PieceCostM: mm(l.TurnM), ChordErrorM: mm(l.ChordErrM), FilmM: mm(l.FilmM),
	}
}

func (m *maker) candidate(c *contour.Candidate, laid bool) Candidate {
	s := &c.Score
	name := c.Method.String()
	m.see(name, c.GoodHa, s.AreaM2, s.GoodRatio, s.CoverRatio, s.JRatio, s.LengthM, c.LeftM, s.GradeMaxRatio, s.Grade995Ratio, s.OnGradeRatio,
		s.NoGroundRatio, s.FallMeanRatio, s.FallOKRatio, s.SpacingLeastM, s.SpacingMinM, s.SpacingMeanM, s.SpacingMaxM, s.InWindowRatio, s.StrainMaxRatio)
	out := Candidate{
		Method: name, Laid: laid, GoodM2: m2(c.GoodHa * geo.HectareM2), AreaM2: m2(s.AreaM2),
		GoodPct: pct(s.GoodRatio), CoverPct: pct(s.CoverRatio), Score: roundTo(s.JRatio, perMicro),
		PiecesNo: s.Pieces, ShortNo: s.Short, LengthM: mm(s.LengthM), LeftCount: c.LeftCount, LeftM: mm(c.LeftM),
		WorstGradePct: pct(s.GradeMaxRatio), Grade995Pct: pct(s.Grade995Ratio), OnGradePct: pct(s.OnGradeRatio), NoGroundPct: pct(s.NoGroundRatio),
		FallMeanPct: pct(s.FallMeanRatio), FallOKPct: pct(s.FallOKRatio),
		SpacingLeastM: mm(s.SpacingLeastM), SpacingLowM: mm(s.SpacingMinM), SpacingMeanM: mm(s.SpacingMeanM), SpacingHighM: mm(s.SpacingMaxM),
		InWindowPct: pct(s.InWindowRatio), TightestM: m.radius(name, s.RadiusMinM), StrainPct: pct(s.StrainMaxRatio),
		GapsNo: len(c.Gaps), Gaps: []Gap{}, Rejected: text(c.Rejected), Warnings: make([]string, len(c.Warnings)),
	}
	for i, w := range c.Warnings {
		out.Warnings[i] = text(w)
	}
	if laid {
		for _, g := range c.Gaps {
			m.see("a gap of "+name, g.At[0], g.At[1], g.GapM)
			out.Gaps = append(out.Gaps, Gap{m.position(g.At), xy(g.At), m.radius(name, g.RadiusM), mm(g.GapM)})
		}
	}
	return out
}

// radius is a radius for the document: nil for that of a straight line, which
// JSON has no number for.
func (m *maker) radius(what string, radiusM float64) *float64 {
	if math.IsInf(radiusM, 1) {
		return nil
	}
	m.see("a radius of "+what, radiusM)
	r := mm(radiusM)
	return &r
}

func (m *maker) repeat(r contour.Repeat) *Repeat {
	m.see("the guide to repeat", r.WorstM, r.ServedM, r.ServedRatio, r.OtherM)
	for _, p := range r.Guide {
		m.see("the guide to repeat", p[0], p[1])
	}
	return &Repeat{
		Guide: m.course(r.Guide), FirstPass: r.First, LastPass: r.Last, WorstM: mm(r.WorstM), ServedM: mm(r.ServedM),
		ServedPct: pct(r.ServedRatio), OtherM: mm(r.OtherM), Whole: r.Whole, Text: text(r.Text),
	}
}

// grades are the stretches of a piece by their grade, none without terrain.
func (m *maker) grades(name string, p rows.Piece) []Grade {
	out := make([]Grade, len(p.Grades))
	at := planAt{line: p.Line}
	for i, g := range p.Grades {
		m.see("a grade of row "+name, g.FromM, g.ToM, g.GradePct)
		out[i] = Grade{
			FromM: mm(g.FromM), ToM: mm(g.ToM), FromPlanM: mm(at.of(g.FromM)), ToPlanM: mm(at.of(g.ToM)),
			Step: g.Step, GradePct: mm(g.GradePct),
		}
	}
	return out
}

// planAt turns chainages along the ground, asked for in rising order, into the
// length of the line in plan up to there.
type planAt struct {
	line  geo.Line
	seg   int     // segment of the last answer
	planM float64 // up to its start
}

func (a *planAt) of(chainageM float64) float64 {
	for a.seg < a.line.Len()-1 {
		p, q := a.line.At(a.seg), a.line.At(a.seg+1)
		d := math.Hypot(q[0]-p[0], q[1]-p[1])
		from, to := a.line.ChainageM(a.seg), a.line.ChainageM(a.seg+1)
		if chainageM < to {
			return a.planM + d*max(0, chainageM-from)/(to-from)
		}
		a.planM += d
		a.seg++
	}
	return a.planM
}

// pct is a ratio in percent, to a thousandth.
func pct(ratio float64) float64 { return mm(100 * ratio) }
