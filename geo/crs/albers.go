package crs

import "math"

// albers is the equal-area cone. Source: J. P. Snyder, Map Projections: A
// Working Manual, USGS Professional Paper 1395 (1987), equations 14-1 to 14-21.
type albers struct {
	el     ellipsoid
	n      float64 // constant of the cone
	aM     float64
	c      float64 // the manual's C
	r0M    float64
	q2     float64 // half the authalic q of the pole
	toPhi  series
	toBeta series
}

func newAlbers(el ellipsoid, p Params) (projection, error) {
	phi1, phi2 := p.Parallel1Deg*radPerDegree, p.Parallel2Deg*radPerDegree
	m1, m2 := el.parallelRatio(phi1), el.parallelRatio(phi2)
	a := &albers{
		el: el, aM: el.aM, n: math.Sin(phi1), q2: (1 - el.e2) * el.authalic(1) / 2,
		toPhi: authalicToGeographic(el.n), toBeta: geographicToAuthalic(el.n),
	}
	q1, q2 := a.q(phi1), a.q(phi2)
	if math.Abs(q2-q1) > nearParallels {
		a.n = (m1*m1 - m2*m2) / (q2 - q1)
	} else {
		a.n = (math.Sin(phi1) + math.Sin(phi2)) / 2
	}
	if !(math.Abs(a.n) > minConeRatio) || math.Abs(p.Parallel1Deg) == 90 || math.Abs(p.Parallel2Deg) == 90 {
		return nil, errCone
	}
	a.c = m1*m1 + a.n*q1
	// rounding may leave less than nothing at the tip of the cone
	d := max(0, a.c-a.n*a.q(p.LatOriginDeg*radPerDegree))
	a.r0M = a.aM * math.Sqrt(d) / a.n
	return a, nil
}

// q is 2 sin β scaled by the pole's.
func (a *albers) q(phi float64) float64 {
	s, c := math.Sincos(2 * phi)
	return 2 * a.q2 * math.Sin(phi+a.toBeta.sum(s, c))
}

func (a *albers) forward(lam, phi float64) (x, y float64, ok bool) {
	d := max(0, a.c-a.n*a.q(phi))
	r := a.aM * math.Sqrt(d) / a.n
	s, c := math.Sincos(a.n * lam)
	return r * s, a.r0M - r*c, true
}

func (a *albers) inverse(x, y float64) (lam, phi float64, ok bool) {
	sign := math.Copysign(1, a.n)
	dx, dy := sign*x, sign*(a.r0M-y)
	rn := a.n / a.aM
	sb := (a.c - (dx*dx+dy*dy)*rn*rn) / (2 * a.n * a.q2)
	lam = math.Atan2(dx, dy) / a.n
	cb := math.Sqrt(1 - sb*sb)
	return lam, math.Asin(sb) + a.toPhi.sum(2*sb*cb, 1-2*sb*sb), math.Abs(lam) <= math.Pi && math.Abs(sb) <= 1
}

// lambertAzimuthal is the equal-area azimuthal projection on the authalic
// sphere. Source: IOGP Guidance Note 7-2, section 3.3.1 (2019), written with
// vectors so that the pole needs no case of its own.
type lambertAzimuthal struct {
	radiusM       float64 // of the authalic sphere
	d             float64 // stretch that makes the centre true to shape
	s0, c0        float64
	toPhi, toBeta series
}

func newLambertAzimuthal(el ellipsoid, p Params) (projection, error) {
	l := &lambertAzimuthal{toPhi: authalicToGeographic(el.n), toBeta: geographicToAuthalic(el.n), d: 1}
	l.radiusM = el.aM * math.Sqrt((1-el.e2)*el.authalic(1)/2)
	phi := p.LatOriginDeg * radPerDegree
	l.s0, l.c0 = l.authalic(phi)
	if math.Abs(p.LatOriginDeg) < 90 {
		l.d = el.aM * el.parallelRatio(phi) / (l.radiusM * l.c0)
	} else {
		l.s0, l.c0 = math.Copysign(1, phi), 0
	}
	return l, nil
}

func (l *lambertAzimuthal) authalic(phi float64) (s, c float64) {
	s, c = math.Sincos(2 * phi)
	return math.Sincos(phi + l.toBeta.sum(s, c))
}

func (l *lambertAzimuthal) forward(lam, phi float64) (x, y float64, ok bool) {
	s, c := l.authalic(phi)
	sl, cl := math.Sincos(lam)
	up := l.s0*s + l.c0*c*cl
	k := l.radiusM * math.Sqrt(2/(1+up))
	return k * l.d * c * sl, k / l.d * (l.c0*s - l.s0*c*cl), up > 0 // the centre's half of the earth
}

func (l *lambertAzimuthal) inverse(x, y float64) (lam, phi float64, ok bool) {
	x, y = x/(l.radiusM*l.d), y*l.d/l.radiusM
	q := x*x + y*y
	up, k := 1-q/2, math.Sqrt(1-q/4)
	s := l.s0*up + l.c0*k*y
	towards := l.c0*up - l.s0*k*y
	c := math.Sqrt(k*k*x*x + towards*towards)
	beta := math.Atan2(s, c)
	return math.Atan2(k*x, towards), beta + l.toPhi.sum(2*s*c, c*c-s*s), up > 0
}
