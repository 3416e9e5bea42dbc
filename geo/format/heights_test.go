package format_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"hemrow/geo/format"
)

func TestIsNoHeight(t *testing.T) {
	for _, z := range []float64{math.NaN(), -9999, 2e30, -2e30, math.Inf(1), math.Inf(-1), -math.MaxFloat32} {
		assert.True(t, format.IsNoHeight(z), z)
	}
	for _, z := range []float64{0, -430, 8849, -9998.9, 1e30, -1e30} {
		assert.False(t, format.IsNoHeight(z), z)
	}
}

func TestEachVisitsAll(t *testing.T) {
	at := func(x float64) format.Coord { return format.Coord{X: x} }
	f := format.Feature{
		Polygons: []format.Polygon{{{at(1), at(2)}, {at(3)}}, {{at(4)}}},
		Lines:    [][]format.Coord{{at(5)}, {at(6), at(7)}},
		Points:   []format.Coord{at(8)},
	}
	want := 0.0
	f.Each(func(c *format.Coord) {
		want++
		assert.InDelta(t, want, c.X, 0)
		c.Z = 5
	})
	assert.InDelta(t, 8, want, 0)
	assert.InDelta(t, 5, f.Polygons[0][1][0].Z, 0, "positions may be changed")
}
