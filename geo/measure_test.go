package geo_test

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"

	"hemrow/geo"
)

func square(x0, y0, x1, y1 float64) orb.Polygon {
	return orb.Polygon{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}}
}

// Areas on the ellipsoid, by hand: the plane area over the mean areal scale
// 1 + x²/R². The mean of x² is a²/3 over a square of side 2a on the axis, and
// (x₁³-x₀³)/3(x₁-x₀) over a box from x₀ to x₁.
func TestAreaTakesOutTheScale(t *testing.T) {
	for _, lat := range []float64{0, 45, -34, 60} {
		f := newFrame(t, 17, lat)
		const a = 20000.0
		scale := 1 + (f.AreaScale(orb.Point{a, 0})-1)/3
		assert.InEpsilon(t, 4*a*a/scale, f.AreaM2(square(-a, -a, a, a)), 1e-9)
		k := f.AreaScale(orb.Point{1000, 0}) - 1
		mean := (40000.0*40000*40000 - 20000.0*20000*20000) / 3 / 20000
		assert.InEpsilon(t, 20000.0*100/(1+k*mean/1e6), f.AreaM2(square(20000, -50, 40000, 50)), 1e-8)
	}
	assert.Zero(t, newFrame(t, 0, 0).AreaM2(nil))
	assert.Zero(t, newFrame(t, 0, 0).AreaM2(orb.Polygon{{}}))
}

// How far a straight segment of longitude and latitude strays from a row that
// runs east and west: L² tan(latitude)/8R in the middle. Source: derived
// (sagitta of the parallel, whose radius of curvature on the ground is
// R/tan(latitude)); figures with R = 6 371 km, checked against GeographicLib
// geodesics: at 47 degrees 5.3 mm over 500 m and 21 mm over 1 km; at 60
// degrees 8.5 mm over 500 m.
func TestPartsFollowTheKnownStray(t *testing.T) {
	for _, c := range []struct {
		lat, lengthM, strayMM float64
	}{
		{47, 200, 0.8}, {47, 500, 5.3}, {47, 1000, 21}, {60, 200, 1.4}, {60, 500, 8.5}, {60, 1000, 34}, {-47, 1000, 21},
	} {
		f := newFrame(t, 17, c.lat)
		want := int(math.Ceil(math.Sqrt(c.strayMM / 1000 / geo.CurveChordM)))
		got := f.StraightParts(orb.Point{-c.lengthM / 2, 0}, orb.Point{c.lengthM / 2, 0}, geo.CurveChordM)
		assert.InDelta(t, want, got, 1, "%g degrees, %g m", c.lat, c.lengthM)
	}
	f := newFrame(t, 17, 47)
	assert.Equal(t, 1, f.StraightParts(orb.Point{5, -500}, orb.Point{5, 500}, geo.CurveChordM), "north and south nothing is needed")
	assert.Equal(t, 1, f.StraightParts(orb.Point{5, 5}, orb.Point{5, 5}, geo.CurveChordM))
}

func TestCourse(t *testing.T) {
	f := newFrame(t, 179.9999, 60)
	c := f.Course(geo.NewLine(f, []orb.Point{{-500, 0}, {500, 0}}))
	assert.Greater(t, len(c), 3, "34 mm of stray at 60 degrees over 1 km")
	for i := 1; i < len(c); i++ {
		assert.Less(t, math.Abs(c[i].LonDeg-c[i-1].LonDeg), 0.02, "no jump at 180 degrees")
	}
	assert.Empty(t, f.Course(geo.Line{}))
	assert.InDelta(t, 400, f.AroundM(square(0, 0, 100, 100)[0]), 1e-6)
}
