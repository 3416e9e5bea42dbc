package contour

import (
	"context"
	"fmt"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo/polygon"
)

// Method is a way to lay rows.
type Method uint8

// The methods, simplest first.
const (
	Straight  Method = iota // the rows given
	ByGuide                 // [Follow]
	ByField                 // [Fit]
	Restarted               // [Peel]
	Methods   = iota        // how many there are
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
	// LaidRatio is CoverRatio before opening and [Break]; straight rows come as they
	// stay, and those along a guide broken.
	LaidRatio float64
	// LeftCount and LeftM are the pieces left out for being short (DropM),
	// and their length.
	LeftCount int
	LeftM     float64
	// GoodHa is the area served by rows inside every limit.
	GoodHa float64 //unit:hectares
	// Rejected says which hard floor the layout fails; empty if none.
	Rejected string
	// Sparse tells that the layout fails no other floor than those of cover, and
	// plants at least half of what straight rows do.
	Sparse bool
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
	// Overruled tells that straight rows won and were passed over, since bent ones
	// are asked for; Why is then why they won.
	Overruled bool
	// Depth says, where the rows restart, why one guide cannot serve the area,
	// and DepthM how far to either side it could; empty and 0 otherwise.
	Depth  string
	DepthM float64
	// Partly says what it means for the rows that the heights of some of the
	// ground are not known; empty where they all are.
	Partly string
}

// Best is the candidate to lay.
func (c *Choice) Best() *Candidate { return &c.Candidates[c.Winner] }

// Best lays rows on one block by every method and chooses. Straight rows are
// given, the best the caller knows of, and stay as they are; those of the other
// methods are opened (see [Site]), broken where too tight (see [Break]) and
// freed of pieces shorter than DropM, and all are judged on the raw
// terrain. Of those that pass the hard floors the greatest JRatio wins:
//
//   - no row bends tighter than the least radius;
//   - rows nowhere nearer than 0.05 spacings below the window, less the chord
//     error;
//   - as laid, before they are opened and broken, rows of a field cover at least
//     0.95 of the area, as straight rows do: no method may win by leaving ground
//     out. What headlands and breaking take no machine could have laid, and
//     JRatio has paid for it;
//   - but no layout may cost too much of the planting: 0.85 of what straight
//     rows cover must be left in the end, and 0.90 along a guide, whose rows are
//     broken while they are laid, so that this alone counts.
//
// With a target fall, rows along a guide are out, and the share of the length
// that falls as asked for counts a tenth beside JRatio: straight rows do not
// win by leaving the target alone.
//
// Differences below 0.01 are ties: straight rows win those, then the layout of the
// fewest pieces. Straight rows are never
// rejected, and on ground that is flat or unknown they are the only candidate.
// The step function, if given, is told what begins, and in long steps every tenth
// that is done, one call at a time. When the context ends, Best returns after
// the part in hand, one candidate laid or one iteration. The same input gives the
// same choice for any number of processors.
//
// Source of ties and of the floors of radius, spacing and cover as laid: the study
// of this method on 18 fields; of 0.85 and 0.90: common practice, no source.
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
	p.add(Candidate{Method: Straight, Layout: Layout{Rows: straight}})
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
	guided, err := followOver(p.ctx, p.site, *p.lim, nil, &progress{step: p.step})
	if err != nil {
		return err
	}
	p.addBent(Candidate{Method: ByGuide, Layout: guided.Layout, Guides: guided.Guides})
	fit, err := fitOver(p.ctx, p.site, *p.lim, &progress{step: p.step, prefix: "fitting a field: "})
	if err != nil {
		return err
	}
	p.addBent(Candidate{Method: ByField, Layout: fit.Layout})
	p.step("restarting")
	peeled, err := peelOver(p.ctx, p.site, *p.lim, fit.Layout, laidFloor, p.step)
	if err != nil {
		return err
	}
	p.addBent(Candidate{Method: Restarted, Layout: peeled})
	return p.ctx.Err()
}

// add judges the straight rows as they are.
func (p *portfolio) add(c Candidate) {
	c.Score = Judge(c.Rows, p.site.Area, p.site.Raw, *p.lim)
	c.LaidRatio = c.Score.CoverRatio
	p.enter(c)
}

// addBent opens, breaks and judges a layout.
func (p *portfolio) addBent(c Candidate) {
	c.LaidRatio = p.lim.SpacingM * totalM(c.Rows) / polygon.TotalAreaM2(p.site.Area)
	if p.site.Open != nil {
		c.Rows = p.site.Open(slices.Clone(c.Rows))
	}
	c.Rows, c.Gaps = Break(c.Rows, *p.lim)
	if p.site.Divide != nil {
		c.Rows = p.site.Divide(c.Method, c.Rows)
	}
	c.dropShort(p.lim.DropM)
	recount(c.Guides, c.Rows)
	c.Score = Judge(c.Rows, p.site.Area, p.site.Raw, *p.lim)
	c.Rejected = p.reject(&c)
	c.Warnings = p.warn(&c)
	p.enter(c)
}

