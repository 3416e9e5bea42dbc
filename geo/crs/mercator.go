package crs

import "math"

// mercator is the conformal cylinder on the equator. Source: IOGP Guidance
// Note 7-2, section 3.5.1 (2019).
type mercator struct {
	el      ellipsoid
	radiusM float64 // at the equator, scale factor and all
}

func newMercatorA(el ellipsoid, p Params) (projection, error) {
	// The latitude of origin is 0 by definition (the note, variant A).
	return &mercator{el, el.aM * p.ScaleFactor}, nil
}

func newMercatorB(el ellipsoid, p Params) (projection, error) {
	if err := insidePoles("the standard parallel", p.Parallel1Deg); err != nil {
		return nil, err
	}
	return &mercator{el, el.aM * el.parallelRatio(p.Parallel1Deg*radPerDegree)}, nil
}

// newWebMercator takes latitudes of the ellipsoid as if they were a sphere's.
// Source: IOGP Guidance Note 7-2, section 3.5.2 (2019).
func newWebMercator(el ellipsoid, _ Params) (projection, error) {
	return &mercator{newEllipsoid(Ellipsoid{SemiMajorM: el.aM}), el.aM}, nil
}

func (m *mercator) forward(lam, phi float64) (x, y float64, ok bool) {
	psi := m.el.isometric(phi)
	return m.radiusM * lam, m.radiusM * psi, math.Abs(psi) < polarPsi
}

func (m *mercator) inverse(x, y float64) (lam, phi float64, ok bool) {
	lam, psi := x/m.radiusM, y/m.radiusM
	return lam, m.el.latitudeOf(psi), math.Abs(psi) < polarPsi && onceRound(lam)
}

// onceRound reports whether a longitude from the origin is on the map and not
// on its repetition, allowing for the rounding of its edge.
func onceRound(lam float64) bool { return math.Abs(lam) <= math.Pi*(1+edgeRatio) }

// edgeRatio is some rounding steps of a coordinate (2e-16 each): 0.2
// micrometres at the antimeridian.
const edgeRatio = 1e-14
