package contour

import (
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/polygon"
)

// Row is one piece of row as a polyline.
type Row struct {
	Line orb.LineString
	// Number is the level of the field: pieces on both sides of an obstacle
	// carry one number. Zone tells the fields of one layout apart.
	Number, Zone int
}

// Faults says which limits a stretch of row does not keep; 0 is none.
type Faults uint8

// The limits.
const (
	TooSteep  Faults = 1 << iota // grade over the chord
	TooNarrow                    // the next row on a side is too near
	TooWide                      // or too far
	TooTight                     // radius
	NoGround                     // the terrain is unknown; not counted as a fault
)

// Run is a stretch of one row with the same faults.
type Run struct {
	Row        int // position in the rows judged
	FromM, ToM float64
	Faults     Faults
}

// Score is how well rows keep the limits. Lengths are horizontal; ratios are
// shares of the length of all rows unless it is said otherwise.
type Score struct {
	// GoodRatio is the area served by rows inside every limit, one spacing
	// wide, over the area rows may use. Pieces below the shortest row and
	// stretches with any fault do not count; ground of unknown height does.
	GoodRatio float64
	// JRatio is GoodRatio less TurnM of row for every piece.
	JRatio float64

	AreaM2, LengthM float64
	CoverRatio      float64 // length times spacing over the area
	Pieces, Short   int

	OnGradeRatio   float64 // of the length with known ground
	GradeMaxRatio  float64 // greatest grade over the chord, up or down
	Grade995Ratio  float64 // exceeded on 0.5 % of the length
	GradeMeanRatio float64 // signed, in the direction of the rows
	// FallMeanRatio is the mean fall towards the target side, of rows not square
	// to it; FallOKRatio how much of the length with known ground falls there by
	// the target to half a percent of grade, or is square to it. Both are 0
	// without a target.
	FallMeanRatio  float64
	FallOKRatio    float64
	InWindowRatio  float64
	SpacingMinM    float64 // undercut on 0.5 % of the sides that have a neighbour
	SpacingMeanM   float64
	SpacingMaxM    float64 // exceeded on 0.5 % of those
	SpacingLeastM  float64 // the least of all
	RadiusMinM     float64 // the tightest of all, +Inf for straight rows
	TightRatio     float64 // tighter than the least radius
	NoGroundRatio  float64
	StrainMaxRatio float64 // of the cover's edge at the tightest place
	Broken         []Run   // every stretch with a fault or without ground
}

// cosBeside is the cosine of 60 degrees: what lies farther from square is ahead
// or behind.
const cosBeside = 0.5

// stationM is how far apart rows are judged.
const stationM = 2

// station is a place of a row that stands for a stretch of it.
type station struct {
	at          orb.Point
	fromM, toM  float64
	tx, ty      float64
	curve       float64 // the sharpest that reaches it, 1/m
	grade       float64
	limit       float64 // of the grade
	left, right float64 // distance to the next row, +Inf none
	faults      Faults
}

// Judge scores rows on raw terrain against the limits, each row at places 2 m
// apart or less:
//
//   - grade: the difference in height over ChordM of row around the place,
//     moved inward at the ends, a shorter row as a whole, against the limit for
//     the slope of the land there, as [Places] measures it;
//   - spacing: the nearest point of any other row, or of the same row more
//     than four spacings along, within 60 degrees of square to the row, for
//     each side; the end of a row counts only if it is nearer than a spacing,
//     for past it there is no neighbour to keep from; none within 1.8 spacings
//     leaves the side free;
//   - radius: the turn at a vertex over half of its two segments, next to an end
//     over the inner one if that is longer. As a curve of radius R within a chord
//     error e has segments up to √(8 e R), a longer one counts as that long at the
//     least radius: so a kink between long straights is found, and no true curve
//     is blamed.
//
// Rows need two different vertices; others are passed over, but counted. The
// method rows came from does not matter. Rows without length give a zero
// score, with an infinite radius.
func Judge(rows []Row, area orb.MultiPolygon, raw geo.Surface, lim Limits) Score {
	j := judging{raw: raw, lim: &lim}
	return tally(j.of(rows).st, polygon.TotalAreaM2(area), &lim)
}

