package result

import (
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// roundingM is how far rounding to 1e-9 degrees moves a place: half a step of
// 0.111 mm along each axis, 0.079 mm on the diagonal.
const roundingM = 0.08e-3

// mostParts bounds the vertices put into one segment; that many hold 2 mm
// over 100 km at 89 degrees of latitude, longer than any row.
const mostParts = 4096

// mapper turns local metres of one frame into places of the document.
type mapper struct {
	frame geo.Frame
	lon0  float64
}

func newMapper(f geo.Frame) mapper { return mapper{f, f.Origin().LonDeg} }

// lonLat is the place of p with a longitude that does not jump at 180.
func (m mapper) lonLat(p orb.Point) (lonDeg, latDeg float64) {
	ll := m.frame.ToLonLat(p)
	return m.lon0 + geo.WrapLonDeg(ll.LonDeg-m.lon0), ll.LatDeg
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
	n := m.parts(a, b)
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

// parts is the number of equal parts that keeps straight segments of
// longitude and latitude within [geo.CurveChordM] of the segment ab. The stray
// of a part falls with the square of its length, but is not the same for all:
// it grows with tan(latitude), so that the first or the last part strays most,
// and both are measured.
func (m mapper) parts(a, b orb.Point) int {
	if math.Hypot(b[0]-a[0], b[1]-a[1]) < geo.CoincidentM {
		return 1
	}
	const allowed = geo.CurveChordM - roundingM
	n := 1
	for n < mostParts {
		t := 1 / float64(n)
		first := orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}
		last := orb.Point{b[0] + t*(a[0]-b[0]), b[1] + t*(a[1]-b[1])}
		worst := max(m.strayM(a, first), m.strayM(last, b))
		if worst <= allowed {
			return n
		}
		n = max(n+1, int(math.Ceil(float64(n)*math.Sqrt(worst/allowed))))
	}
	return mostParts
}

// strayM bounds how far a straight segment of longitude and latitude runs
// beside the segment ab of the frame: L² tan(latitude)/8R in the middle of one
// of length L that runs east and west (formats sheet, section 3). The latitude
// changes along a slanting one, so the stray is a cubic that is zero at both
// ends, t(1-t)(p + q(1-2t)). It is measured at both quarters, which gives p and
// q; the two parts are at most |p|/4 and |q| sqrt(3)/18.
func (m mapper) strayM(a, b orb.Point) float64 {
	lon0, lat0 := m.lonLat(a)
	lon1, lat1 := m.lonLat(b)
	dx, dy := b[0]-a[0], b[1]-a[1]
	length := math.Hypot(dx, dy)
	beside := func(t float64) float64 {
		p := m.frame.ToLocal(geo.LonLat{LonDeg: lon0 + t*(lon1-lon0), LatDeg: lat0 + t*(lat1-lat0)})
		return ((p[0]-a[0])*dy - (p[1]-a[1])*dx) / length
	}
	early, late := beside(0.25), beside(0.75)
	p, q := (early+late)/(2*3.0/16), (early-late)/(2*3.0/32)
	return math.Abs(p)/4 + math.Abs(q)*math.Sqrt(3)/18
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

// areaM2 is the area of a polygon on the ellipsoid: that of the plane less the
// areal scale 1 + x²/R², whose mean over the polygon is exact at the root mean
// square of x (Green's theorem: 12 ∫x² = Σ (x₀²+x₀x₁+x₁²)(x₀y₁-x₁y₀)). Both
// sums are taken from the first vertex, to keep digits far from the origin.
func areaM2(f geo.Frame, p orb.Polygon) float64 {
	var area2, moment12, sx, base float64
	for k, r := range p {
		if len(r) == 0 {
			continue
		}
		if k == 0 {
			base = r[0][0]
		}
		oy := r[0][1]
		for i := 1; i < len(r); i++ {
			x0, y0, x1, y1 := r[i-1][0]-base, r[i-1][1]-oy, r[i][0]-base, r[i][1]-oy
			cross := x0*y1 - x1*y0
			area2 += cross
			sx += (x0 + x1) * cross
			moment12 += (x0*x0 + x0*x1 + x1*x1) * cross
		}
	}
	plane := area2 / 2
	if plane == 0 {
		return 0
	}
	// ∫(base+x')² = base² A + 2 base ∫x' + ∫x'²
	meanX2 := base*base + 2*base*(sx/6)/plane + (moment12/12)/plane
	return plane / f.AreaScale(orb.Point{math.Sqrt(max(0, meanX2)), 0})
}

// ringM is the plan length of a ring.
func ringM(f geo.Frame, r orb.Ring) (sum float64) {
	for i := 1; i < len(r); i++ {
		sum += f.PlanM(r[i-1], r[i])
	}
	return sum
}
