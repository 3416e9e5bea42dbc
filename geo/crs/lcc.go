package crs

import (
	"errors"
	"math"
)

// lambertConic is the conformal cone, with one standard parallel or two.
// Source: IOGP Guidance Note 7-2, section 3.1.1 (2019); the powers of t there
// are exponentials of the isometric latitude here.
type lambertConic struct {
	el      ellipsoid
	n       float64 // constant of the cone
	scaleM  float64 // radius on the cone at the equator
	r0M     float64 // radius at the latitude of origin
	bendRad float64 // Belgium's a
}

// polarPsi is the isometric latitude of a place 80 m from a pole. Nearer than
// this, Mercator's projection and the open end of a cone run off to infinity;
// nothing is planted there.
const polarPsi = 12.0

// belgiumBendRad is the angle a of EPSG method 9803, in radians: 29.2985
// seconds, a constant of the method.
const belgiumBendRad = 29.2985 / 3600 * radPerDegree

var errCone = errors.New("the standard parallels make no cone: they must be short of the poles and not mirror each other across the equator")

func newLambert1SP(el ellipsoid, p Params) (projection, error) {
	return newLambert(el, p.LatOriginDeg, p.LatOriginDeg, p.LatOriginDeg, p.ScaleFactor)
}

func newLambert2SP(el ellipsoid, p Params) (projection, error) {
	return newLambert(el, p.LatOriginDeg, p.Parallel1Deg, p.Parallel2Deg, 1)
}

// newLambertMichigan scales the ellipsoid of the cone.
func newLambertMichigan(el ellipsoid, p Params) (projection, error) {
	return newLambert(el, p.LatOriginDeg, p.Parallel1Deg, p.Parallel2Deg, p.ScaleFactor)
}

func newLambertBelgium(el ellipsoid, p Params) (projection, error) {
	l, err := newLambert(el, p.LatOriginDeg, p.Parallel1Deg, p.Parallel2Deg, 1)
	if err != nil {
		return nil, err
	}
	l.bendRad = belgiumBendRad
	return l, nil
}

func newLambert(el ellipsoid, lat0, sp1, sp2, scale float64) (*lambertConic, error) {
	phi0, phi1, phi2 := lat0*radPerDegree, sp1*radPerDegree, sp2*radPerDegree
	l := &lambertConic{el: el, n: math.Sin(phi1)}
	psi1 := el.isometric(phi1)
	if phi1 != phi2 {
		l.n = coneConstant(math.Log(el.parallelRatio(phi1)/el.parallelRatio(phi2)), el.isometric(phi2)-psi1, phi1, phi2)
	}
	if !(math.Abs(psi1) < polarPsi && math.Abs(el.isometric(phi2)) < polarPsi && math.Abs(l.n) > minConeRatio) {
		return nil, errCone
	}
	l.scaleM = el.aM * scale * el.parallelRatio(phi1) / l.n * math.Exp(l.n*psi1)
	// At the pole that the cone closes over, the radius is 0.
	if math.Abs(lat0) < 90 {
		l.r0M = l.scaleM * math.Exp(-l.n*el.isometric(phi0))
	} else if lat0*l.n < 0 {
		return nil, errors.New("the latitude of origin is the pole at which the cone is open")
	}
	return l, nil
}

const (
	// minConeRatio: a cone of 0.6 degrees at its tip has a radius of 640 000 km,
	// in which a double holds a tenth of a micrometre. Flatter ones are
	// cylinders by a slip.
	minConeRatio = 0.01

	// nearParallels is the difference of isometric latitude below which the
	// quotient of the cone's constant loses more to rounding (2e-16 over it)
	// than the mean of the sines to curvature (its square over 12).
	nearParallels = 1e-5
)

// coneConstant is the mean sine of the latitude between two parallels, taken
// over the isometric latitude: (ln m₁ - ln m₂)/(ψ₂ - ψ₁).
func coneConstant(lnRatio, dpsi, phi1, phi2 float64) float64 {
	if math.Abs(dpsi) < nearParallels {
		return (math.Sin(phi1) + math.Sin(phi2)) / 2
	}
	return lnRatio / dpsi
}

func (l *lambertConic) forward(lam, phi float64) (x, y float64, ok bool) {
	psi := l.el.isometric(phi)
	r := l.scaleM * math.Exp(-l.n*psi)
	s, c := math.Sincos(l.n*lam - l.bendRad)
	return r * s, l.r0M - r*c, l.covers(psi)
}

func (l *lambertConic) inverse(x, y float64) (lam, phi float64, ok bool) {
	sign := math.Copysign(1, l.n)
	dx, dy := sign*x, sign*(l.r0M-y)
	r := sign * math.Sqrt(dx*dx+dy*dy)
	lam = (math.Atan2(dx, dy) + l.bendRad) / l.n
	if r == 0 { // the tip
		return 0, sign * math.Pi / 2, true
	}
	psi := math.Log(l.scaleM/r) / l.n
	return lam, l.el.latitudeOf(psi), l.covers(psi) && math.Abs(lam) <= math.Pi
}

// covers reports whether the isometric latitude is not at the open end of the
// cone.
func (l *lambertConic) covers(psi float64) bool {
	return psi*math.Copysign(1, l.n) > -polarPsi
}
