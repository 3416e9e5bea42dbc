package contour

import (
	"context"
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo"
)

// towards is the direction of a bearing.
func towards(bearing float64) orb.Point {
	e, n := geo.Bearing(bearing).Unit()
	return orb.Point{e, n}
}

// On a plane of slope m, rows with grade g run asin(g/m) off the contour; by
// hand for 0.5 % on 6 %: 4.7802 degrees. The ground rises to 37 degrees, so that
// contours run at 127 and 307: rows that fall to a side turn from the one of
// these that leads there towards 217, which is downhill.
func TestTargetFallOnPlane(t *testing.T) {
	for side, want := range map[float64]float64{
		127: 127 + 4.7802, 90: 127 + 4.7802, 180: 127 + 4.7802,
		307: 307 - 4.7802, 270: 307 - 4.7802, 0: 307 - 4.7802,
	} {
		lim := Defaults(5)
		lim.TargetRatio, lim.TargetSide = 0.005, towards(side)
		fit := fitOn(t, quad, plane(0.06, 37), lim)
		for _, r := range fit.Rows {
			if a, b := r.Line[0], r.Line[len(r.Line)-1]; distM(a, b) > 30 {
				assert.Less(t, geo.BearingOf(b[0]-a[0], b[1]-a[1]).FoldedDiffDeg(geo.NewBearing(want)), 0.002, "towards %g", side)
			}
		}
		assert.InDelta(t, 0.005, fit.Score.FallMeanRatio, 1e-5)
		assert.Equal(t, 1.0, fit.Score.FallOKRatio)
	}
}

// On a cone, rows with a fall are spirals r = r0 exp(a tan(q)) by the angle a
// about the apex, with sin(q) = g/m: 3.58 degrees for 0.5 % on 8 %. Neighbours
// close in along them by tan(q) of their distance for every radian, which the
// window of spacing bears, at some cost in grade.
func TestTargetFallOnCone(t *testing.T) {
	apex := orb.Point{-120, -90}
	ground := cone(0.08, apex)
	for _, side := range []float64{141, 321} { // along the contours in the middle of the field
		lim := Defaults(5)
		lim.TargetRatio, lim.TargetSide = 0.005, towards(side)
		fit := fitOn(t, quad, ground, lim)
		assert.InDelta(t, 0.005, fit.Score.FallMeanRatio, 2e-4)
		assert.Equal(t, 1.0, fit.Score.FallOKRatio)
		worst := 0.0
		for _, r := range fit.Rows {
			for _, p := range Places(r.Line, ground, 10, 5) {
				worst = max(worst, math.Abs(math.Abs(p.GradeRatio)-0.005))
			}
		}
		t.Logf("grade off by %.5f", worst)
		assert.Less(t, worst, 0.002)
	}
}

// Which way the field rises does not matter to the aim.
func TestLeaningKnowsNoDirection(t *testing.T) {
	lim := Defaults(5)
	lim.TargetRatio, lim.TargetSide = 0.005, towards(100)
	r, _ := regionOf(orb.MultiPolygon{quad})
	ft := &fitter{region: r, site: Site{Area: orb.MultiPolygon{quad}, Design: nose(0.055, 4, 280, 90)}, lim: &lim}
	ft.prepare()
	w := ft.weights()
	w.lean = true
	a := linear(ft.levels[2].lattice, 0.3, -0.954)
	b := linear(ft.levels[2].lattice, -0.3, 0.954)
	for _, f := range []*spline{a, b} {
		_, err := newSolver(ft.levels[2]).run(context.Background(), f, w, 6)
		require.NoError(t, err)
	}
	for k := range a.c {
		require.InDelta(t, a.c[k], -b.c[k], 1e-6)
	}
}

// The aim falls towards the side, by no more than was asked for, the land has or
// the limit allows, and turns about with the direction.
func TestAim(t *testing.T) {
	lim := Defaults(5)
	lim.TargetRatio, lim.TargetSide = 0.01, orb.Point{0, -3}
	assert.InDelta(t, -0.01, lim.aimRatio(0, -1, 0.06, 0.03), 1e-12, "to the side")
	assert.InDelta(t, 0.01, lim.aimRatio(0, 1, 0.06, 0.03), 1e-12, "from it")
	assert.InDelta(t, 0, lim.aimRatio(1, 0, 0.06, 0.03), 1e-12, "square to it")
	assert.InDelta(t, -0.005, lim.aimRatio(math.Sqrt(0.99), -0.1, 0.06, 0.03), 1e-12, "half way to square")
	assert.InDelta(t, -0.004, lim.aimRatio(0, -1, 0.004, 0.03), 1e-12, "little land")
	assert.InDelta(t, -0.008, lim.aimRatio(0, -1, 0.06, 0.008), 1e-12, "a limit")
	rapid.Check(t, func(t *rapid.T) {
		sin, cos := math.Sincos(rapid.Float64Range(0, 7).Draw(t, "rad"))
		land := rapid.Float64Range(0, 0.3).Draw(t, "land")
		a := lim.aimRatio(sin, cos, land, 0.03)
		assert.InDelta(t, -a, lim.aimRatio(-sin, -cos, land, 0.03), 1e-15)
		assert.LessOrEqual(t, math.Abs(a), 0.01)
	})
}

