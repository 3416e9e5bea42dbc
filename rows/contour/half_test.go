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

// Source: USDA NRCS Conservation Practice Standard 331, Contour Orchard and
// Other Perennial Crops: the lesser of half the slope of the land and a cap;
// ground below 2 % by standard 330, Contour Farming, which begins there.
func TestGradeLimit(t *testing.T) {
	lim := Defaults(5)
	lim.GradeRatio = 0.04
	for _, land := range []float64{0, 0.01, 0.05, 0.3, math.NaN()} {
		assert.Equal(t, 0.04, lim.GradeLimitRatio(land), "without half the slope")
	}
	lim.HalfSlope = true
	for land, want := range map[float64]float64{
		0: 0.04, 0.0199: 0.04, 0.02: 0.01, 0.05: 0.025, 0.08: 0.04, 0.3: 0.04,
	} {
		assert.InDelta(t, want, lim.GradeLimitRatio(land), 1e-12, "land of %g", land)
	}
	assert.Equal(t, 0.04, lim.GradeLimitRatio(math.NaN()), "unknown land")
}

// What the fit takes for the limit is never above it, and has no jump but the
// slope of a ramp.
func TestEaseOfTheFit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lim := Defaults(5)
		lim.GradeRatio = rapid.Float64Range(0.005, 0.15).Draw(t, "grade")
		lim.HalfSlope = rapid.Bool().Draw(t, "half")
		land := rapid.Float64Range(0, 0.4).Draw(t, "land")
		ease := lim.easeRatio(land)
		assert.LessOrEqual(t, ease*lim.GradeRatio, lim.GradeLimitRatio(land)+1e-12)
		assert.InDelta(t, ease, lim.easeRatio(land+1e-6), 1e-3)
		if !lim.HalfSlope {
			assert.Equal(t, 1.0, ease)
		}
	})
}

// Rows on a plane of 4 % by the angle that they make with its contours: 2.5 % of
// grade is asin(2.5/4) = 38.7 degrees, and half the slope 30 degrees.
func TestJudgeTakesHalfTheSlope(t *testing.T) {
	ground, lim := plane(0.04, 90), Defaults(5)
	at := func(deg float64, half bool) float64 {
		lim.HalfSlope = half
		sin, cos := math.Sincos(deg * math.Pi / 180)
		r := row(orb.Point{10, 10}, orb.Point{10 + 60*sin, 10 + 60*cos})
		return Judge([]Row{r}, box(100, 100), ground, lim).OnGradeRatio
	}
	assert.Equal(t, 1.0, at(38.7, false))
	assert.Equal(t, 0.0, at(38.7, true))
	assert.Equal(t, 0.0, at(30.1, true))
	assert.Equal(t, 1.0, at(29.9, true))
}

// One measure serves Judge and Places.
func TestJudgeMeasuresAsPlacesDoes(t *testing.T) {
	lim := Defaults(5)
	lim.HalfSlope = true
	ground := grounds["nose"]
	line := arc(orb.Point{150, 150}, 60, 20, 130)
	c := newChain(line)
	st := c.stations(&lim)
	c.grades(st, ground, &lim)
	places := Places(line, ground, lim.ChordM, stationM)
	require.Len(t, places, len(st))
	for k, p := range places {
		assert.Equal(t, p.GradeRatio, st[k].grade)
		assert.Equal(t, lim.GradeLimitRatio(p.LandRatio()), st[k].limit)
		_, gx, gy := ground(p.At[0], p.At[1])
		assert.InDelta(t, math.Hypot(gx, gy), p.LandRatio(), 0.004, "the slope of the formula, over chords of 10 m")
	}
}

// The fit keeps to half the slope of the land where that is the lesser. On a
// plane of 4 % rows asked to fall by 3 % run asin(3/4) = 48.59 degrees off the
// contour, and no more than asin(1/2) = 30 with half the slope, which they then fall
// by exactly: 2 %. (The side lies between the two, so that either leads there.)
func TestFallKeepsHalfTheSlope(t *testing.T) {
	for half, want := range map[bool]struct{ deg, fall float64 }{false: {48.5904, 0.03}, true: {30, 0.02}} {
		lim := Defaults(5)
		lim.GradeRatio, lim.TargetRatio, lim.TargetSide, lim.HalfSlope = 0.04, 0.03, towards(130), half
		fit := fitOn(t, quad, plane(0.04, 0), lim) // contours run from west to east
		for _, r := range fit.Rows {
			if a, b := r.Line[0], r.Line[len(r.Line)-1]; distM(a, b) > 30 {
				off := geo.BearingOf(b[0]-a[0], b[1]-a[1]).FoldedDiffDeg(90)
				assert.InDelta(t, want.deg, off, 0.002, "half the slope: %v", half)
			}
		}
		assert.InDelta(t, want.fall, fit.Score.FallMeanRatio, 1e-5)
	}
}

