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
	from   walker
	frame  geo.Frame
	chordM float64
	pieces []piece
	panels []panel
}

// NewDraper is a Draper for chords of chordM, 0 for [DefaultChordM].
func NewDraper(s Surface, f geo.Frame, chordM float64) *Draper {
	if !(chordM > 0) {
		chordM = DefaultChordM
	}
	return &Draper{from: walkerOf(s), frame: f, chordM: chordM}
}

// panel is a piece of row as it goes into the profile.
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
	q [2]curve
}

const (
	heights = iota
	sides
)

// curve is a quantity along a panel: start + slope s + bend s² at the plan
// length s from its start.
type curve struct{ start, slope, bend float64 }

func (c *curve) at(s float64) float64 { return c.start + s*(c.slope+s*c.bend) }

// newCurve is the integral of a parabola c over a piece, given as metres of the
// frame for a plan metre and the reciprocal of the plan length. The cubic term
// is spread such that the middle and both ends are kept.
func newCurve(start float64, c *[3]float64, perPlan, perLength float64) curve {
	return curve{start, (c[0] - c[1] + c[2]/3) * perPlan, c[1] * perPlan * perLength}
}

// Drape is the same as the function [Drape].
func (d *Draper) Drape(pts []orb.Point) Profile {
	d.panels = d.panels[:0]
	t := tally{factor: d.frame.GroundFactor()}
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
	p := t.profile()
	p.ChordM = min(d.chordM, p.PlanM)
	best := d.steepest(p.ChordM)
	p.ChordGradePct, p.ChordAtM = d.chord(best[heights], p.ChordM)
	p.ChordSidePct, p.ChordSideAtM = d.chord(best[sides], p.ChordM)
	p.Line = d.line(t.end, p.GroundM)
	return p
}

// segment adds the panels of the straight piece ab.
func (d *Draper) segment(a, b orb.Point, lengthM float64, t *tally) {
	d.pieces = d.from.pieces(a, b, lengthM, d.pieces[:0])
	c := course{a: a, b: b, lengthM: lengthM, planPer: d.frame.PlanM(a, b) / lengthM}
	for i := range d.pieces {
		p := &d.pieces[i]
		if last := len(d.panels) - 1; i > 0 && !p.covered && !d.panels[last].covered {
			t.skip(&c, p, &d.panels[last]) // one gap
			continue
		}
		d.panels = append(d.panels, panel{at: along(a, b, p.t0), covered: p.covered, corner: i == 0})
		t.add(&c, p, &d.panels[len(d.panels)-1])
	}
}

// course is a straight piece of row.
type course struct {
	a, b    orb.Point
	lengthM float64
	planPer float64 // plan metres for a metre of the frame
}
