package crs

import (
	"errors"
	"math"
)

// krovak is an oblique conformal cone on the conformal sphere. Source: IOGP
// Guidance Note 7-2, section 3.1.4 (2019). x and y are east and north, both
// negative in the lands it was made for; the older axes south and west are the
// same with the signs changed.
type krovak struct {
	g      conformalSphere
	sA, cA float64 // distance of the cone's axis from the centre
	n      float64 // constant of the cone
	scaleM float64 // radius on the cone's equator
}

func newKrovak(el ellipsoid, p Params) (projection, error) {
	if err := insidePoles("the latitude of the centre", p.LatOriginDeg); err != nil {
		return nil, err
	}
	if math.Abs(p.Parallel1Deg) >= 90 || p.Parallel1Deg < 1 {
		return nil, errors.New("the pseudo standard parallel must be from 1 degree to short of 90")
	}
	k := &krovak{g: newConformalSphere(el, p.LatOriginDeg*radPerDegree)}
	sp := p.Parallel1Deg * radPerDegree
	k.n = math.Sin(sp)
	k.scaleM = k.g.rhoM * p.ScaleFactor / math.Tan(sp) * math.Exp(k.n*asinh(math.Tan(sp)))
	// The axis of the cone lies on the meridian of origin, at this distance
	// from the pole; seen from the centre, so far to the north:
	k.sA, k.cA = math.Sincos(math.Pi/2 - p.AzimuthDeg*radPerDegree - k.g.chi0)
	return k, nil
}

func (k *krovak) forward(lam, phi float64) (x, y float64, ok bool) {
	p := k.g.place(lam, phi)
	axial := k.cA*p.up + k.sA*p.north
	towards := k.sA*p.up - k.cA*p.north // from the axis towards the centre
	across := math.Sqrt(p.east*p.east + towards*towards)
	r := k.scaleM * math.Exp(-k.n*asinh(axial/across))
	s, c := math.Sincos(k.n * math.Atan2(p.east, towards))
	return r * s, -r * c, axial > 0
}

func (k *krovak) inverse(x, y float64) (lam, phi float64, ok bool) {
	r := math.Sqrt(x*x + y*y)
	s, c := math.Sincos(math.Atan2(x, -y) / k.n)
	t := math.Exp(math.Log(k.scaleM/r) / k.n)
	across := 2 / (t + 1/t)
	axial, towards := across*(t-1/t)/2, across*c
	lam, phi = k.g.lonLat(place{
		up:    k.cA*axial + k.sA*towards,
		east:  across * s,
		north: k.sA*axial - k.cA*towards,
	})
	return lam, phi, axial > 0 && r > 0
}