func (p *portfolio) enter(c Candidate) {
	c.GoodHa = c.Score.GoodRatio * c.Score.AreaM2 / 1e4
	p.all = append(p.all, c)
}

// dropShort leaves out the pieces below a length.
func (c *Candidate) dropShort(shortM float64) {
	c.Rows = slices.DeleteFunc(c.Rows, func(r Row) bool {
		length := lengthM(r.Line)
		if length < shortM {
			c.LeftCount, c.LeftM = c.LeftCount+1, c.LeftM+length
		}
		return length < shortM
	})
}

// totalM is the length of all rows.
func totalM(rows []Row) (sum float64) {
	for _, r := range rows {
		sum += lengthM(r.Line)
	}
	return sum
}

const (
	laidFloor  = 0.95 // of the area, before rows are opened and broken
	coverFloor = 0.85 // of what straight rows cover, after
	guideFloor = 0.90 // the same for rows along a guide, which have no floor as laid
	// tieRatio is how much less than another a score may be and still equal it.
	tieRatio = 0.01
	// slightRatio of score, without a grade lower by a third, is little for
	// bent rows (the study of this method).
	slightRatio = 0.03
	// sparsest is the share of the planting of straight rows below which no one
	// would lay rows at all (common practice, no source).
	sparsest    = 0.50
	windowShare = 0.95 // of the length in the window of spacing, below it a warning
	fallShare   = 0.80 // of the length as asked for, below it a warning
	shortShare  = 0.10 // of pieces, above it a warning
	turnsTimes  = 1.4  // the pieces of straight rows, above it a warning
)

// reject names the hard floor that a layout fails.
func (p *portfolio) reject(c *Candidate) string {
	lo := p.lim.FloorM()
	base, s := p.all[0].Score.CoverRatio, &c.Score
	floor := coverFloor
	if c.Method == ByGuide {
		floor = guideFloor
	}
	switch {
	case c.Method == ByGuide && p.lim.TargetRatio != 0:
		return "rows at a constant distance from a guide cannot hold a fall that is asked for"
	case len(c.Rows) == 0:
		return "it has no rows"
	case s.TightRatio > 0:
		return fmt.Sprintf("a row bends to %.1f m, tighter than %.1f m", s.RadiusMinM, p.lim.RadiusM)
	case s.SpacingLeastM > 0 && s.SpacingLeastM < lo-p.lim.ChordErrM:
		return fmt.Sprintf("rows come within %.2f m of each other, under the %.2f m allowed at the worst", s.SpacingLeastM, lo)
	case c.Method != ByGuide && c.LaidRatio < laidFloor:
		c.Sparse = s.CoverRatio >= sparsest*base
		return fmt.Sprintf("its rows leave out too much of the ground: they cover %.1f %% of it as laid, under %.0f %%", 100*c.LaidRatio, 100*laidFloor)
	case s.CoverRatio < floor*base:
		c.Sparse = s.CoverRatio >= sparsest*base
		return fmt.Sprintf("its rows cover %.1f %% of what straight rows cover once headlands and tight places are taken out, under %.0f %%",
			100*s.CoverRatio/base, 100*floor)
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
	if p.lim.TargetRatio != 0 && s.FallOKRatio < fallShare {
		out = append(out, fmt.Sprintf("only %.0f %% of the length falls as asked for, or runs square to the side: the ground bends too much for more", 100*s.FallOKRatio))
	}
	return out
}

// choose takes the winner.
func (p *portfolio) choose() Choice {
	c := Choice{Candidates: p.all}
	var top float64
	for i := range p.all {
		if a := &p.all[i]; i == 0 || (a.Rejected == "" && a.Score.merit(p.lim) > top) {
			top = a.Score.merit(p.lim)
		}
	}
	for i := range p.all {
		a, best := &p.all[i], &p.all[c.Winner]
		switch tied := a.Rejected == "" && a.Score.merit(p.lim) >= top-tieRatio; {
		case !tied || (c.Winner == 0 && best.Score.merit(p.lim) >= top-tieRatio):
		case c.Winner == 0 || a.Score.Pieces < best.Score.Pieces:
			c.Winner = i
		}
	}
	c.explain(p.lim)
	if p.site.Bent {
		c.overrule()
	}
	c.explainPartly()
	if c.Best().Method != Straight {
		c.explainDepth(p)
	}
	return c
}

// overrule takes the best bent rows where straight ones won: of those that pass
// the hard floors, and if there are none of those that only fail those of cover.
func (c *Choice) overrule() {
	if c.Best().Method != Straight {
		return
	}
	for _, sparse := range []bool{false, true} {
		for i := range c.Candidates {
			x := &c.Candidates[i]
			if x.Method == Straight || (x.Rejected != "" && !(sparse && x.Sparse)) {
				continue
			}
			if !c.Overruled || x.Score.JRatio > c.Best().Score.JRatio {
				c.Winner, c.Overruled = i, true
			}
		}
		if c.Overruled {
			return
		}
	}
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