// On a trough along whose flanks rows may not climb as they could else, level
// ground and all, nothing is beyond half the slope with it, and a quarter of the
// length without. The figures are regression values: 1.000 against 0.709 when they
// were set.
func TestFitKeepsHalfTheSlope(t *testing.T) {
	ground := nose(0.022, 2.2, 240, 90)
	fit := func(half bool) (s Score) {
		lim := Defaults(5)
		lim.HalfSlope = half
		fit, err := Fit(context.Background(), Site{Area: orb.MultiPolygon{quad}, Design: ground, Raw: ground}, lim)
		require.NoError(t, err)
		lim.HalfSlope = true
		return Judge(fit.Rows, orb.MultiPolygon{quad}, ground, lim)
	}
	with, without := fit(true), fit(false)
	t.Logf("within half the slope %.3f, good %.3f; without it %.3f, good %.3f", with.OnGradeRatio, with.GoodRatio, without.OnGradeRatio, without.GoodRatio)
	assert.Greater(t, with.OnGradeRatio, 0.98)
	assert.Less(t, without.OnGradeRatio, 0.75)
	assert.Greater(t, with.GoodRatio, 0.88)
	assert.Greater(t, with.GoodRatio, without.GoodRatio+0.15)
}

// By hand: a row of 100 m to the north and 100 m to the east, on a plane that
// rises by 3 % to the east, at places 2 m apart. Over the chord of 10 m the grade is 0
// on the first leg and 3 % on the second, but at 3 and 1 m before the bend, where 2
// and 4 m of the chord lie to the east, 0.6 and 1.2 %, and at 1 and 3 m past it, with
// 6 and 8 m, 1.8 and 2.4 %. What falls as asked for counts a tenth more, and so does
// what is square to the side. Half the slope is 1.5 % on the first leg; at 1 m before
// the bend one of three chords across lies on the second, which is level across, so
// that the slope is that of 1.2 and 2 %, 2.33 %, of which 1.2 % is more than half.
func TestGradeWorth(t *testing.T) {
	line := orb.LineString{{0, 0}, {0, 100}, {100, 100}}
	for name, c := range map[string]struct {
		grade, target, side float64
		half                bool
		want                float64
	}{
		"no target":              {0.04, 0, 90, false, 200},
		"rises to the side":      {0.04, 0.01, 90, false, 200 + 0.1*100},
		"falls as asked for":     {0.04, 0.03, 270, false, 200 + 0.1*100 + 0.1*96},
		"less is asked for":      {0.04, 0.02, 270, false, 200 + 0.1*100 + 0.1*4},
		"the second is square":   {0.04, 0.01, 180, false, 200 + 0.1*4 + 0.1*100},
		"too steep":              {0.02, 0, 90, false, 100 + 2},
		"too steep, with target": {0.02, 0.01, 90, false, 100 + 2 + 0.1*100},
		"half the slope":         {0.04, 0, 90, true, 98},
	} {
		lim := Defaults(5)
		lim.GradeRatio, lim.TargetRatio, lim.TargetSide, lim.HalfSlope = c.grade, c.target, towards(c.side), c.half
		assert.InDelta(t, c.want, GradeWorthM(line, plane(0.03, 90), lim, 2), 1e-9, name)
	}
	lim := Defaults(5)
	assert.InDelta(t, 200, GradeWorthM(line, nowhere{}, lim, 2), 1e-9, "unknown ground")
	assert.Zero(t, GradeWorthM(nil, plane(0.03, 90), lim, 2))
	assert.Zero(t, GradeWorthM(orb.LineString{{1, 1}, {1, 1}}, plane(0.03, 90), lim, 2))
}

// A clipper is called on every bent layout, before it is scored and broken.
func TestBestOpensBentRows(t *testing.T) {
	site, lim := siteOn(t, small, saddle(orb.Point{90, 80}), 5), Defaults(5)
	straight := straightest(t, site, lim)
	whole, err := Best(context.Background(), site, lim, straight, nil)
	require.NoError(t, err)
	calls := 0
	site.Open = func(rows []Row) (out []Row) {
		calls++
		for _, r := range rows { // two pieces, with 20 m between
			c := newChain(r.Line)
			for _, s := range [2][2]float64{{0, c.lengthM()/2 - 10}, {c.lengthM()/2 + 10, c.lengthM()}} {
				if line := c.piece(s[0], s[1]); line != nil {
					out = append(out, Row{line, r.Number, r.Zone})
				}
			}
		}
		return out
	}
	lim.DropM = lim.ShortM
	opened, err := Best(context.Background(), site, lim, straight, nil)
	require.NoError(t, err)
	assert.Equal(t, 3, calls)
	assert.Equal(t, whole.Candidates[0], opened.Candidates[0], "straight rows stay as given")
	for i := 1; i < 4; i++ {
		a, b := &whole.Candidates[i], &opened.Candidates[i]
		assert.Less(t, b.Score.CoverRatio, a.Score.CoverRatio-0.05, b.Method)
		assert.Equal(t, Judge(b.Rows, site.Area, site.Raw, lim), b.Score)
		assert.Zero(t, b.Score.Short)
		assert.Positive(t, b.LeftCount)
		assert.Less(t, b.LeftM, float64(b.LeftCount)*lim.ShortM)
		assert.Zero(t, a.LeftCount)
		var sum float64
		for _, g := range b.Guides {
			sum += g.RowsM
		}
		if b.Method == ByGuide {
			assert.InDelta(t, totalM(b.Rows), sum, 1e-6, "guides count the rows left")
		}
	}
}
