package contour

import (
	"context"
	"fmt"

	"github.com/paulmach/orb"
)

// Method is a way to lay rows.
type Method uint8

// The methods, simplest first.
const (
	Straight  Method = iota // the rows given
	ByGuide                 // [Follow]
	ByField                 // [Fit]
	Restarted               // [Peel]
)

// String is the method in words.
func (m Method) String() string {
	if int(m) < len(methodNames) {
		return methodNames[m]
	}
	return "unknown"
}

var methodNames = [...]string{"straight rows", "rows along a guide", "rows of a field", "rows of a field with restarts"}

// Candidate is what one method made of the ground.
type Candidate struct {
	Method Method
	Layout
	Gaps   []Gap   // where rows were broken
	Guides []Guide // of ByGuide, by zone
	// LaidRatio is CoverRatio before [Break]; rows along a guide and straight
	// ones come as they stay.
	LaidRatio float64
	// GoodHa is the area served by rows inside every limit.
	GoodHa float64 //unit:hectares
	// Rejected says which hard floor the layout fails; empty if none.
	Rejected string
	// Warnings are what a grower must know of a layout that may be used.
	Warnings []string
}

// Choice is the candidates and the one to lay.
type Choice struct {
	Candidates []Candidate // straight rows first, then in the order of the methods
	Winner     int
	// Why is one sentence with figures. Slight tells that a contour layout won
	// by less than most would bend rows for: under 0.03 of score, without a
	// grade lower by a third.
	Why    string
	Slight bool
	// Depth says, where the rows restart, why one guide cannot serve the area,
	// and DepthM how far to either side it could; empty and 0 otherwise.
	Depth  string
	DepthM float64
}

// Best is the candidate to lay.
func (c *Choice) Best() *Candidate { return &c.Candidates[c.Winner] }

// Best lays rows on one block by every method and chooses. Straight rows are
// given, the best the caller knows of; those of the other methods are broken
// where too tight (see [Break]), and all are judged on the raw terrain. Of those
// that pass the hard floors the greatest JRatio wins:
//
//   - no row bends tighter than the least radius;
//   - rows nowhere nearer than 0.05 spacings below the window, less the chord
//     error;
//   - as laid, before breaking, rows of a field cover at least 0.95 of what
//     straight rows cover: no method may win by leaving ground out. What breaking
//     takes no machine could have followed, and JRatio has paid for it;
//   - but no layout may cost more than a tenth of the planting: 0.90 of what
//     straight rows cover must be left in the end. For rows along a guide, which
//     are broken while they are laid, this alone counts.
//
// Differences below 0.002 are ties, the chance of row ends: straight rows win
// those, then the layout of the fewest pieces. Straight rows are never
// rejected, and on ground that is flat or unknown they are the only candidate.
// The step function, if given, is told what begins. The same input gives the
// same choice for any number of processors.
//
// Source of the floors of radius, spacing and cover as laid: the study of this
// method on 18 fields; of 0.90: common practice, no source.
func Best(ctx context.Context, site Site, lim Limits, straight []Row, step func(name string)) (Choice, error) {
	if err := lim.Validate(); err != nil {
		return Choice{}, fmt.Errorf("limits of contour rows: %w", err)
	}
	if site.Design == nil || site.Raw == nil {
		site.Design, site.Raw = unsurveyed{}, unsurveyed{}
	}
	if step == nil {
		step = func(string) {}
	}
	p := &portfolio{ctx: ctx, site: site, lim: &lim, step: step}
	p.add(Candidate{Method: Straight, Layout: Layout{Rows: straight}}, false)
	if len(site.Area) == 0 {
		return p.onlyStraight("there is no ground for rows"), ctx.Err()
	}
	if why := levelGround(&site); why != "" {
		return p.onlyStraight(why), ctx.Err()
	}
	if err := p.layAll(); err != nil {
		return Choice{}, err
	}
	return p.choose(), nil
}

// portfolio is the state of one Best.
type portfolio struct {
	ctx  context.Context
	site Site
	lim  *Limits
	step func(string)
	all  []Candidate
}

// layAll runs the methods.
func (p *portfolio) layAll() error {
	p.step("following a guide")
	guided, err := Follow(p.ctx, p.site, *p.lim, nil)
	if err != nil {
		return err
	}
	p.add(Candidate{Method: ByGuide, Layout: guided.Layout, Guides: guided.Guides}, true)
	p.step("fitting a field")
	fit, err := Fit(p.ctx, p.site, *p.lim)
	if err != nil {
		return err
	}
	p.add(Candidate{Method: ByField, Layout: fit.Layout}, true)
	p.step("restarting")
	peeled, err := Peel(p.ctx, p.site, *p.lim, fit.Layout)
	if err != nil {
		return err
	}
	p.add(Candidate{Method: Restarted, Layout: peeled}, true)
	return p.ctx.Err()
}

