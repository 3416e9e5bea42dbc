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
	var room [64]piece
	for i, p := range t.pieces(a, b, distM(a, b), room[:0]) {
		if i > 0 {
			dst = append(dst, p.t0)
		}
	}
	return dst
}

// pieces follows the segment from triangle to triangle.
func (t *TIN) pieces(a, b orb.Point, lengthM float64, dst []piece) []piece {
	s := stroll{t: t, a: a, b: b, apart: geo.CoincidentM / lengthM, under: none}
	s.dir = orb.Point{(b[0] - a[0]) / lengthM, (b[1] - a[1]) / lengthM}
	s.per = orb.Point{s.dir[0] / lengthM, s.dir[1] / lengthM}
	for _, s.tie = range [2]int{1, -1} {
		if e, ok := s.enter(); ok {
			dst = s.cross(e, dst)
			break
		}
	}
	return s.add(1, dst)
}

// stroll follows the segment ab; points on its line count as lying on side
// tie.
type stroll struct {
	t        *TIN
	a, b     orb.Point
	dir, per orb.Point // of the segment, of length 1 and of one over its length
	tie      int
	apart    float64 // geo.CoincidentM as a share
	last     float64 // where the pieces added so far end
	under    int32   // the triangle there, none outside the hull
}

// post is a vertex as seen from the line: how far along, as a share, and how
// far to the left.
type post struct {
	share, left float64
	side        int
	on          bool // the line
}

func (s *stroll) post(v int32) post {
	p := s.t.pts[v]
	side := polygon.Orient(s.a, s.b, p)
	x, y := p[0]-s.a[0], p[1]-s.a[1]
	o := post{share: x*s.per[0] + y*s.per[1], left: y*s.dir[0] - x*s.dir[1], side: side, on: side == 0}
	if o.on {
		o.side, o.left = s.tie, 0
	}
	return o
}

// meet is the share at which the line crosses between two posts.
func meet(l, r *post) float64 {
	if l.left == r.left {
		return l.share
	}
	return l.share + l.left/(l.left-r.left)*(r.share-l.share)
}

// comesIn reports whether the line enters a triangle through its edge e.
func (s *stroll) comesIn(e int32) bool {
	return s.post(s.t.org[e]).side > 0 && s.post(s.t.org[next(e)]).side < 0
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
//
//	l ------ apex       The line comes up through e, from l on its left to r
//	 \  k   /           on its right, and leaves by the edge between the apex
//	e \  | /            and whichever of them lies on its other side.
//	   \ |/
//	     r
func (s *stroll) cross(e int32, dst []piece) []piece {
	l, r := s.post(s.t.org[e]), s.post(s.t.org[next(e)])
	for {
		t := meet(&l, &r)
		if 1-t < s.apart {
			return dst
		}
		if t-s.last >= s.apart {
			dst = s.add(t, dst)
		}
		if s.under = none; e == none {
			return dst
		}
		apex := s.post(s.t.org[prev(e)])
		s.under = e / 3
		switch {
		case apex.on && l.on:
			s.under = s.eitherSide(prev(e))
		case apex.on && r.on:
			s.under = s.eitherSide(next(e))
		}
		if apex.side > 0 {
			l, e = apex, next(e)
		} else {
			r, e = apex, prev(e)
		}
		e = s.t.twin[e]
	}
}

// eitherSide is the first of the covered triangles on both sides of an edge.
func (s *stroll) eitherSide(e int32) int32 {
	at := e / 3
	if f := s.t.twin[e]; f != none && s.t.covered[f/3] && (f/3 < at || !s.t.covered[at]) {
		return f / 3
	}
	return at
}

// add adds what lies up to the share t.
func (s *stroll) add(t float64, dst []piece) []piece {
	p := piece{t0: s.last, t1: t}
	if s.under != none && s.t.covered[s.under] {
		z, gx, gy := s.t.plane(s.under, along(s.a, s.b, (s.last+t)/2))
		p.covered, p.zMid = true, z
		p.rise[0], p.side[0] = gx*s.dir[0]+gy*s.dir[1], gy*s.dir[0]-gx*s.dir[1]
	}
	s.last = t
	return append(dst, p)
}
