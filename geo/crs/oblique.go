package crs

import "math"

// hotine is the oblique Mercator projection along a line through the centre,
// worked out on the conformal sphere that touches the ellipsoid there:
//
//	      u ↗ initial line, azimuth α
//	       ╱
//	centre ╲
//	        ╲ v
//
// The formulas of IOGP Guidance Note 7-2, section 3.6.1 (2019), are the same
// projection written for the aposphere, but lose half the digits for an
// azimuth of 90 degrees (Switzerland), where their natural origin is found by
// an arcsine of 1.
type hotine struct {
	g            conformalSphere
	sAz, cAz     float64 // azimuth of the initial line
	sSkew, cSkew float64 // from the rectified to the skew grid
	radiusM      float64
	uOffsetM     float64 // of the centre from the false origin along the line
}

// newHotineB has its false origin at the centre.
func newHotineB(el ellipsoid, p Params) (projection, error) { return newHotine(el, p) }

// newHotineA has its false origin where the initial line crosses the equator
// of the aposphere.
func newHotineA(el ellipsoid, p Params) (projection, error) {
	h, err := newHotine(el, p)
	if err != nil {
		return nil, err
	}
	h.uOffsetM = h.radiusM * math.Atan2(h.g.s0, h.cAz*h.g.c0)
	return h, nil
}

func newHotine(el ellipsoid, p Params) (*hotine, error) {
	if err := insidePoles("the latitude of the centre", p.LatOriginDeg); err != nil {
		return nil, err
	}
	h := &hotine{g: newConformalSphere(el, p.LatOriginDeg*radPerDegree)}
	h.radiusM = h.g.rhoM * p.ScaleFactor
	h.sAz, h.cAz = math.Sincos(p.AzimuthDeg * radPerDegree)
	h.sSkew, h.cSkew = math.Sincos(p.SkewDeg * radPerDegree)
	return h, nil
}

func (h *hotine) forward(lam, phi float64) (x, y float64, ok bool) {
	p := h.g.place(lam, phi)
	along := h.sAz*p.east + h.cAz*p.north
	right := h.cAz*p.east - h.sAz*p.north
	u := h.radiusM*math.Atan2(along, p.up) + h.uOffsetM
	v := h.radiusM * asinh(right/math.Sqrt(1-right*right))
	return u*h.sSkew + v*h.cSkew, u*h.cSkew - v*h.sSkew, math.Abs(right) < maxAside && p.up > 0
}

// maxAside is the sine of how far from the initial line, 80 degrees, the
// projection still answers: beyond, as towards Mercator's poles, nothing is
// mapped with it.
const maxAside = 0.985

func (h *hotine) inverse(x, y float64) (lam, phi float64, ok bool) {
	u := (x*h.sSkew + y*h.cSkew - h.uOffsetM) / h.radiusM
	v := (x*h.cSkew - y*h.sSkew) / h.radiusM
	su, cu := math.Sincos(u)
	t := math.Exp(v)
	c := 2 / (t + 1/t)
	right, along := c*(t-1/t)/2, c*su
	lam, phi = h.g.lonLat(place{
		up:    c * cu,
		east:  h.sAz*along + h.cAz*right,
		north: h.cAz*along - h.sAz*right,
	})
	return lam, phi, math.Abs(right) < maxAside && math.Abs(u) < math.Pi/2
}
