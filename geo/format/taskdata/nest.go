package taskdata

import (
	"math"

	"hemrow/geo"
	"hemrow/geo/format"
)

// ring is a ring of an area with its role.
type ring struct {
	pts  format.Ring
	hole bool
	at   geo.InputError // its place
}

// nest makes polygons of rings in any order. A hole belongs to the smallest
// outer ring around it; with one outer ring no question arises. Holes that lie
// in none are stray.
//
// All is decided in the plane of longitude and latitude, in which the sides of
// rings are straight, relative to a vertex, so that 180 degrees is no border.
func nest(rings []ring) (out []format.Polygon, stray []ring) {
	for _, r := range rings {
		if !r.hole {
			out = append(out, format.Polygon{r.pts})
		}
	}
	single := len(out) == 1
	for _, r := range rings {
		if !r.hole {
			continue
		}
		best := -1
		for i, p := range out {
			if single || surrounds(p[0], r.pts) && (best < 0 || areaDeg2(p[0]) < areaDeg2(out[best][0])) {
				best = i
			}
		}
		if best < 0 {
			stray = append(stray, r)
			continue
		}
		out[best] = append(out[best], r.pts)
	}
	return out, stray
}

// surrounds reports whether most vertices of hole lie inside outer.
func surrounds(outer, hole format.Ring) bool {
	in := 0
	for _, p := range hole {
		odd := false
		for i := range outer {
			a, b := from(p, outer[i]), from(p, outer[(i+1)%len(outer)])
			if (a.Y > 0) != (b.Y > 0) && a.X-a.Y*(b.X-a.X)/(b.Y-a.Y) > 0 {
				odd = !odd
			}
		}
		if odd {
			in++
		}
	}
	return 2*in > len(hole)
}

// from is the way from p to q in degrees.
func from(p, q format.Coord) format.Coord {
	return format.Coord{X: math.Remainder(q.X-p.X, 360), Y: q.Y - p.Y}
}

// areaDeg2 is the area in square degrees; only its order matters.
func areaDeg2(r format.Ring) float64 {
	var twice float64
	for i := range r {
		a, b := from(r[0], r[i]), from(r[0], r[(i+1)%len(r)])
		twice += a.X*b.Y - b.X*a.Y
	}
	return math.Abs(twice) / 2
}
