package result

import (
	"github.com/paulmach/orb"

	"hemrow/geo"
)

// roundingM is how far rounding to 1e-9 degrees moves a place: half a step of
// 0.111 mm along each axis, 0.079 mm on the diagonal.
const roundingM = 0.08e-3

// mapper turns local metres of one frame into places of the document.
type mapper struct{ frame geo.Frame }

func newMapper(f geo.Frame) mapper { return mapper{f} }

// lonLat is the place of p with a longitude that does not jump at 180.
func (m mapper) lonLat(p orb.Point) (lonDeg, latDeg float64) {
	ll := m.frame.Unwrapped(p)
	return ll.LonDeg, ll.LatDeg
}

func (m mapper) position(p orb.Point) Position {
	lon, lat := m.lonLat(p)
	return Position{nanoDeg(lon), nanoDeg(lat)}
}

func xy(p orb.Point) XY { return XY{mm(p[0]), mm(p[1])} }

// line is a row line in degrees, with vertices put in where a straight
// segment of longitude and latitude would stray from the row.
func (m mapper) line(l geo.Line) (ll []Position, local []XY) {
	for i := range l.Len() {
		if i > 0 {
			ll = m.between(ll, l.At(i-1), l.At(i), func(t float64) (float64, bool) {
				z0, k0 := l.HeightAt(i - 1)
				z1, k1 := l.HeightAt(i)
				return z0 + t*(z1-z0), k0 && k1
			})
		}
		p := m.position(l.At(i))
		if z, known := l.HeightAt(i); known {
			p = append(p, mm(z))
		}
		ll = append(ll, p)
		local = append(local, xy(l.At(i)))
	}
	return ll, local
}

// between appends the vertices that divide the segment from a to b into equal
// parts, none if it is short enough as it is.
func (m mapper) between(out []Position, a, b orb.Point, height func(t float64) (float64, bool)) []Position {
	n := m.frame.StraightParts(a, b, geo.CurveChordM-roundingM)
	for i := 1; i < n; i++ {
		t := float64(i) / float64(n)
		p := m.position(orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])})
		if height != nil {
			if z, known := height(t); known {
				p = append(p, mm(z))
			}
		}
		out = append(out, p)
	}
	return out
}

// course is a path of local metres as a line of the document.
func (m mapper) course(ls orb.LineString) Course {
	c := Course{LonLat: make([]Position, 0, len(ls)), Local: make([]XY, 0, len(ls))}
	for i, p := range ls {
		if i > 0 {
			c.LonLat = m.between(c.LonLat, ls[i-1], p, nil)
		}
		c.LonLat = append(c.LonLat, m.position(p))
		c.Local = append(c.Local, xy(p))
	}
	return c
}

// outline is an area whose corners were surveyed: its sides are what the
// surveyor's file says, so no vertex is put in.
func (m mapper) outline(p orb.Polygon) Shape {
	var s Shape
	for _, r := range p {
		ll, local := make([]Position, len(r)), make([]XY, len(r))
		for i, pt := range r {
			ll[i], local[i] = m.position(pt), xy(pt)
		}
		s.LonLat, s.Local = append(s.LonLat, ll), append(s.Local, local)
	}
	return s
}

// area is an area made in local metres; its sides are kept straight there.
func (m mapper) area(p orb.Polygon) Shape {
	var s Shape
	for _, r := range p {
		c := m.course(orb.LineString(r))
		s.LonLat, s.Local = append(s.LonLat, c.LonLat), append(s.Local, c.Local)
	}
	return s
}
