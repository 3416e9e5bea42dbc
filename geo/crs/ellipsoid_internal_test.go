package crs

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// roundingRad is a few rounding steps of an angle of 1.5.
const roundingRad = 2e-15

// Each series between kinds of latitude against its closed form, on the
// flattest figure in use, on that of today and on a sphere. Sources: Snyder
// 1987, equations 3-1, 3-11 and 3-12; the length of the meridian by Simpson's
// rule over its radius of curvature (equation 4-19).
func TestLatitudesAgainstClosedForms(t *testing.T) {
	for _, rf := range []float64{293.465, 298.257223563, 0} {
		el := newEllipsoid(Ellipsoid{SemiMajorM: 6378137, InvFlatteningRatio: rf})
		toBeta, fromBeta := geographicToAuthalic(el.n), authalicToGeographic(el.n)
		toMu, fromMu := geographicToRectifying(el.n), rectifyingToGeographic(el.n)
		var m float64
		for deg := 1; deg <= 89; deg++ {
			phi := float64(deg) * radPerDegree
			s, c := math.Sincos(phi)
			es := el.e * s

			chi := 2*math.Atan(math.Tan(math.Pi/4+phi/2)*math.Pow((1-es)/(1+es), el.e/2)) - math.Pi/2
			tau := math.Tan(chi)
			assert.InDelta(t, tau, el.conformalTan(s, c), 4e-15*(1+tau*tau), "conformal %d", deg)
			assert.InDelta(t, phi, el.latitude(tau), roundingRad, "back from conformal %d", deg)
			assert.InDelta(t, phi, el.latitudeOf(el.isometric(phi)), roundingRad, "isometric %d", deg)

			q := func(s float64) float64 {
				if el.e == 0 {
					return 2 * s
				}
				return s/(1-el.e2*s*s) - math.Log((1-el.e*s)/(1+el.e*s))/(2*el.e)
			}
			beta := math.Asin(q(s) / q(1))
			got := phi + toBeta.sum(2*s*c, c*c-s*s)
			assert.InDelta(t, math.Sin(beta), math.Sin(got), roundingRad, "authalic %d", deg)
			assert.InDelta(t, q(s), el.authalic(s), 1e-13, "q %d", deg)
			sb, cb := math.Sincos(got)
			assert.InDelta(t, phi, got+fromBeta.sum(2*sb*cb, cb*cb-sb*sb), roundingRad, "back from authalic %d", deg)

			m += el.arc(phi-radPerDegree, phi)
			mu := phi + toMu.sum(2*s*c, c*c-s*s)
			assert.InDelta(t, m, el.rectifyingRadius()*mu, 1e-7, "meridian %d", deg)
			sm, cm := math.Sincos(mu)
			assert.InDelta(t, phi, mu+fromMu.sum(2*sm*cm, cm*cm-sm*sm), roundingRad, "back from rectifying %d", deg)
		}
	}
}

// arc is a piece of the meridian of a degree, in metres.
func (el *ellipsoid) arc(from, to float64) float64 {
	const pieces = 64
	h := (to - from) / pieces
	var sum float64
	for i := 0; i <= pieces; i++ {
		s := math.Sin(from + float64(i)*h)
		w := float64(2 + 2*(i%2))
		if i == 0 || i == pieces {
			w = 1
		}
		sum += w * el.aM * (1 - el.e2) / math.Pow(1-el.e2*s*s, 1.5)
	}
	return sum * h / 3
}

func TestHyperbolicsNearThoseOfMath(t *testing.T) {
	for i := -1000; i <= 1000; i++ {
		x := float64(i) / 100
		assert.InDelta(t, math.Asinh(x), asinh(x), roundingRad, "%g", x)
		assert.InDelta(t, math.Sinh(x), sinh(x), roundingRad*math.Cosh(x), "%g", x)
	}
}

// The mean of the sines takes over from the quotient without a step.
func TestConeConstantIsContinuous(t *testing.T) {
	el := newEllipsoid(wgs84Ellipsoid)
	for _, deg := range []float64{-60, -20, 5, 33, 47, 80} {
		phi1 := deg * radPerDegree
		phi2 := phi1 + 2*nearParallels*math.Cos(phi1)
		dpsi := el.isometric(phi2) - el.isometric(phi1)
		require.Greater(t, dpsi, nearParallels)
		quotient := coneConstant(math.Log(el.parallelRatio(phi1)/el.parallelRatio(phi2)), dpsi, phi1, phi2)
		mean := (math.Sin(phi1) + math.Sin(phi2)) / 2
		assert.InDelta(t, mean, quotient, 1e-10, "%g", deg)
	}
}