// blame sets the faults of a station that has been measured.
func (s *station) blame(lim *Limits) {
	lo, hi := lim.window()
	s.faults = 0
	if math.IsNaN(s.grade) {
		s.faults |= NoGround
	} else if math.Abs(s.grade) > s.limit {
		s.faults |= TooSteep
	}
	if min(s.left, s.right) < lo {
		s.faults |= TooNarrow
	}
	if (s.left > hi && !math.IsInf(s.left, 1)) || (s.right > hi && !math.IsInf(s.right, 1)) {
		s.faults |= TooWide
	}
	if s.curve*lim.RadiusM > 1 {
		s.faults |= TooTight
	}
}

// chain is a polyline with its chainage.
type chain struct {
	line orb.LineString
	m    []float64
}

func newChain(line orb.LineString) chain {
	c := chain{make(orb.LineString, 0, len(line)), make([]float64, 0, len(line))}
	for i, p := range line {
		if i == 0 {
			c.line, c.m = append(c.line, p), append(c.m, 0)
			continue
		}
		if d := distM(c.line[len(c.line)-1], p); d >= geo.CoincidentM {
			c.line, c.m = append(c.line, p), append(c.m, c.m[len(c.m)-1]+d)
		}
	}
	return c
}

func (c *chain) lengthM() float64 {
	if len(c.m) == 0 {
		return 0
	}
	return c.m[len(c.m)-1]
}

// at is the place at chainage s, whose segment is i or later.
func (c *chain) at(s float64, i int) (orb.Point, int) {
	for i < len(c.m)-2 && s > c.m[i+1] {
		i++
	}
	t := max(0, min(1, (s-c.m[i])/(c.m[i+1]-c.m[i])))
	return along(c.line[i], c.line[i+1], t), i
}

func (c *chain) stations(lim *Limits) []station {
	if len(c.m) < 2 {
		return nil
	}
	n := max(1, int(math.Ceil(c.lengthM()/stationM)))
	out := make([]station, n)
	seg, bends := 0, c.bends(lim)
	for k := range out {
		s := &out[k]
		s.fromM, s.toM = c.lengthM()*float64(k)/float64(n), c.lengthM()*float64(k+1)/float64(n)
		mid := (s.fromM + s.toM) / 2
		s.at, seg = c.at(mid, seg)
		a, b := c.line[seg], c.line[seg+1]
		d := c.m[seg+1] - c.m[seg]
		s.tx, s.ty = (b[0]-a[0])/d, (b[1]-a[1])/d
	}
	c.bend(out, bends)
	return out
}

// bends is the curvature at each vertex: the turn there over half of its two
// segments. The end segments of a row are stumps where it was cut, so that the
// turn next to one stands for as much of the curve as the other segment does.
func (c *chain) bends(lim *Limits) []float64 {
	out := make([]float64, len(c.m))
	longest := math.Sqrt(8 * lim.ChordErrM * lim.RadiusM)
	for i := 1; i < len(c.m)-1; i++ {
		a, b, d := c.line[i-1], c.line[i], c.line[i+1]
		ux, uy, vx, vy := b[0]-a[0], b[1]-a[1], d[0]-b[0], d[1]-b[1]
		turn := math.Abs(math.Atan2(ux*vy-uy*vx, ux*vx+uy*vy))
		mean := (c.m[i+1] - c.m[i-1]) / 2
		if i == 1 {
			mean = max(mean, c.m[i+1]-c.m[i])
		}
		if i == len(c.m)-2 {
			mean = max(mean, c.m[i]-c.m[i-1])
		}
		out[i] = turn / mean
		if k := turn / min(mean, longest); k*lim.RadiusM > 1 {
			out[i] = k
		}
	}
	return out
}

