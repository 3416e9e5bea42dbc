package contour

import (
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// Place is the lie of the ground at a place of a row.
type Place struct {
	At         orb.Point
	FromM, ToM float64 // the stretch of the row that it stands for, in plan
	// GradeRatio is the grade over a chord of the row about the place, rising
	// with the row's direction when positive; SideRatio the mean slope across
	// over three cross chords as long, positive when the left is higher. Both
	// are NaN where the ground is unknown.
	GradeRatio, SideRatio float64
}

// LandRatio is the slope of the land at the place, up the steepest way; NaN where
// the ground is unknown.
func (p Place) LandRatio() float64 { return math.Hypot(p.GradeRatio, p.SideRatio) }

// Places is the lie of the ground along a row, at places everyM apart or less,
// each over chordM of row, moved inward at the ends; a shorter row as a whole.
func Places(line orb.LineString, ground geo.Surface, chordM, everyM float64) []Place {
	c := newChain(line)
	if len(c.m) < 2 {
		return nil
	}
	n := max(1, int(math.Ceil(c.lengthM()/everyM)))
	out := make([]Place, n)
	g := newGauge(&c, ground, chordM)
	for k := range out {
		p := &out[k]
		p.FromM, p.ToM = c.lengthM()*float64(k)/float64(n), c.lengthM()*float64(k+1)/float64(n)
		p.At, p.GradeRatio, p.SideRatio = g.measure((p.FromM+p.ToM)/2, true)
	}
	return out
}

// GradeWorthM is the metres of a row whose grade is within the limit, or on
// ground that is not known, taken at places everyM apart or less. With a target
// it is that and a part of those that fall as asked for, as scores are compared.
// The ends of rows and their neighbours do not count.
func GradeWorthM(line orb.LineString, raw geo.Surface, lim Limits, everyM float64) (sumM float64) {
	c := newChain(line)
	if len(c.m) < 2 {
		return 0
	}
	n := max(1, int(math.Ceil(c.lengthM()/everyM)))
	g := newGauge(&c, raw, lim.ChordM)
	stepM := c.lengthM() / float64(n)
	for k := range n {
		_, grade, side := g.measure((float64(k)+0.5)*stepM, lim.HalfSlope || lim.TargetRatio != 0)
		land := math.Hypot(grade, side)
		if math.IsNaN(grade) || math.Abs(grade) <= lim.GradeLimitRatio(land) {
			sumM += stepM
		}
		if lim.TargetRatio == 0 || math.IsNaN(grade) {
			continue
		}
		i := g.seg[1]
		s := station{grade: grade, tx: (c.line[i+1][0] - c.line[i][0]) / (c.m[i+1] - c.m[i]), ty: (c.line[i+1][1] - c.line[i][1]) / (c.m[i+1] - c.m[i])}
		if fall, square := s.fall(&lim); asAsked(fall, square, &lim) {
			sumM += fallWorth * stepM
		}
	}
	return sumM
}

// gauge measures the ground about places of a row, one after another in its
// direction.
type gauge struct {
	*chain
	ground geo.Surface
	half   float64
	seg    [3]int // segments of the places half behind, at and half ahead
}

func newGauge(c *chain, ground geo.Surface, chordM float64) gauge {
	return gauge{chain: c, ground: ground, half: min(chordM, c.lengthM()) / 2}
}

// measure is the middle of the chord about chainage s, the grade over it and,
// if asked for, the mean slope across it.
func (g *gauge) measure(s float64, across bool) (at orb.Point, grade, side float64) {
	mid := max(g.half, min(g.lengthM()-g.half, s))
	var q [3]orb.Point
	for i := range q {
		if i != 1 || across {
			q[i], g.seg[i] = g.at(mid+g.half*float64(i-1), g.seg[i])
		}
	}
	grade = (heightOr(g.ground, q[2]) - heightOr(g.ground, q[0])) / (2 * g.half)
	if across {
		for i := range q {
			side += g.across(q[i], g.seg[i], g.half, g.ground) / 3
		}
	}
	return q[1], grade, side
}

// across is the slope of the ground to the left of segment i at q, over half
// both ways.
func (c *chain) across(q orb.Point, i int, half float64, ground geo.Surface) float64 {
	a, b := c.line[i], c.line[i+1]
	d := c.m[i+1] - c.m[i]
	nx, ny := -(b[1]-a[1])/d*half, (b[0]-a[0])/d*half
	return (heightOr(ground, orb.Point{q[0] + nx, q[1] + ny}) - heightOr(ground, orb.Point{q[0] - nx, q[1] - ny})) / (2 * half)
}

// heightOr is the height at q, NaN where it is not known.
func heightOr(ground geo.Surface, q orb.Point) float64 {
	if z, ok := ground.Height(q); ok {
		return z
	}
	return math.NaN()
}
