package crs

import (
	"errors"
	"fmt"
	"math"
)

// conformalSphere is Gauss's sphere, on which the oblique projections work: it
// touches the ellipsoid at one latitude, where its radius is the mean one.
// Source: IOGP Guidance Note 7-2, section 3.4.1 (oblique stereographic), 2019.
type conformalSphere struct {
	el         ellipsoid
	ratio      float64 // of longitudes
	shift      float64 // of isometric latitudes
	s0, c0     float64 // of the latitude of origin on the sphere
	chi0, rhoM float64 // that latitude in radians; radius
}

func newConformalSphere(el ellipsoid, phi0 float64) conformalSphere {
	s, c := math.Sincos(phi0)
	g := conformalSphere{el: el}
	g.ratio = math.Sqrt(1 + el.e2*c*c*c*c/(1-el.e2))
	g.chi0 = math.Asin(s / g.ratio)
	g.s0, g.c0 = math.Sincos(g.chi0)
	g.shift = asinh(g.s0/g.c0) - g.ratio*el.isometric(phi0)
	g.rhoM = el.aM * math.Sqrt(1-el.e2) / (1 - el.e2*s*s)
	return g
}

// place is a point of the sphere as a unit vector at its centre: up towards
// the origin of the projection, east and north there.
type place struct{ up, east, north float64 }

// place carries longitude from the origin and latitude to the sphere.
func (g *conformalSphere) place(lam, phi float64) place {
	psi := g.ratio*g.el.isometric(phi) + g.shift
	t := math.Exp(psi)
	c := 2 / (t + 1/t)
	s := c * (t - 1/t) / 2
	sl, cl := math.Sincos(g.ratio * lam)
	return place{g.s0*s + g.c0*c*cl, c * sl, g.c0*s - g.s0*c*cl}
}

// lonLat is the inverse of place.
func (g *conformalSphere) lonLat(p place) (lam, phi float64) {
	s := g.s0*p.up + g.c0*p.north       // along the axis
	towards := g.c0*p.up - g.s0*p.north // in the equator, towards the origin's meridian
	c := math.Sqrt(p.east*p.east + towards*towards)
	psi := math.Copysign(math.Log((1+math.Abs(s))/c), s) // asinh(s/c)
	return math.Atan2(p.east, towards) / g.ratio, g.el.latitudeOf((psi - g.shift) / g.ratio)
}

// obliqueStereographic is the double projection of the Netherlands and others
// (EPSG method 9809).
type obliqueStereographic struct {
	g         conformalSphere
	diameterM float64
}

func newObliqueStereographic(el ellipsoid, p Params) (projection, error) {
	if err := insidePoles("the latitude of origin", p.LatOriginDeg); err != nil {
		return nil, err
	}
	g := newConformalSphere(el, p.LatOriginDeg*radPerDegree)
	return &obliqueStereographic{g, 2 * g.rhoM * p.ScaleFactor}, nil
}

func (o *obliqueStereographic) forward(lam, phi float64) (x, y float64, ok bool) {
	p := o.g.place(lam, phi)
	k := o.diameterM / (1 + p.up)
	return k * p.east, k * p.north, p.up > 0 // the origin's half of the earth
}

func (o *obliqueStereographic) inverse(x, y float64) (lam, phi float64, ok bool) {
	x, y = x/o.diameterM, y/o.diameterM
	q := x*x + y*y
	up, k := (1-q)/(1+q), 2/(1+q)
	lam, phi = o.g.lonLat(place{up, k * x, k * y})
	return lam, phi, up > 0
}

// polarStereographic is worked out for the north; for the south latitudes,
// northings and the sense of longitude change sign. Source: IOGP Guidance Note
// 7-2, section 3.4.2 (2019).
type polarStereographic struct {
	el     ellipsoid
	sign   float64 // 1 north, -1 south
	scaleM float64 // radius for t = 1
	y0M    float64 // of the false origin from the pole
}

// polarFactor is sqrt((1+e)^(1+e) (1-e)^(1-e)).
func (el *ellipsoid) polarFactor() float64 {
	return math.Sqrt(1-el.e2) * math.Exp(el.e2*el.atanhRatio(1))
}

func newPolarA(el ellipsoid, p Params) (projection, error) {
	if math.Abs(p.LatOriginDeg) != 90 {
		return nil, fmt.Errorf("the latitude of origin is %g degrees: this variant needs a pole, 90 or -90", p.LatOriginDeg)
	}
	return &polarStereographic{
		el: el, sign: math.Copysign(1, p.LatOriginDeg),
		scaleM: 2 * el.aM * p.ScaleFactor / el.polarFactor(),
	}, nil
}

// newPolarB has the scale given by the parallel that is true to size.
func newPolarB(el ellipsoid, p Params) (projection, error) { return newPolarTrue(el, p) }

// newPolarC has its false origin not at the pole but on that parallel.
func newPolarC(el ellipsoid, p Params) (projection, error) {
	o, err := newPolarTrue(el, p)
	if err != nil {
		return nil, err
	}
	o.y0M = -o.sign * el.aM * el.parallelRatio(p.Parallel1Deg*radPerDegree)
	return o, nil
}

func newPolarTrue(el ellipsoid, p Params) (*polarStereographic, error) {
	if p.Parallel1Deg == 0 {
		return nil, errors.New("the standard parallel is the equator, or missing: it must lie north or south")
	}
	o := &polarStereographic{el: el, sign: math.Copysign(1, p.Parallel1Deg)}
	phi := math.Abs(p.Parallel1Deg) * radPerDegree
	if phi == math.Pi/2 {
		o.scaleM = 2 * el.aM / el.polarFactor()
		return o, nil
	}
	o.scaleM = el.aM * el.parallelRatio(phi) * math.Exp(el.isometric(phi))
	return o, nil
}

func (o *polarStereographic) forward(lam, phi float64) (x, y float64, ok bool) {
	phi *= o.sign
	r := o.scaleM * math.Exp(-o.el.isometric(phi))
	s, c := math.Sincos(lam)
	return r * s, -o.sign*r*c - o.y0M, phi > 0 // the pole's half of the earth
}

func (o *polarStereographic) inverse(x, y float64) (lam, phi float64, ok bool) {
	y = -o.sign * (y + o.y0M)
	t := math.Sqrt(x*x+y*y) / o.scaleM
	if t == 0 {
		return 0, o.sign * math.Pi / 2, true
	}
	return math.Atan2(x, y), o.sign * o.el.latitude((1/t-t)/2), t < 1
}
