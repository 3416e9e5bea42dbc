package crs

import "math"

// transverseMercator is the series of Krüger to sixth order in n, after C. F.
// F. Karney, "Transverse Mercator with an accuracy of a few nanometers", J.
// Geodesy 85 (2011) 475-485.
type transverseMercator struct {
	el          ellipsoid
	radiusM     float64 // rectifying radius times the scale factor
	y0M         float64 // of the latitude of origin
	alpha, beta series
}

func newTransverseMercator(el ellipsoid, p Params) (projection, error) {
	t := &transverseMercator{
		el: el, radiusM: p.ScaleFactor * el.rectifyingRadius(),
		alpha: conformalToRectifying(el.n), beta: rectifyingToConformal(el.n),
	}
	_, t.y0M, _ = t.forward(0, p.LatOriginDeg*radPerDegree)
	return t, nil
}

// maxTransverse bounds the distance from the central meridian, in radii of the
// earth: at 1, 6400 km, the first term left out is 0.9 n⁷ cosh 14 = 1.2e-14 of
// the radius, a tenth of a micrometre; from there on it grows fast.
const maxTransverse = 1.0

func (t *transverseMercator) forward(lam, phi float64) (x, y float64, ok bool) {
	sphi, cphi := math.Sincos(phi)
	taup := t.el.conformalTan(sphi, cphi)
	s, c := math.Sincos(lam)
	h2 := taup*taup + c*c
	sh := s / math.Sqrt(h2)
	xi, eta := math.Atan2(taup, c), asinh(sh)
	// sine and cosine of 2ξ', hyperbolic ones of 2η' without another call
	dxi, deta := t.alpha.complexSum(2*taup*c/h2, (c*c-taup*taup)/h2, 2*sh*math.Sqrt(1+sh*sh), 1+2*sh*sh)
	xi, eta = xi+dxi, eta+deta
	return t.radiusM * eta, t.radiusM*xi - t.y0M, math.Abs(eta) <= maxTransverse && c > 0
}

func (t *transverseMercator) inverse(x, y float64) (lam, phi float64, ok bool) {
	xi, eta := (y+t.y0M)/t.radiusM, x/t.radiusM
	if !(math.Abs(eta) <= maxTransverse && math.Abs(xi) <= math.Pi/2) {
		return 0, 0, false
	}
	s2, c2 := math.Sincos(2 * xi)
	e2 := math.Exp(2 * eta)
	dxi, deta := t.beta.complexSum(s2, c2, (e2-1/e2)/2, (e2+1/e2)/2)
	s, c := math.Sincos(xi + dxi)
	sh := sinh(eta + deta)
	return math.Atan2(sh, c), t.el.latitude(s / math.Sqrt(sh*sh+c*c)), true
}
