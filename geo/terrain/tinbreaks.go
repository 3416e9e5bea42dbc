package terrain

import (
	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/polygon"
)

// Breaks adds to dst where the segment ab passes from one triangle to the
// next, as shares of the way, rising; also where it enters and leaves the hull.
//
// A line through a corner or along an edge counts as running just beside it,
// so that it always crosses triangles from one edge to another; the places it
// crosses are the same.
func (t *TIN) Breaks(a, b orb.Point, dst []float64) []float64 {
	if a == b {
		return dst
	}
	for _, tie := range [2]int{1, -1} {
		s := stroll{t, a, b, tie}
		if e, ok := s.enter(); ok {
			return spread(s.cross(e, dst), len(dst), distM(a, b))
		}
	}
	return dst
}

// stroll follows the segment ab; points on its line count as lying on side
// tie.
type stroll struct {
	t    *TIN
	a, b orb.Point
	tie  int
}

func (s *stroll) side(v int32) int {
	if o := polygon.Orient(s.a, s.b, s.t.pts[v]); o != 0 {
		return o
	}
	return s.tie
}

// comesIn reports whether the line enters a triangle through its edge e.
func (s *stroll) comesIn(e int32) bool {
	return s.side(s.t.org[e]) > 0 && s.side(s.t.org[next(e)]) < 0
}

// enter finds the edge through which the line enters the triangle where it
// starts, or the hull if it starts outside.
func (s *stroll) enter() (e int32, ok bool) {
	if s.t.bound.Contains(s.a) {
		var room [16]int32
		for _, k := range s.t.touching(s.a, room[:0]) {
			for e := 3 * k; e < 3*k+3; e++ {
				if s.comesIn(e) {
					return e, true
				}
			}
		}
	}
	for _, e := range s.t.hull {
		if s.comesIn(e) {
			return e, true
		}
	}
	return none, false
}

// cross goes on from the edge e until the line ends or leaves the hull.
func (s *stroll) cross(e int32, dst []float64) []float64 {
	for {
		p, q := s.t.ends(e)
		t := lineShare(s.a, s.b, p, q)
		if t > 0 && t < 1 {
			dst = append(dst, t)
		}
		// The hull's own edge, met from inside, has its start on the right.
		if t >= 1 || !s.comesIn(e) {
			return dst
		}
		// Out through the edge that has its start on the right of the line and
		// its end on the left.
		e = next(e)
		if s.side(s.t.org[e]) > 0 || s.side(s.t.org[next(e)]) < 0 {
			e = next(e)
		}
		if f := s.t.twin[e]; f != none {
			e = f
		}
	}
}

// lineShare is where the line through p and q meets that through a and b, as a
// share of ab. Points on ab's own line decide it themselves.
func lineShare(a, b, p, q orb.Point) float64 {
	sp, sq := cross(a, b, p), cross(a, b, q)
	if sp == sq {
		return shareAlong(a, b, p)
	}
	return shareAlong(a, b, along(p, q, sp/(sp-sq)))
}

// spread keeps the shares from number from on rising and at least
// geo.CoincidentM apart, from the ends too.
func spread(ts []float64, from int, lengthM float64) []float64 {
	apart := geo.CoincidentM / lengthM
	last, n := 0.0, from
	for _, t := range ts[from:] {
		if t-last < apart || 1-t < apart {
			continue
		}
		ts[n], last = t, t
		n++
	}
	return ts[:n]
}
