package crs

import "math"

// nzMapGrid is the New Zealand Map Grid, a polynomial of complex numbers with
// least distortion over that country alone. Source: W. I. Reilly, "A conformal
// mapping projection with minimum scale error", Survey Review 22 (1973) 57-71;
// coefficients as published by Land Information New Zealand (from memory, and
// equal to PROJ 9.1.1 in the tests).
type nzMapGrid struct{ aM, phi0 float64 }

// nzIsometric turns a step of latitude, in units of 100 000 seconds, into one
// of isometric latitude; nzPlane turns that, with the longitude, into the
// plane, northing first.
var (
	nzIsometric = [10]float64{
		0.6399175073, -0.1358797613, 0.063294409, -0.02526853, 0.0117879,
		-0.0055161, 0.0026906, -0.001333, 0.00067, -0.00034,
	}
	nzPlane = [6]complex128{
		0.7557853228,
		0.249204646 + 0.003371507i,
		-0.001541739 + 0.041058560i,
		-0.10162907 + 0.01727609i,
		-0.26623489 - 0.36249218i,
		-0.6870983 - 1.1651967i,
	}
)

// maxNZ bounds the complex latitude: the country reaches 0.19 at its corners.
// From 0.3 on the polynomial folds over.
const maxNZ = 0.22

// nzUnit is one radian in units of 100 000 seconds.
const nzUnit = degPerRad * 3600 * 1e-5

func newNZMapGrid(el ellipsoid, p Params) (projection, error) {
	return &nzMapGrid{el.aM, p.LatOriginDeg * radPerDegree}, nil
}

func (g *nzMapGrid) forward(lam, phi float64) (x, y float64, ok bool) {
	psi, _ := nzPsi((phi - g.phi0) * nzUnit)
	theta := complex(psi, lam)
	z, _ := nzZ(theta)
	return g.aM * imag(z), g.aM * real(z), withinNZ(theta)
}

func (g *nzMapGrid) inverse(x, y float64) (lam, phi float64, ok bool) {
	z := complex(y/g.aM, x/g.aM)
	theta := z / nzPlane[0]
	for range settleRounds {
		f, d := nzZ(theta)
		step := (z - f) / d
		theta += step
		if !withinNZ(theta) {
			return 0, 0, false
		}
		if math.Abs(real(step)) < settledRad && math.Abs(imag(step)) < settledRad {
			break
		}
	}
	t := real(theta) / nzIsometric[0]
	for range settleRounds {
		f, d := nzPsi(t)
		step := (real(theta) - f) / d
		t += step
		if math.Abs(step) < settledRad {
			break
		}
	}
	return imag(theta), g.phi0 + t/nzUnit, true
}

func withinNZ(theta complex128) bool {
	return math.Hypot(real(theta), imag(theta)) <= maxNZ
}

// nzPsi is the polynomial of the isometric latitude and its derivative.
func nzPsi(t float64) (f, d float64) {
	for k := len(nzIsometric) - 1; k >= 0; k-- {
		d = d*t + f
		f = f*t + nzIsometric[k]
	}
	return f * t, d*t + f
}

// nzZ is the polynomial of the plane and its derivative.
func nzZ(t complex128) (f, d complex128) {
	for k := len(nzPlane) - 1; k >= 0; k-- {
		d = d*t + f
		f = f*t + nzPlane[k]
	}
	return f * t, d*t + f
}
