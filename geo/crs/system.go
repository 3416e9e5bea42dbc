package crs

import (
	"math"
	"slices"

	"hemrow/geo"
)

// datumShift carries a position of one datum, degrees east of Greenwich, to
// another and back. False means that it has no answer there.
type datumShift interface {
	forward(ll geo.LonLat) (geo.LonLat, bool)
	inverse(ll geo.LonLat) (geo.LonLat, bool)
}

// projection is one method with its parameters worked out. lamRad is counted
// from the longitude of origin, in [-π, π]; x and y are metres east and north
// of the false origin. ok is false where the method has no answer; a result
// that is not a number need not be caught.
type projection interface {
	forward(lamRad, phiRad float64) (xM, yM float64, ok bool)
	inverse(xM, yM float64) (lamRad, phiRad float64, ok bool)
}

// System turns the coordinates of one coordinate reference system into
// longitude and latitude, and back. Make one with [New]; it does not change
// afterwards and may be used by several goroutines at once.
type System struct {
	def  Definition
	proj projection // nil for a geographic system
	// A stored coordinate is (metres or degrees east + offset) / unit; both are
	// negative where the axis counts westing or southing.
	xUnit, yUnit     float64
	xOffset, yOffset float64
	lonOriginDeg     float64 // east of Greenwich
	shift            datumShift
}

// New makes the system that d defines. It errors when the method is not one of
// the constants of this package, and when a parameter that the method uses is
// missing, not finite or outside what makes sense on the earth; the message
// names the system and the parameter.
func New(d Definition) (*System, error) {
	if err := d.check(); err != nil {
		return nil, err
	}
	if d.Base.Shift != nil {
		sh := *d.Base.Shift // the caller may change his
		sh.Bounds = sh.Bounds.copy()
		d.Base.Shift = &sh
	}
	d.Bounds, d.ReplacedBy = d.Bounds.copy(), slices.Clone(d.ReplacedBy)
	s := &System{def: d, lonOriginDeg: d.Base.MeridianDeg}
	unit, xFalse, yFalse := d.Base.AngleDeg, 0.0, 0.0
	m, projected := methods[d.Method]
	if projected {
		proj, err := m.make(newEllipsoid(d.Base.Ellipsoid), d.Params)
		if err != nil {
			return nil, d.fault(err)
		}
		s.proj, s.lonOriginDeg = proj, d.Params.LonOriginDeg+d.Base.MeridianDeg
		unit, xFalse, yFalse = d.UnitM, d.Params.FalseEastM, d.Params.FalseNorthM
	}
	s.xUnit, s.xOffset = axis(unit, xFalse, m.west || d.WestSouth)
	s.yUnit, s.yOffset = axis(unit, yFalse, m.south || d.WestSouth && !m.west)
	if h := d.Base.Shift; h != nil && !h.Null {
		s.shift = h.make(d.Base.Ellipsoid)
	}
	return s, nil
}

// axis turns a false easting or northing, which is added to the coordinate as
// the axis counts it, into what is added to the metres east or north.
func axis(unit, falseM float64, reversed bool) (u, offsetM float64) {
	if reversed {
		return -unit, -falseM
	}
	return unit, falseM
}

// Definition is what the system was made from.
func (s *System) Definition() Definition { return s.def }

// Name is the name of the system, or "unnamed system".
func (s *System) Name() string { return s.def.title() }

// Geographic reports whether the coordinates are longitude and latitude.
func (s *System) Geographic() bool { return s.proj == nil }

// WithGrid is the system with its datum shift taken from a grid of the
// surveyor's, which then stands in for the seven parameters. Outside the grid
// the system has no answer. A nil grid leaves the system as it was made.
func (s *System) WithGrid(g *Grid) *System {
	if g == nil {
		return s
	}
	c := *s
	c.shift = g
	return &c
}

// ToBase turns coordinates into longitude and latitude on the system's own
// datum, degrees from Greenwich in [-180, 180].
//
// Inside the area of use every method agrees with PROJ 9.1.1 within 2 µm, save
// where PROJ's own way back strays from its way there (reference_test.go). ok is false where p is not finite or the
// projection has no answer, never with a number that is not one.
func (s *System) ToBase(p XY) (ll geo.LonLat, ok bool) {
	x, y := p.X*s.xUnit-s.xOffset, p.Y*s.yUnit-s.yOffset
	if s.proj == nil {
		ll, ok = geo.LonLat{LonDeg: x, LatDeg: y}, math.Abs(x) <= 360
	} else {
		ll.LonDeg, ll.LatDeg, ok = s.proj.inverse(x, y)
		ll.LonDeg *= degPerRad
		ll.LatDeg *= degPerRad
	}
	ll.LonDeg = wrapLon(ll.LonDeg + s.lonOriginDeg)
	if !ok || !ll.Valid() {
		return geo.LonLat{}, false
	}
	return ll, true
}

// FromBase is the inverse of [System.ToBase].
func (s *System) FromBase(ll geo.LonLat) (p XY, ok bool) {
	if !ll.Valid() {
		return XY{}, false
	}
	x, y := wrapLon(ll.LonDeg-s.lonOriginDeg), ll.LatDeg
	if s.proj != nil {
		x, y, ok = s.proj.forward(x*radPerDegree, y*radPerDegree)
		if !ok {
			return XY{}, false
		}
	}
	p = XY{(x + s.xOffset) / s.xUnit, (y + s.yOffset) / s.yUnit}
	if !(math.Abs(p.X) <= math.MaxFloat64 && math.Abs(p.Y) <= math.MaxFloat64) {
		return XY{}, false
	}
	return p, true
}

// ToWGS84 turns coordinates into WGS84 longitude and latitude: [System.ToBase]
// followed by the datum's shift. Without a known shift, and for datums that
// are taken for WGS84, the position is that of the system's own datum.
//
// The ground is taken to lie on the ellipsoid. A datum whose centre is off by
// s moves a point at height h by up to h·s/R more: 6 cm for 500 m of height
// and a shift of 800 m, less than the metre to which such shifts are known.
//
// ok is false where p is not finite, the projection has no answer, or a grid
// does not cover the place.
func (s *System) ToWGS84(p XY) (ll geo.LonLat, ok bool) {
	ll, ok = s.ToBase(p)
	if !ok || s.shift == nil {
		return ll, ok
	}
	return s.shift.forward(ll)
}

// FromWGS84 is the inverse of [System.ToWGS84].
func (s *System) FromWGS84(ll geo.LonLat) (p XY, ok bool) {
	if !ll.Valid() {
		return XY{}, false
	}
	if s.shift != nil {
		if ll, ok = s.shift.inverse(geo.LonLat{LonDeg: wrapLon(ll.LonDeg), LatDeg: ll.LatDeg}); !ok {
			return XY{}, false
		}
	}
	return s.FromBase(ll)
}

// wrapLon is [geo.WrapLonDeg], which costs more than a projection's sine, for
// the common case that there is nothing to do.
func wrapLon(lonDeg float64) float64 {
	if math.Abs(lonDeg) <= 180 {
		return lonDeg
	}
	return geo.WrapLonDeg(lonDeg)
}