// add breaks and judges a layout, whose score is that before breaking.
func (p *portfolio) add(c Candidate, broken bool) {
	c.LaidRatio = c.Score.CoverRatio
	if broken {
		c.Rows, c.Gaps = Break(c.Rows, *p.lim)
	}
	c.Score = Judge(c.Rows, p.site.Area, p.site.Raw, *p.lim)
	if !broken {
		c.LaidRatio = c.Score.CoverRatio
	}
	c.GoodHa = c.Score.GoodRatio * c.Score.AreaM2 / 1e4
	if c.Method != Straight {
		c.Rejected = p.reject(&c)
		c.Warnings = p.warn(&c)
	}
	p.all = append(p.all, c)
}

const (
	laidFloor  = 0.95 // of what straight rows cover, before rows are broken
	coverFloor = 0.90 // and after
	// tieRatio is how much less than another a score may be and still equal it.
	tieRatio = leastGain
	// slightRatio of score, without a grade lower by a third, is little for
	// bent rows (the study of this method).
	slightRatio = 0.03
	windowShare = 0.95 // of the length in the window of spacing, below it a warning
	shortShare  = 0.10 // of pieces, above it a warning
	turnsTimes  = 1.4  // the pieces of straight rows, above it a warning
)

// reject names the hard floor that a layout fails.
func (p *portfolio) reject(c *Candidate) string {
	lo, _ := p.lim.window()
	lo -= floorRatio * p.lim.SpacingM
	base, s := p.all[0].Score.CoverRatio, &c.Score
	switch {
	case len(c.Rows) == 0:
		return "it has no rows"
	case s.TightRatio > 0:
		return fmt.Sprintf("a row bends to %.1f m, tighter than %.1f m", s.RadiusMinM, p.lim.RadiusM)
	case s.SpacingLeastM > 0 && s.SpacingLeastM < lo-p.lim.ChordErrM:
		return fmt.Sprintf("rows come within %.2f m of each other, under the %.2f m allowed at the worst", s.SpacingLeastM, lo)
	case c.Method != ByGuide && c.LaidRatio < laidFloor*base:
		return fmt.Sprintf("its rows cover %.1f %% of what straight rows cover, under %.0f %%", 100*c.LaidRatio/base, 100*laidFloor)
	case s.CoverRatio < coverFloor*base:
		return fmt.Sprintf("its rows cover %.1f %% of what straight rows cover once they are broken where too tight, under %.0f %%",
			100*s.CoverRatio/base, 100*coverFloor)
	}
	return ""
}

// warn tells what is worse about a layout than most accept.
func (p *portfolio) warn(c *Candidate) (out []string) {
	s, base := &c.Score, &p.all[0].Score
	if s.InWindowRatio < windowShare && s.LengthM > 0 {
		lo, hi := p.lim.window()
		out = append(out, fmt.Sprintf("%.1f %% of the row length keeps the spacing of %.2f to %.2f m, under %.0f %%",
			100*s.InWindowRatio, lo, hi, 100*windowShare))
	}
	if float64(s.Short) > shortShare*float64(s.Pieces) {
		out = append(out, fmt.Sprintf("%d of %d rows are shorter than %.0f m", s.Short, s.Pieces, p.lim.ShortM))
	}
	if base.Pieces > 0 && float64(s.Pieces) > turnsTimes*float64(base.Pieces) {
		out = append(out, fmt.Sprintf("%d more rows to turn in and out of than with straight rows", s.Pieces-base.Pieces))
	}
	if lost := base.CoverRatio - s.CoverRatio; lost >= 1-laidFloor {
		out = append(out, fmt.Sprintf("%.2f ha less are planted than with straight rows", lost*s.AreaM2/1e4))
	}
	return out
}

// choose takes the winner.
func (p *portfolio) choose() Choice {
	c := Choice{Candidates: p.all}
	var top float64
	for i := range p.all {
		if a := &p.all[i]; i == 0 || (a.Rejected == "" && a.Score.JRatio > top) {
			top = a.Score.JRatio
		}
	}
	for i := range p.all {
		a, best := &p.all[i], &p.all[c.Winner]
		switch tied := a.Rejected == "" && a.Score.JRatio >= top-tieRatio; {
		case !tied || (c.Winner == 0 && best.Score.JRatio >= top-tieRatio):
		case c.Winner == 0 || a.Score.Pieces < best.Score.Pieces:
			c.Winner = i
		}
	}
	c.explain(p.lim)
	if c.Best().Method != Straight {
		c.explainDepth(p)
	}
	return c
}

func (p *portfolio) onlyStraight(why string) Choice {
	return Choice{Candidates: p.all, Why: "Straight rows: " + why + "."}
}

// unsurveyed is ground of which nothing is known.
type unsurveyed struct{}

func (unsurveyed) Height(orb.Point) (zM float64, ok bool) { return 0, false }

func (unsurveyed) Gradient(orb.Point) (eastRatio, northRatio float64, ok bool) { return 0, 0, false }
func (unsurveyed) Breaks(_, _ orb.Point, dst []float64) []float64              { return dst } //unit:shares of the segment
func (unsurveyed) Bounds() orb.Bound                                           { return orb.Bound{} }
func (unsurveyed) SpacingM() float64                                           { return 0 }
func (unsurveyed) Describe() string                                            { return "no terrain" }