// bend gives each station the sharpest bend of those that reach it: a vertex
// rules from the middle of one segment to the middle of the next.
func (c *chain) bend(out []station, bends []float64) {
	k := 0
	for i := 1; i < len(bends)-1; i++ {
		lo, hi := (c.m[i-1]+c.m[i])/2, (c.m[i]+c.m[i+1])/2
		for k < len(out)-1 && out[k].toM <= lo {
			k++
		}
		for j := k; j < len(out) && out[j].fromM < hi; j++ {
			out[j].curve = max(out[j].curve, bends[i])
		}
	}
}

// grades measures the grade over the chord around each station, NaN where an
// end has no ground, and what it may be there. Both are those of [Places]; the
// slope across, which costs three times as much, only where the limit asks for
// it.
func (c *chain) grades(out []station, raw geo.Surface, lim *Limits) {
	g := newGauge(c, raw, lim.ChordM)
	for k := range out {
		s := &out[k]
		var side float64
		_, s.grade, side = g.measure((s.fromM+s.toM)/2, lim.HalfSlope)
		s.limit = lim.GradeLimitRatio(math.Hypot(s.grade, side))
	}
}

// neighbours is the segments of all rows, to look for the next row in.
type neighbours struct {
	lim   *Limits
	segs  [][2]orb.Point
	row   []int     // of each segment
	from  []float64 // where it starts
	index *polygon.Index
}

// add adds the segments of row r.
func (n *neighbours) add(r int, c *chain) {
	for i := 1; i < len(c.m); i++ {
		n.segs = append(n.segs, [2]orb.Point{c.line[i-1], c.line[i]})
		n.row, n.from = append(n.row, r), append(n.from, c.m[i-1])
	}
}

// look finds the next row on each side of a station of row r.
func (n *neighbours) look(s *station, r int) {
	s.left, s.right = math.Inf(1), math.Inf(1)
	sight := n.lim.sightM()
	n.index.Search(s.within(sight), func(i int) bool {
		if d, side, ok := n.beside(s, r, i); ok && d <= sight {
			s.note(d, side)
		}
		return true
	})
}

// within is the box around a station that holds all that is as near as d.
func (s *station) within(d float64) orb.Bound { return orb.Bound{Min: s.at, Max: s.at}.Pad(d) }

// beside is the distance from a station of row r to segment i; ok is false where
// the segment says nothing of the next row: it is of the row itself, close by,
// or what is nearest of it is an end past which there is no neighbour.
func (n *neighbours) beside(s *station, r, i int) (d, side float64, ok bool) {
	a, b := n.segs[i][0], n.segs[i][1]
	if n.row[i] == r {
		mid, self := (s.fromM+s.toM)/2, 4*n.lim.SpacingM
		if n.from[i]-self < mid && mid < n.from[i]+distM(a, b)+self {
			return 0, 0, false
		}
	}
	t, d, side := s.see(a, b)
	if d <= n.lim.SpacingM || (t >= 0 && t <= 1) {
		return d, side, true
	}
	if t > 1 || n.from[i] == 0 { // a vertex counts with the segment that it starts
		return d, side, false
	}
	before, _, _ := s.see(n.segs[i-1][0], n.segs[i-1][1])
	return d, side, before >= 1
}

// see finds the nearest point of a segment: the share of it where the foot of
// the station lies, the distance, and how far that is to the left.
func (s *station) see(a, b orb.Point) (t, d, side float64) {
	dx, dy := b[0]-a[0], b[1]-a[1]
	t = ((s.at[0]-a[0])*dx + (s.at[1]-a[1])*dy) / (dx*dx + dy*dy)
	u := max(0, min(1, t))
	vx, vy := a[0]+u*dx-s.at[0], a[1]+u*dy-s.at[1]
	return t, math.Hypot(vx, vy), s.tx*vy - s.ty*vx
}

// note takes a neighbour at a distance into account.
func (s *station) note(d, side float64) {
	switch {
	case math.Abs(side) < cosBeside*d:
	case side > 0:
		s.left = min(s.left, d)
	default:
		s.right = min(s.right, d)
	}
}
