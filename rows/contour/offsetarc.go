package contour

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// corner keeps what is left of the arc about the vertex before segment i, on
// its outer side.
func (s *shift) corner(i int) {
	v, prev, turn := s.pts[i], s.before(i), s.turn[i]
	n, m := s.normal(prev), s.normal(i)
	start := math.Atan2(n[1], n[0])
	at := func(share float64) orb.Point {
		switch share {
		case 0:
			return orb.Point{v[0] + s.d*n[0], v[1] + s.d*n[1]}
		case 1:
			return orb.Point{v[0] + s.d*m[0], v[1] + s.d*m[1]}
		}
		sin, cos := math.Sincos(start + turn*share)
		return orb.Point{v[0] + s.d*cos, v[1] + s.d*sin}
	}
	s.left = append(s.left[:0], span{0, 1})
	s.near(at(0.5), s.d*math.Abs(turn)/2, func(j int) bool {
		if j != i && j != prev && !s.behind(v, n, m, j) {
			s.cutArc(v, start, turn, j)
		}
		return len(s.left) > 0
	})
	for _, p := range s.left {
		angle := (p.to - p.from) * math.Abs(turn)
		if angle*s.d < geo.CoincidentM {
			continue
		}
		steps := arcSteps(angle, s.d, s.err)
		s.add(2*i, at(p.from), s.carried(i))
		for k := 1; k < steps; k++ {
			s.add(-1, at(p.from+(p.to-p.from)*float64(k)/float64(steps)), s.carried(i))
		}
		s.add(-1, at(p.to), s.carried(i))
	}
}

// arcSteps is how many chords keep within errM of an arc: one over the angle α
// strays by r(1 - cos α/2).
func arcSteps(angle, radiusM, errM float64) int {
	widest := 2 * math.Acos(max(0, 1-errM/radiusM))
	return max(1, int(math.Ceil(angle/widest)))
}

// cutArc takes away what is nearer than d to segment j. The arc can pass the
// border of the capsule at its two circles and its two sides only; between such
// places the middle decides.
func (s *shift) cutArc(v orb.Point, start, turn float64, j int) {
	a, b := s.ends(j)
	shares := append(make([]float64, 0, 10), 0, 1)
	note := func(angle float64) {
		t := math.Remainder(angle-start, 2*math.Pi) / turn
		if t > 0 && t < 1 {
			shares = append(shares, t)
		}
	}
	for _, c := range [2]orb.Point{a, b} {
		if half := distM(v, c) / 2; half > 0 && half < s.d {
			base, open := math.Atan2(c[1]-v[1], c[0]-v[0]), math.Acos(half/s.d)
			note(base - open)
			note(base + open)
		}
	}
	u := s.dir[j]
	base := math.Atan2(u[1], u[0])
	off := u[0]*(v[1]-a[1]) - u[1]*(v[0]-a[0])
	for _, edge := range [2]float64{s.d, -s.d} {
		if sine := (edge - off) / s.d; math.Abs(sine) <= 1 {
			note(base + math.Asin(sine))
			note(base + math.Pi - math.Asin(sine))
		}
	}
	slices.Sort(shares)
	for k := 1; k < len(shares); k++ {
		angle := start + turn*(shares[k-1]+shares[k])/2
		p := orb.Point{v[0] + s.d*math.Cos(angle), v[1] + s.d*math.Sin(angle)}
		if s.distanceTo(j, p) < s.d {
			s.remove(shares[k-1], shares[k])
		}
	}
}

func (s *shift) distanceTo(j int, p orb.Point) float64 {
	a, u := s.pts[j], s.dir[j]
	x, y := (p[0]-a[0])*u[0]+(p[1]-a[1])*u[1], u[0]*(p[1]-a[1])-u[1]*(p[0]-a[0])
	return math.Hypot(x-max(0, min(s.length[j], x)), y)
}

// add appends a vertex; a number of element from 0 on begins a new span, which
// goes on with the piece before if that ended there.
func (s *shift) add(element int, p orb.Point, curv float64) {
	if element >= 0 {
		if n := len(s.out); n > 0 {
			o := &s.out[n-1]
			last := len(o.Line) - 1
			if distM(o.Line[last], p) < joinM {
				if element-s.lastElement > 2 {
					o.CurvPerM[last] = math.Inf(1)
				}
				s.lastElement = element
				return
			}
		}
		if len(s.out) == 0 {
			s.firstElement = element
		}
		s.out = append(s.out, Offset{})
		s.lastElement = element
	}
	o := &s.out[len(s.out)-1]
	o.Line, o.CurvPerM = append(o.Line, p), append(o.CurvPerM, curv)
}

// joinM: spans of an offset whose ends are nearer than this meet there. Where
// segments of the guide meet at a turn as small as 1e-5, the cut is known to
// 1e-12 m over that turn; where a span shorter than geo.CoincidentM was left
// out, twice that is missing.
const joinM = 4 * geo.CoincidentM

// finish closes a piece that comes back to its start, and puts the last piece
// of a closed guide before the first if they meet.
func (s *shift) finish() []Offset {
	n := len(s.out)
	if n == 0 || !s.closed {
		return s.out
	}
	first, last := &s.out[0], &s.out[n-1]
	end := len(last.Line) - 1
	if distM(first.Line[0], last.Line[end]) >= joinM {
		return s.out
	}
	if s.firstElement+2*s.segments()-s.lastElement > 2 {
		first.CurvPerM[0], last.CurvPerM[end] = math.Inf(1), math.Inf(1)
	}
	if n == 1 {
		first.Line[end], first.Closed = first.Line[0], true
		return s.out
	}
	last.Line = append(last.Line, first.Line[1:]...)
	last.CurvPerM = append(last.CurvPerM, first.CurvPerM[1:]...)
	return s.out[1:]
}
