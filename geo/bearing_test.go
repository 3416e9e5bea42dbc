package geo_test

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"hemrow/geo"
)

func TestBearing(t *testing.T) {
	assert.Equal(t, geo.Bearing(0), geo.BearingOf(0, 1))
	assert.Equal(t, geo.Bearing(90), geo.BearingOf(1, 0))
	assert.Equal(t, geo.Bearing(180), geo.BearingOf(0, -2))
	assert.Equal(t, geo.Bearing(270), geo.BearingOf(-3, 0))
	assert.Equal(t, geo.Bearing(0), geo.BearingOf(0, 0))
	assert.Equal(t, geo.Bearing(0), geo.NewBearing(-1e-17), "rounding never gives 360")
	assert.Equal(t, geo.Bearing(10), geo.Bearing(190).Fold())
	assert.Equal(t, "037.25°", geo.Bearing(37.25).String())
	assert.Equal(t, "0.00", geo.Bearing(179.9996).HeadingText(2))
	assert.Equal(t, "10.5", geo.Bearing(190.5).HeadingText(1))
	for deg, want := range map[float64]string{0: "N", 22.4: "N", 22.6: "NE", 90: "E", 135: "SE", 181: "S", 225: "SW", 270: "W", 316: "NW", 359: "N"} {
		assert.Equal(t, want, geo.Bearing(deg).Compass().String(), "%g", deg)
	}
	assert.InDelta(t, 2, geo.Bearing(179).FoldedDiffDeg(1), 1e-12)
	assert.InDelta(t, 90, geo.Bearing(10).FoldedDiffDeg(280), 1e-12)
}

func TestBearingUnitInvertsBearingOf(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := geo.NewBearing(rapid.Float64Range(-720, 720).Draw(t, "deg"))
		assert.GreaterOrEqual(t, b.Deg(), 0.0)
		assert.Less(t, b.Deg(), 360.0)
		x, y := b.Unit()
		assert.InDelta(t, 0, math.Remainder(geo.BearingOf(x, y).Deg()-b.Deg(), 360), 1e-12)
	})
}

func TestLine(t *testing.T) {
	f := newFrame(t, 10, 45).WithHeight(1000)
	l := geo.NewLine(f, []orb.Point{{0, 0}, {30, 40}, {30, 40}, {30, 100}})
	assert.Equal(t, 3, l.Len(), "a repeated vertex is left out")
	assert.InDelta(t, 110, l.PlanM(f), 1e-6)
	assert.InDelta(t, 110*f.GroundFactor(), l.GroundM(), 1e-6)
	p := l.PointAt(50 * f.GroundFactor() / 2)
	assert.InDelta(t, 15, p[0], 1e-6)
	assert.InDelta(t, 20, p[1], 1e-6)
	assert.Equal(t, l.At(2), l.PointAt(1e9), "past the end is the end")
	assert.Equal(t, l.At(0), l.PointAt(-1))
	_, known := l.HeightAt(0)
	assert.False(t, known)
	assert.Equal(t, 3, l.GoGeom().NumCoords())
	assert.Equal(t, 4, l.GoGeom().Stride())

	for name, pts := range map[string][]orb.Point{"none": nil, "one": {{1, 1}}, "two equal": {{1, 1}, {1, 1}}} {
		e := geo.NewLine(f, pts)
		assert.Zero(t, e.Len(), name)
		assert.Zero(t, e.GroundM(), name)
		assert.Zero(t, e.PlanM(f), name)
		assert.Equal(t, orb.Point{}, e.PointAt(1), name)
		assert.Empty(t, e.Points(), name)
	}
}

func TestInputErrorNamesThePlace(t *testing.T) {
	e := &geo.InputError{
		File: "north.geojson", Line: 12, Feature: 2, Name: "North", Part: 1, Hole: 1, Vertex: 17,
		At: &geo.LonLat{LonDeg: 17.48123, LatDeg: 48.14321}, Problem: "ring crosses itself",
	}
	assert.Equal(t, `north.geojson:12: feature 2 "North", part 1, hole 1, vertex 17 (17.4812300, 48.1432100): ring crosses itself`, e.Error())
	assert.Equal(t, "empty file", (&geo.InputError{Problem: "empty file"}).Error())
}

func TestNotes(t *testing.T) {
	ns := geo.Notes{{Severity: geo.Info, Text: "a"}, {Severity: geo.Serious, Place: "row 3", Text: "b"}}
	w, ok := ns.Worst()
	assert.True(t, ok)
	assert.Equal(t, geo.Serious, w)
	assert.Equal(t, 1, ns.Count(geo.Caution))
	assert.Equal(t, "serious: row 3: b", ns[1].String())
	_, ok = geo.Notes(nil).Worst()
	assert.False(t, ok)
	seen := map[geo.Code]bool{}
	for _, c := range geo.Codes() {
		assert.False(t, seen[c], "%s twice", c)
		seen[c] = true
	}
}
