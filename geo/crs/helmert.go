package crs

import (
	"math"

	"hemrow/geo"
)

// wgs84Ellipsoid is the figure that positions are referred to once they are
// WGS84 (EPSG ellipsoid 7030).
var wgs84Ellipsoid = Ellipsoid{SemiMajorM: 6378137, InvFlatteningRatio: 298.257223563}

// geocentric is a point relative to the centre of the earth.
type geocentric struct{ xM, yM, zM float64 }

// figure is an ellipsoid made ready for conversions.
type figure struct {
	aM, bM, e2, ep2 float64 //unit:e2 and ep2 are squared eccentricities
}

// perMillion turns parts per million into a ratio.
const perMillion = 1e-6

func newFigure(e Ellipsoid) figure {
	f := 0.0
	if e.InvFlatteningRatio != 0 {
		f = 1 / e.InvFlatteningRatio
	}
	e2 := f * (2 - f)
	return figure{aM: e.SemiMajorM, bM: e.SemiMajorM * (1 - f), e2: e2, ep2: e2 / (1 - e2)}
}

// toCentre is the point on the ellipsoid itself, at height 0. Source: IOGP
// Guidance Note 7-2, section 4.1.1.
func (f figure) toCentre(ll geo.LonLat) geocentric {
	sinLat, cosLat := math.Sincos(ll.LatDeg * radPerDegree)
	sinLon, cosLon := math.Sincos(ll.LonDeg * radPerDegree)
	n := f.aM / math.Sqrt(1-f.e2*sinLat*sinLat)
	return geocentric{n * cosLat * cosLon, n * cosLat * sinLon, n * (1 - f.e2) * sinLat}
}

// fromCentre drops the height. Bowring's formula, once: its error near the
// surface is far below the rounding of a double (B. R. Bowring, Survey Review
// 23 (1976) 323-327: 1e-7 seconds of arc at 5000 m).
func (f figure) fromCentre(g geocentric) geo.LonLat {
	p := math.Hypot(g.xM, g.yM)
	u := math.Atan2(g.zM*f.aM, p*f.bM)
	sinU, cosU := math.Sincos(u)
	lat := math.Atan2(g.zM+f.ep2*f.bM*sinU*sinU*sinU, p-f.e2*f.aM*cosU*cosU*cosU)
	return geo.LonLat{LonDeg: math.Atan2(g.yM, g.xM) / radPerDegree, LatDeg: lat / radPerDegree}
}

// helmertShift carries positions of one datum into WGS84.
//
// Heights are 0 on the way in and dropped on the way out: ground at height h
// would land h·s/R elsewhere, where s is the size of the shift: 6 cm for 500 m
// of height and a shift of 800 m. Published sets are themselves good to a
// metre or so.
type helmertShift struct {
	from, to figure
	turnDeg  float64       // added to longitudes first
	m        [3][3]float64 //unit:ratio
	t        geocentric
}

var _ datumShift = (*helmertShift)(nil)

// make is the shift ready for positions on an ellipsoid.
func (s *Shift) make(from Ellipsoid) *helmertShift {
	h := newHelmertShift(s.Helmert, from)
	h.turnDeg = s.LonTurnSec / 3600
	return h
}

// newHelmertShift makes the shift from a datum on an ellipsoid to WGS84 by the
// formula for small angles, EPSG method 9606. Source: IOGP Guidance Note 7-2,
// section 4.3.3.
func newHelmertShift(h Helmert, from Ellipsoid) *helmertShift {
	const radPerSecond = radPerDegree / 3600
	rx, ry, rz := h.RXSec*radPerSecond, h.RYSec*radPerSecond, h.RZSec*radPerSecond
	s := 1 + h.ScalePPM*perMillion
	return &helmertShift{
		from: newFigure(from), to: newFigure(wgs84Ellipsoid),
		m: [3][3]float64{
			{s, -s * rz, s * ry},
			{s * rz, s, -s * rx},
			{-s * ry, s * rx, s},
		},
		t: geocentric{h.DXM, h.DYM, h.DZM},
	}
}

func (h *helmertShift) forward(ll geo.LonLat) (geo.LonLat, bool) {
	ll.LonDeg += h.turnDeg
	g := h.from.toCentre(ll)
	out := h.to.fromCentre(geocentric{
		h.m[0][0]*g.xM + h.m[0][1]*g.yM + h.m[0][2]*g.zM + h.t.xM,
		h.m[1][0]*g.xM + h.m[1][1]*g.yM + h.m[1][2]*g.zM + h.t.yM,
		h.m[2][0]*g.xM + h.m[2][1]*g.yM + h.m[2][2]*g.zM + h.t.zM,
	})
	return out, finite(out)
}

// inverse finds the position that forward carries to ll. The reversed formula
// would only come within centimetres of it: it neglects squares of the angles
// and starts from another height.
func (h *helmertShift) inverse(ll geo.LonLat) (geo.LonLat, bool) {
	return invertShift(ll, h.forward)
}

// invertShift solves forward(p) = ll. Shifts change over the earth so slowly
// (1e-3 at most) that each round gains three decimals; a place where it does
// not settle has no answer.
func invertShift(ll geo.LonLat, forward func(geo.LonLat) (geo.LonLat, bool)) (geo.LonLat, bool) {
	p := ll
	for range shiftRounds {
		q, ok := forward(p)
		if !ok {
			return geo.LonLat{}, false
		}
		dLon, dLat := math.Remainder(ll.LonDeg-q.LonDeg, 360), ll.LatDeg-q.LatDeg
		p.LonDeg += dLon
		p.LatDeg = math.Max(-90, math.Min(90, p.LatDeg+dLat))
		if math.Abs(dLon) < shiftSettledDeg && math.Abs(dLat) < shiftSettledDeg {
			return geo.LonLat{LonDeg: math.Remainder(p.LonDeg, 360), LatDeg: p.LatDeg}, finite(p)
		}
	}
	return geo.LonLat{}, false
}

const (
	radPerDegree = math.Pi / 180

	// shiftSettledDeg is a few rounding steps of 180 degrees (2.8e-14): a
	// hundredth of a micrometre on the ground.
	shiftSettledDeg = 1e-13
	// shiftRounds allows for places near a pole, where longitudes settle slowly.
	shiftRounds = 30
)

func finite(ll geo.LonLat) bool {
	return !math.IsNaN(ll.LonDeg-ll.LonDeg) && !math.IsNaN(ll.LatDeg-ll.LatDeg)
}
