package crs

import "math"

// cassini is the Cassini-Soldner projection by the series in which it is
// defined. Source: IOGP Guidance Note 7-2, section 3.2.2 (2019); Snyder 1987,
// equations 13-7 to 13-10.
type cassini struct {
	el          ellipsoid
	meridianM   float64 // radius of the rectifying sphere
	m0M         float64 // distance of the origin from the equator
	toMu, toPhi series
}

func newCassini(el ellipsoid, p Params) (projection, error) {
	c := &cassini{
		el: el, meridianM: el.rectifyingRadius(),
		toMu: geographicToRectifying(el.n), toPhi: rectifyingToGeographic(el.n),
	}
	s, k := math.Sincos(2 * p.LatOriginDeg * radPerDegree)
	c.m0M = c.meridianM * (p.LatOriginDeg*radPerDegree + c.toMu.sum(s, k))
	return c, nil
}

// maxCassini: 10 degrees from the meridian of origin. The series is the
// definition, so that what it leaves out is no error; farther out the way back
// no longer settles. Grids in use reach 2 degrees.
const maxCassini = 10 * radPerDegree

func (c *cassini) forward(lam, phi float64) (x, y float64, ok bool) {
	s, k := math.Sincos(phi)
	nu := c.el.aM / math.Sqrt(1-c.el.e2*s*s)
	a, t, cc := lam*k, s*s/(k*k), c.el.e2*k*k/(1-c.el.e2)
	a2 := a * a
	m := c.meridianM*(phi+c.toMu.sum(2*s*k, k*k-s*s)) - c.m0M
	x = nu * a * (1 - t*a2*(1.0/6+(8-t+8*cc)*a2/120))
	y = m + nu*s/k*a2*(0.5+(5-t+6*cc)*a2/24)
	return x, y, math.Abs(lam) <= maxCassini
}

// inverse solves forward, starting from the foot of the perpendicular: each
// round leaves a share of (λ sin φ)², 0.03 at the edge, of the error before.
func (c *cassini) inverse(x, y float64) (lam, phi float64, ok bool) {
	mu := (y + c.m0M) / c.meridianM
	if !(math.Abs(mu) < math.Pi/2) {
		return 0, 0, false
	}
	s, k := math.Sincos(2 * mu)
	phi = mu + c.toPhi.sum(s, k)
	for range settleRounds {
		px, py, inside := c.forward(lam, phi)
		if !inside {
			return 0, 0, false
		}
		sp, cp := math.Sincos(phi)
		w2 := 1 - c.el.e2*sp*sp
		nu := c.el.aM / math.Sqrt(w2)
		dl, dp := (x-px)/(nu*cp), (y-py)*w2/(nu*(1-c.el.e2))
		lam, phi = lam+dl, phi+dp
		if math.Abs(dl) < settledRad && math.Abs(dp) < settledRad {
			return lam, phi, true
		}
	}
	return 0, 0, false
}

const (
	// settledRad is some rounding steps of an angle (2e-16): 0.03 micrometres.
	settledRad = 5e-15
	// settleRounds: 0.03 to this power is nothing beside rounding.
	settleRounds = 20
)
