package terrain_test

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo/terrain"
)

// On a plane level lines are straight: two vertices each, a whole interval of
// height apart.
func TestDrawn(t *testing.T) {
	var pts []terrain.Point
	for x := -50.0; x <= 250; x += 50 {
		for y := -50.0; y <= 150; y += 50 {
			pts = append(pts, terrain.Point{X: x, Y: y, Z: 100 + 0.12*x})
		}
	}
	s, _, err := terrain.FromPoints(pts, nil, terrain.TINOptions{})
	require.NoError(t, err)
	interval, lines := terrain.Drawn(s, orb.Bound{Min: orb.Point{0, 0}, Max: orb.Point{200, 100}})
	assert.InDelta(t, 2, interval, 0, "24 m in about a dozen")
	require.Len(t, lines, 12, "102 to 124 m; 100 m runs along the edge")
	for _, c := range lines {
		assert.InDelta(t, 0, math.Mod(c.LevelM, 2), 0)
		require.Len(t, c.Line, 2)
		for _, p := range c.Line {
			assert.InDelta(t, (c.LevelM-100)/0.12, p[0], 1e-6)
		}
	}
	interval, lines = terrain.Drawn(s, orb.Bound{Min: orb.Point{1000, 0}, Max: orb.Point{1200, 100}})
	assert.Zero(t, interval)
	assert.Empty(t, lines)
}
