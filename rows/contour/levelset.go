package contour

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// levels lays rows along the level sets of a field.
type levels struct {
	f   *spline
	lim *Limits
	cut cutter
}

// cutter cuts a line to the ground it may use. A cut of the segment ab lies on
// a border running in the direction dir; snap may move it along there.
type cutter interface {
	cut(line []orb.Point, snap func(cut, dir orb.Point) orb.Point) [][]orb.Point
}

// rows are the level sets traced by the march, pulled onto the field, with few
// vertices, cut, and running with the higher field on their right.
func (lv *levels) rows(m *march, v []float64, phaseM float64) (out []Row) {
	s := lv.lim.SpacingM
	lines := m.lines(v, s, phaseM)
	for _, l := range lines {
		level := float64(l.level)*s + phaseM
		pts := lv.smooth(l.pts, level)
		snap := func(cut, dir orb.Point) orb.Point { return lv.slide(cut, dir, level) }
		for _, piece := range lv.cut.cut(pts, snap) {
			if lengthM(piece) < max(shortestM, lv.lim.TurnM) {
				continue
			}
			out = append(out, Row{Line: lv.orient(piece), Number: l.level})
		}
	}
	slices.SortStableFunc(out, func(a, b Row) int {
		p, q := a.Line[0], b.Line[0]
		return cmp.Or(cmp.Compare(a.Number, b.Number), cmp.Compare(p[0], q[0]), cmp.Compare(p[1], q[1]))
	})
	return out
}

// pull moves p onto a level by Newton's method along the slope. The error of a
// step is that of the field's bend over the distance moved: from 0.1 m off on a
// curve of 10 m radius it falls to 0.5 mm, then to 10 nm, then to rounding. A
// step longer than a cell means that there is no such level here.
func (lv *levels) pull(p orb.Point, level float64) orb.Point {
	for range 3 {
		j := lv.f.at(p)
		n2 := j.fx*j.fx + j.fy*j.fy
		d := (j.f - level) / n2
		if !(math.Abs(d)*math.Sqrt(n2) < marchM) {
			return p
		}
		p[0], p[1] = p[0]-d*j.fx, p[1]-d*j.fy
	}
	return p
}

// slide is pull along a border.
func (lv *levels) slide(p, dir orb.Point, level float64) orb.Point {
	q := p
	for range 3 {
		j := lv.f.at(q)
		rate := j.fx*dir[0] + j.fy*dir[1]
		d := (j.f - level) / rate
		q[0], q[1] = q[0]-d*dir[0], q[1]-d*dir[1]
		// A row all but parallel to the border stays where the chord met it.
		if !(distM(p, q) < 4*lv.lim.ChordErrM) {
			return p
		}
	}
	return q
}

// smooth pulls the points of a traced line onto the level, adds some where
// chords stray and takes out those that are not needed. Half the chord error is
// for each of the two.
func (lv *levels) smooth(pts []orb.Point, level float64) []orb.Point {
	half := lv.lim.ChordErrM / 2
	dense := make([]orb.Point, 0, len(pts)+8)
	for i, p := range pts {
		p = lv.pull(p, level)
		if i > 0 {
			dense = lv.split(dense, dense[len(dense)-1], p, level, half, 4)
		}
		dense = append(dense, p)
	}
	return thin(dense, half)
}

// split adds points of the level between a and b where the chord strays.
func (lv *levels) split(dst []orb.Point, a, b orb.Point, level, errM float64, depth int) []orb.Point {
	c := along(a, b, 0.5)
	m := lv.pull(c, level)
	if d := distM(c, m); depth == 0 || d <= errM || d > distM(a, b) {
		return dst
	}
	dst = lv.split(dst, a, m, level, errM, depth-1)
	dst = append(dst, m)
	return lv.split(dst, m, b, level, errM, depth-1)
}

// thin keeps the fewest points it finds so that none left out lies farther than
// tolM from the line. Source: D. H. Douglas and T. K. Peucker, Cartographica 10
// (1973) 112-122.
func thin(pts []orb.Point, tolM float64) []orb.Point {
	if len(pts) < 3 {
		return pts
	}
	keep := make([]bool, len(pts))
	last := len(pts) - 1
	keep[0], keep[last] = true, true
	if pts[0] == pts[last] {
		far := 0
		for i, p := range pts {
			if distM(p, pts[0]) > distM(pts[far], pts[0]) {
				far = i
			}
		}
		keep[far] = true
		mark(pts, keep, 0, far, tolM)
		mark(pts, keep, far, last, tolM)
	} else {
		mark(pts, keep, 0, last, tolM)
	}
	out := make([]orb.Point, 0, len(pts))
	for i, p := range pts {
		if keep[i] {
			out = append(out, p)
		}
	}
	return out
}

func mark(pts []orb.Point, keep []bool, lo, hi int, tolM float64) {
	for hi-lo > 1 {
		far, at := tolM, -1
		a, b := pts[lo], pts[hi]
		dx, dy := b[0]-a[0], b[1]-a[1]
		length := math.Hypot(dx, dy)
		for i := lo + 1; i < hi; i++ {
			p := pts[i]
			d := math.Abs(dx*(p[1]-a[1])-dy*(p[0]-a[0])) / length
			if t := dx*(p[0]-a[0]) + dy*(p[1]-a[1]); !(t >= 0 && t <= length*length) {
				d = min(distM(p, a), distM(p, b))
			}
			if d > far {
				far, at = d, i
			}
		}
		if at < 0 {
			return
		}
		keep[at] = true
		mark(pts, keep, lo, at, tolM)
		lo = at
	}
}

// orient turns a row so that the field rises to its right.
func (lv *levels) orient(pts []orb.Point) orb.LineString {
	i := (len(pts) - 1) / 2
	a, b := pts[i], pts[i+1]
	j := lv.f.at(along(a, b, 0.5))
	if (b[0]-a[0])*-j.fy+(b[1]-a[1])*j.fx < 0 {
		slices.Reverse(pts)
	}
	return pts
}

func lengthM(pts []orb.Point) (sum float64) {
	for i := 1; i < len(pts); i++ {
		sum += distM(pts[i-1], pts[i])
	}
	return sum
}
