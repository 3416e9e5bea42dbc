package contour

import (
	"context"
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
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

// The fit keeps to half the slope of the land where that is the lesser: on a
// trough along whose flanks rows may not climb as they could else.
func TestFitKeepsHalfTheSlope(t *testing.T) {
	ground := nose(0.022, 2.2, 240, 90)
	share := func(fitted bool) float64 {
		lim := Defaults(5)
		lim.HalfSlope = fitted
		fit, err := Fit(context.Background(), Site{Area: orb.MultiPolygon{quad}, Design: ground, Raw: ground}, lim)
		require.NoError(t, err)
		lim.HalfSlope = true
		s := Judge(fit.Rows, orb.MultiPolygon{quad}, ground, lim)
		t.Logf("within half the slope %.3f, good %.3f", s.OnGradeRatio, s.GoodRatio)
		return s.OnGradeRatio
	}
	without := share(false)
	assert.Greater(t, share(true), without)
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