// Two rows on a plane that rises to the north by 1 %: one falls to the south by
// that, the other, level, is square to it; the third has 0.6 % to spare.
func TestFallOfScore(t *testing.T) {
	lim := Defaults(5)
	lim.TargetRatio, lim.TargetSide = 0.01, towards(180)
	south, level := row(orb.Point{0, 100}, orb.Point{0, 0}), row(orb.Point{50, 0}, orb.Point{150, 0})
	score := func(target float64, rows ...Row) Score {
		lim.TargetRatio = target
		return Judge(rows, box(200, 200), plane(0.01, 0), lim)
	}
	s := score(0.01, south, level)
	assert.InDelta(t, 0.01, s.FallMeanRatio, 1e-12, "the level one is not of it")
	assert.Equal(t, 1.0, s.FallOKRatio)
	s = score(0.016, south, level)
	assert.InDelta(t, 0.5, s.FallOKRatio, 1e-12)
	s = score(0, south, level)
	assert.Zero(t, s.FallMeanRatio)
	assert.Zero(t, s.FallOKRatio)
	lim.TargetSide = towards(0)
	s = score(0.01, south)
	assert.InDelta(t, -0.01, s.FallMeanRatio, 1e-12, "it rises to the north")
	assert.Zero(t, s.FallOKRatio)
}

func TestTargetMustBeSound(t *testing.T) {
	for name, c := range map[string]struct {
		target float64
		side   orb.Point
		says   string
	}{
		"none":      {0, orb.Point{}, ""},
		"good":      {0.005, orb.Point{0.6, 0.8}, ""},
		"no side":   {0.005, orb.Point{}, "the side that rows shall fall to must be a direction"},
		"no number": {0.005, orb.Point{math.NaN(), 1}, "the side that rows shall fall to must be a direction"},
		"rise":      {-0.005, orb.Point{1, 0}, "the target fall must be between 0 and the greatest grade, not -0.005"},
		"too steep": {0.04, orb.Point{1, 0}, "the target fall must be between 0 and the greatest grade, not 0.04"},
	} {
		t.Run(name, func(t *testing.T) {
			lim := Defaults(5)
			lim.TargetRatio, lim.TargetSide = c.target, c.side
			if err := lim.Validate(); c.says == "" {
				assert.NoError(t, err)
			} else {
				assert.ErrorContains(t, err, c.says)
			}
		})
	}
}

// Straight rows that are level, and so serve a plane as well as any, do not win
// against rows that have the fall asked for.
func TestTargetCountsInTheChoice(t *testing.T) {
	lim := Defaults(5)
	lim.TargetRatio, lim.TargetSide = 0.01, towards(90)
	ground := plane(0.06, 0)
	area := box(150, 100)
	var level []Row
	for k := range 20 {
		y := 2.5 + 5*float64(k)
		level = append(level, row(orb.Point{0, y}, orb.Point{150, y}))
	}
	c, err := Best(context.Background(), Site{Area: area, Design: ground, Raw: ground}, lim, level, nil)
	require.NoError(t, err)
	assert.Equal(t, ByField, c.Best().Method, c.Why)
	assert.InDelta(t, 0.01, c.Best().Score.FallMeanRatio, 1e-4)
	assert.Zero(t, c.Candidates[Straight].Score.FallOKRatio)
	assert.Contains(t, c.Why, "100 % of the length falls as asked for against 0 %")
}

// On a nose, rows to an outlet in the middle of its lower side fall from the
// crest to neither end but towards that side on both flanks; level rows do not.
func TestTargetFallOnNose(t *testing.T) {
	ground := nose(0.055, 4, 280, 90) // falls to the south, the crest along x = 90
	best := func(target float64) Choice {
		lim := Defaults(5)
		lim.TargetRatio, lim.TargetSide = target, towards(180)
		site := Site{Area: orb.MultiPolygon{quad}, Design: ground, Raw: ground}
		c, err := Best(context.Background(), site, lim, straightest(t, site, lim), nil)
		require.NoError(t, err)
		return c
	}
	level := best(0)
	c := best(0.01)
	assert.Equal(t, "rows at a constant distance from a guide cannot hold a fall that is asked for", c.Candidates[ByGuide].Rejected)
	won := c.Best()
	assert.NotEqual(t, Straight, won.Method)
	lim := Defaults(5)
	lim.TargetRatio, lim.TargetSide = 0.01, towards(180)
	flat := Judge(level.Best().Rows, orb.MultiPolygon{quad}, ground, lim)
	assert.Negative(t, flat.FallMeanRatio, "level rows rather rise to that side")
	assert.InDelta(t, 0.01, won.Score.FallMeanRatio, 0.003)
	assert.Greater(t, won.Score.FallOKRatio, flat.FallOKRatio+0.2)
	assert.GreaterOrEqual(t, c.Candidates[Restarted].Score.merit(&lim), c.Candidates[ByField].Score.merit(&lim))
	assert.Contains(t, c.Why, "of the length falls as asked for")
	assert.Contains(t, won.Warnings[len(won.Warnings)-1], "of the length falls as asked for")
}
