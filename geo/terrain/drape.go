package terrain

import (
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// DefaultChordM is the length over which a row's grade is taken: about that of
// a tractor with its laying machine (common practice, no source).
const DefaultChordM = 10.0

// Profile is a row laid on the terrain. Grades and slopes are rise over
// horizontal length at ground height, in percent; they, the heights and the
// means speak of the covered part only, and are 0 without any.
type Profile struct {
	// Line is the row with heights: its vertices are those of the row and
	// enough others to keep it within geo.DrapeZM of the surface. Heights are
	// NaN outside coverage, where each gap shows as at least one such vertex.
	Line geo.Line

	PlanM    float64 // horizontal, on the ellipsoid
	GroundM  float64 // on the slope, at ground height
	OutsideM float64 // of PlanM, without terrain: taken as level

	Lowest, Highest Spot

	// ChordM is the chord asked for, or the whole row if that is shorter.
	ChordM float64
	// ChordGradePct is the steepest grade over a chord, measured along the row
	// in plan on the surface as it is, positive uphill, and ChordAtM the
	// ground chainage of the chord's middle. Chords over gaps do not count; if
	// there is no other, both are 0.
	ChordGradePct float64
	ChordAtM      float64
	MeanGradePct  float64 // mean of the absolute grade

	// SideSlopePct is the greatest slope across the row at any one place,
	// positive when the left side is higher, and SideAtM its ground chainage.
	// ChordSidePct is the greatest mean over a chord, which noise of the
	// survey disturbs less, and ChordSideAtM the middle of that chord.
	SideSlopePct     float64
	SideAtM          float64
	ChordSidePct     float64
	ChordSideAtM     float64
	MeanSideSlopePct float64 // mean of the absolute slope
}

// Spot is a height along a row.
type Spot struct {
	ZM        float64
	ChainageM float64
}

// Covered reports whether any of the row lies on known terrain.
func (p Profile) Covered() bool { return p.OutsideM < p.PlanM }

// Drape lays a row through points of the frame on the surface. chordM is the
// length over which the grade is taken, 0 for [DefaultChordM].
//
// The ground length is ∫ sqrt(k² + g²) ds between the breaks of the surface,
// by three Gauss-Legendre points each: s is length in the frame's plane, k
// turns it into length on the ground at the frame's height
// ([geo.Frame.PlanM] and [geo.Frame.GroundFactor]) and g is the rise along s.
// On a TIN that is exact; on a grid the error is of sixth order in the change
// of grade within a cell, below 1e-8 of the length for 20 % from one centre to
// the next. Outside coverage g is taken as 0 and the metres are counted in
// OutsideM.
//
// A row of fewer than two distinct points gives the zero Profile.
func Drape(s Surface, f geo.Frame, pts []orb.Point, chordM float64) Profile {
	return NewDraper(s, f, chordM).Drape(pts)
}

// Draper lays many rows on one surface and keeps its working memory. It is not
// safe for concurrent use; make one for each goroutine.
type Draper struct {
	surface Surface
	from    sampler
	plain   bool // plane between breaks
	frame   geo.Frame
	chordM  float64
	shares  []float64
	panels  []panel
}

// NewDraper is a Draper for chords of chordM, 0 for [DefaultChordM].
func NewDraper(s Surface, f geo.Frame, chordM float64) *Draper {
	if !(chordM > 0) {
		chordM = DefaultChordM
	}
	_, flat := s.(plain)
	return &Draper{surface: s, from: samplerOf(s), plain: flat, frame: f, chordM: chordM}
}

// panel is a piece of row on one formula of the surface. Quantities along it
// are kept at its start, middle and end: exact where they are quadratic.
type panel struct {
	at      orb.Point // its start
	planM   float64   // of its start and, below, its length
	lengthM float64
	chainM  float64 // ground chainage of its start and, below, its ground length
	groundM float64
	covered bool
	corner  bool // it starts at a vertex of the row
	kept    bool // its start is a vertex of the draped line
	// q is the height, and the height one would climb going sideways all along.
	q [2][3]float64
}

const (
	heights = iota
	sides
)

// Drape is the same as the function [Drape].
func (d *Draper) Drape(pts []orb.Point) Profile {
	var p Profile
	d.panels = d.panels[:0]
	t := tally{p: &p}
	for i := 1; i < len(pts); i++ {
		a, b := pts[i-1], pts[i]
		if l := distM(a, b); l >= geo.CoincidentM && !math.IsInf(l, 1) {
			d.segment(a, b, l, &t)
			t.end = b
		}
	}
	if len(d.panels) == 0 {
		return Profile{}
	}
	t.finish()
	p.ChordM = min(d.chordM, p.PlanM)
	p.ChordGradePct, p.ChordAtM = d.steepest(heights, p.ChordM)
	p.ChordSidePct, p.ChordSideAtM = d.steepest(sides, p.ChordM)
	p.Line = d.line(t.end, p.GroundM)
	return p
}

// segment adds the panels of the straight piece ab.
func (d *Draper) segment(a, b orb.Point, lengthM float64, t *tally) {
	d.shares = append(d.shares[:0], 0)
	d.shares = d.surface.Breaks(a, b, d.shares)
	d.shares = append(d.shares, 1)
	c := course{
		a: a, b: b, lengthM: lengthM,
		dir:     orb.Point{(b[0] - a[0]) / lengthM, (b[1] - a[1]) / lengthM},
		planPer: d.frame.PlanM(a, b) / lengthM,
	}
	c.groundPer = c.planPer * d.frame.GroundFactor()
	for i := 1; i < len(d.shares); i++ {
		t0, t1 := d.shares[i-1], d.shares[i]
		g := c.measure(d, t0, t1)
		n := g.parts()
		for k := range n {
			if n > 1 {
				g = c.measure(d, t0+(t1-t0)*float64(k)/float64(n), t0+(t1-t0)*float64(k+1)/float64(n))
			}
			pan := t.add(&c, &g)
			pan.corner = i == 1 && k == 0
			if last := len(d.panels) - 1; !pan.covered && !pan.corner && !d.panels[last].covered {
				d.panels[last].lengthM += pan.lengthM // one gap
				d.panels[last].groundM += pan.groundM
				continue
			}
			d.panels = append(d.panels, pan)
		}
	}
}

// course is a straight piece of row.
type course struct {
	a, b      orb.Point
	lengthM   float64
	dir       orb.Point
	planPer   float64 // plan metres for a metre of the frame
	groundPer float64 // metres at ground height for a metre of the frame
}

// gauss is a panel as measured: per metre of the frame, at the three points of
// Gauss and Legendre.
type gauss struct {
	t0, t1   float64
	halfM    float64
	covered  bool
	zMid     float64
	rise     [3]float64 // along
	side     [3]float64 // to the left
	toStartM float64    // height of the start above the middle
	toEndM   float64
}

// gaussAt is the outer points of the rule on -1..1; the weights are 5/9, 8/9,
// 5/9 (Abramowitz and Stegun 1964, table 25.4).
const gaussAt = 0.774596669241483377035853079956

var gaussWeight = [3]float64{5.0 / 9, 8.0 / 9, 5.0 / 9}

func (c *course) measure(d *Draper, t0, t1 float64) gauss {
	g := gauss{t0: t0, t1: t1, halfM: (t1 - t0) / 2 * c.lengthM, covered: true}
	mid, half := (t0+t1)/2, (t1-t0)/2
	if d.plain {
		return c.measurePlane(d, g)
	}
	for i, x := range [3]float64{-gaussAt, 0, gaussAt} {
		t := mid + half*x
		z, gx, gy, ok := d.from.sample(c.a[0]+t*(c.b[0]-c.a[0]), c.a[1]+t*(c.b[1]-c.a[1]))
		if !ok {
			return gauss{t0: t0, t1: t1, halfM: g.halfM}
		}
		g.rise[i] = gx*c.dir[0] + gy*c.dir[1]
		g.side[i] = gy*c.dir[0] - gx*c.dir[1]
		if i == 1 {
			g.zMid = z
		}
	}
	g.toStartM, g.toEndM = halves(g.rise, g.halfM)
	return g
}

// measurePlane is the same where the middle tells all.
func (c *course) measurePlane(d *Draper, g gauss) gauss {
	t := (g.t0 + g.t1) / 2
	z, gx, gy, ok := d.from.sample(c.a[0]+t*(c.b[0]-c.a[0]), c.a[1]+t*(c.b[1]-c.a[1]))
	if !ok {
		g.covered = false
		return g
	}
	rise, side := gx*c.dir[0]+gy*c.dir[1], gy*c.dir[0]-gx*c.dir[1]
	g.zMid, g.rise, g.side = z, [3]float64{rise, rise, rise}, [3]float64{side, side, side}
	g.toStartM, g.toEndM = -rise*g.halfM, rise*g.halfM
	return g
}

// parabola is y0 + b x + c x² through values at the three points.
func parabola(v [3]float64) (b, c float64) {
	return (v[2] - v[0]) / (2 * gaussAt), (v[2] + v[0] - 2*v[1]) / (2 * gaussAt * gaussAt)
}

// halves integrates the parabola through v from the middle to both ends.
func halves(v [3]float64, halfM float64) (toStart, toEnd float64) {
	b, c := parabola(v)
	return halfM * (b/2 - v[1] - c/3), halfM * (b/2 + v[1] + c/3)
}

// parts is the number of equal pieces in which the surface stays within half
// of geo.DrapeZM of straight.
func (g *gauss) parts() int {
	const most = 256
	sag := math.Abs(g.toStartM+g.toEndM) / 2
	if !g.covered || sag <= geo.DrapeZM/2 {
		return 1
	}
	return int(min(most, math.Ceil(math.Sqrt(sag/(geo.DrapeZM/2)))))
}

// tally adds up a profile.
type tally struct {
	p            *Profile
	plan, ground geo.Sum
	outside      geo.Sum
	grade, slope geo.Sum // absolute, times plan length
	side         float64 // climbed sideways so far
	end          orb.Point
	known        bool
}

// add takes in a measured panel.
func (t *tally) add(c *course, g *gauss) panel {
	plan := 2 * g.halfM * c.planPer
	pan := panel{
		at:      along(c.a, c.b, g.t0),
		planM:   t.plan.Value(),
		lengthM: plan,
		chainM:  t.ground.Value(),
		covered: g.covered,
	}
	t.plan.Add(plan)
	pan.q[sides] = [3]float64{t.side, t.side, t.side}
	if !g.covered {
		pan.groundM = 2 * g.halfM * c.groundPer
		t.outside.Add(plan)
		t.ground.Add(pan.groundM)
		return pan
	}
	var grade, slope float64
	k := c.groundPer
	for i, w := range gaussWeight {
		pan.groundM += w * math.Sqrt(k*k+g.rise[i]*g.rise[i])
		grade += w * math.Abs(g.rise[i])
		slope += w * math.Abs(g.side[i])
	}
	pan.groundM *= g.halfM
	t.ground.Add(pan.groundM)
	t.grade.Add(grade / k * plan / 2)
	t.slope.Add(slope / k * plan / 2)
	pan.q[heights] = [3]float64{g.zMid + g.toStartM, g.zMid, g.zMid + g.toEndM}
	back, fore := halves(g.side, g.halfM)
	pan.q[sides] = [3]float64{t.side, t.side - back, t.side - back + fore}
	t.side = pan.q[sides][2]
	t.peaks(&pan)
	t.across(&pan, g, k)
	return pan
}

// peaks looks for the lowest and highest place of a panel.
func (t *tally) peaks(pan *panel) {
	z := pan.q[heights]
	look := func(z, x float64) {
		s := Spot{z, pan.chainM + x*pan.groundM}
		if !t.known || z < t.p.Lowest.ZM {
			t.p.Lowest = s
		}
		if !t.known || z > t.p.Highest.ZM {
			t.p.Highest = s
		}
		t.known = true
	}
	look(z[0], 0)
	look(z[2], 1)
	if x, ok := vertexOf(z); ok {
		look(quadratic(z, x), x)
	}
}

// across looks for the greatest side slope of a panel.
func (t *tally) across(pan *panel, g *gauss, k float64) {
	b, c := parabola(g.side)
	for i, v := range [3]float64{g.side[1] - b + c, g.side[1], g.side[1] + b + c} {
		if pct := 100 * v / k; math.Abs(pct) > math.Abs(t.p.SideSlopePct) {
			t.p.SideSlopePct = pct
			t.p.SideAtM = pan.chainM + float64(i)/2*pan.groundM
		}
	}
}

func (t *tally) finish() {
	p := t.p
	p.PlanM, p.GroundM, p.OutsideM = t.plan.Value(), t.ground.Value(), t.outside.Value()
	if !t.known {
		p.OutsideM = p.PlanM // not a rounding less
		return
	}
	covered := p.PlanM - p.OutsideM
	p.MeanGradePct = 100 * t.grade.Value() / covered
	p.MeanSideSlopePct = 100 * t.slope.Value() / covered
}

// quadratic is the parabola through v at 0, 1/2 and 1, at x.
func quadratic(v [3]float64, x float64) float64 {
	return v[0] + x*(4*v[1]-3*v[0]-v[2]+x*2*(v[0]-2*v[1]+v[2]))
}

// vertexOf is where between 0 and 1 that parabola turns.
func vertexOf(v [3]float64) (x float64, ok bool) {
	b, c := 4*v[1]-3*v[0]-v[2], 2*(v[0]-2*v[1]+v[2])
	if (b > 0) == (b+2*c > 0) { // it rises at both ends, or at neither
		return 0, false
	}
	x = -b / (2 * c)
	return x, x > 0 && x < 1
}
