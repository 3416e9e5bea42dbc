package contour

import (
	"context"
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// radii is the least and greatest distance of a line from a place.
func radii(line orb.LineString, apex orb.Point) (lo, hi float64) {
	lo = math.Inf(1)
	for _, p := range line {
		d := distM(apex, p)
		lo, hi = min(lo, d), max(hi, d)
	}
	return lo, hi
}

// requireOneNumberOneArc checks that pieces of one number and zone lie on one
// circle about the apex, and others not; it returns how many pieces each number
// has.
func requireOneNumberOneArc(t *testing.T, rows []Row, apex orb.Point, tolM float64) map[[2]int]int {
	t.Helper()
	at, count := map[[2]int]float64{}, map[[2]int]int{}
	for _, r := range rows {
		lo, hi := radii(r.Line, apex)
		require.Less(t, hi-lo, tolM, "an arc")
		key := [2]int{r.Zone, r.Number}
		if count[key]++; count[key] > 1 {
			require.InDelta(t, at[key], lo, tolM, "row %d", r.Number)
		}
		at[key] = lo
	}
	for k, a := range at {
		for l, b := range at {
			require.True(t, k == l || math.Abs(a-b) > 4, "rows %v and %v", k, l)
		}
	}
	return count
}

// Rows pass an obstacle in the middle of a field on a cone without taking notice
// of it, and the pieces on both sides carry one number (exact: arcs about the
// top).
func TestObstacleKeepsNumbers(t *testing.T) {
	apex := orb.Point{-120, -90}
	area := orb.MultiPolygon{{quad[0], circle(orb.Point{85, 75}, 15)}}
	site := Site{Area: area, Design: cone(0.08, apex), Raw: cone(0.08, apex)}
	fit, err := Fit(context.Background(), site, Defaults(5))
	require.NoError(t, err)
	// 30 m of obstacle lie across six rows 5 m apart, five at the least, since a
	// cut of a few metres at its rim may be none.
	requireTwice := func(count map[[2]int]int) {
		twice := 0
		for _, n := range count {
			if n > 1 {
				twice++
			}
		}
		assert.GreaterOrEqual(t, twice, 5)
		assert.LessOrEqual(t, twice, 6)
	}
	requireTwice(requireOneNumberOneArc(t, fit.Rows, apex, 0.05))

	guided, err := Follow(context.Background(), site, Defaults(5), nil)
	require.NoError(t, err)
	count := map[[2]int]int{}
	for _, r := range guided.Rows {
		count[[2]int{r.Zone, r.Number}]++
		for _, p := range r.Line {
			d, _ := NewCurve(guided.Guides[r.Zone].Curve).SignedM(p)
			require.InDelta(t, 5*float64(r.Number), d, Defaults(5).ChordErrM)
		}
	}
	requireTwice(count)
}

// Parts of one area that lie apart are laid by one field: the same arcs, with
// the same numbers, go on in the next.
func TestPartsShareOneField(t *testing.T) {
	apex := orb.Point{-120, -90}
	part := func(x, y float64) orb.Polygon {
		return orb.Polygon{{{x, y}, {x + 70, y}, {x + 70, y + 110}, {x, y + 110}, {x, y}}}
	}
	area := orb.MultiPolygon{part(0, 0), part(95, -15)}
	lim := Defaults(5)
	lim.GradeRatio = 0.003 // so that nothing but arcs will do
	fit, err := Fit(context.Background(), Site{Area: area, Design: cone(0.08, apex), Raw: cone(0.08, apex)}, lim)
	require.NoError(t, err)
	requireSound(t, fit.Layout, area, lim)
	both := 0
	for _, n := range requireOneNumberOneArc(t, fit.Rows, apex, 0.05) {
		if n > 1 {
			both++
		}
	}
	// Between the nearest corner of the one, 228 m from the top, and the farthest
	// of the other, 276 m, there are nine rows; one may be too short for a piece.
	assert.GreaterOrEqual(t, both, 8)
	assert.InDelta(t, 1, fit.Score.CoverRatio, 0.03)
}

// A level terrace on a round hill has no say: rows cross it as arcs about the
// top like their neighbours above and below (exact).
func TestLevelGroundWithinAHill(t *testing.T) {
	apex := orb.Point{-120, -90}
	ground := shape(func(x, y float64) (z, gx, gy float64) {
		const from, to, m = 215, 255, 0.08
		dx, dy := x-apex[0], y-apex[1]
		r := math.Hypot(dx, dy)
		switch {
		case r <= from:
			z = -m * (r - from)
		case r >= to:
			z = -m * (r - to)
		default:
			return 0, 0, 0
		}
		return z, -m * dx / r, -m * dy / r
	})
	fit := fitOn(t, quad, ground, Defaults(5))
	level := 0
	for _, r := range fit.Rows {
		lo, hi := radii(r.Line, apex)
		assert.Less(t, hi-lo, 0.05)
		if lo > 215 && hi < 255 {
			level++
		}
	}
	assert.GreaterOrEqual(t, level, 7)
	lo, hi := spacings(fit, Defaults(5))
	assert.InDelta(t, 5, lo, 0.02)
	assert.InDelta(t, 5, hi, 0.02)
}
