package contour

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo/polygon"
)

// yard is a field 200 m wide and 150 m deep around the place (100, 75).
var yard = orb.MultiPolygon{{{{0, 0}, {200, 0}, {200, 150}, {0, 150}, {0, 0}}}}

func follow(t testing.TB, area orb.MultiPolygon, f shape) Guided {
	t.Helper()
	out, err := Follow(context.Background(), Site{Area: area, Design: f, Raw: f}, Defaults(5), nil)
	require.NoError(t, err)
	return out
}

// On a cone rows are arcs about the apex: each keeps its height and its
// distance (exact). The guide's contour comes from a grid of 4 m, whose chords
// of up to 4√2 m on 150 m of radius stray by 27 mm; smoothing draws it in by
// σ²/2R, at most 2 m, but evenly except near its ends.
func TestFollowConeIsLevel(t *testing.T) {
	apex := orb.Point{0, 0}
	out := follow(t, sector(apex, math.Pi/2), cone(0.08, apex))
	require.NotEmpty(t, out.Rows)
	worst := 0.0
	for _, r := range out.Rows {
		lo, hi := math.Inf(1), 0.0
		for _, p := range r.Line {
			d := distM(p, apex)
			lo, hi = min(lo, d), max(hi, d)
		}
		worst = max(worst, hi-lo)
	}
	t.Logf("%d rows by %s, radius within %.3f m along a row, good %.3f", len(out.Rows), out.Guides[0].From, worst, out.Score.GoodRatio)
	assert.Less(t, worst, 0.05, "radius along a row")
	assert.Greater(t, out.Score.GoodRatio, 0.97)
	assert.Less(t, out.Score.GradeMaxRatio, 0.02)
}

// Rows by any guide that is a contour of a cone are the rows of the field there,
// shifted as a whole by less than a spacing: both are arcs about the apex
// (exact). The sides of the sector are radial, so that the guides end square to
// them, 12 m outside; smoothing over 8 m, which is less even near its ends, costs up
// to erfc(12/(8√2)) σ²/2R there, 19 mm on 225 m. (Guides smoothed over 24 m are
// drawn in by ten times that and are not of this.)
func TestGuideAndFieldAgreeOnACone(t *testing.T) {
	apex, lim := orb.Point{30, -20}, Defaults(5)
	area, ground := sector(apex, 0.7), cone(0.08, apex)
	site := Site{Area: area, Design: ground, Raw: ground}
	fit, err := Fit(context.Background(), site, lim)
	require.NoError(t, err)
	f := newFiller(site, &lim, nil)
	guides := 0
	for _, c := range f.candidates() {
		if !strings.HasSuffix(c.from, "smoothed by 8 m") {
			continue
		}
		guides++
		lo, hi, length := math.Inf(1), math.Inf(-1), 0.0
		for _, p := range f.passes(&c, 0, 1, true) {
			for _, line := range p.good {
				length += lengthM(line)
				for _, at := range dense(line, 5) {
					d := math.Remainder(fit.Field.Value(at)-fit.Field.Value(c.pts[len(c.pts)/2]), 5)
					lo, hi = min(lo, d), max(hi, d)
				}
			}
		}
		t.Logf("%s: apart by %.3f m", c.from, hi-lo)
		assert.Less(t, hi-lo, 0.05, c.from)
		assert.InDelta(t, totalM(fit.Rows), length, 0.03*length, c.from)
	}
	assert.Equal(t, guideLevels, guides)
}

// sector is 150 m deep and one radian wide about a place, so that a guide's ends
// lie square to its sides.
func sector(apex orb.Point, middleRad float64) orb.MultiPolygon {
	ring := orb.Ring{}
	add := func(r, a float64) { ring = append(ring, orb.Point{apex[0] + r*math.Cos(a), apex[1] + r*math.Sin(a)}) }
	for k := range 41 {
		add(150, middleRad-0.5+float64(k)/40)
	}
	for k := range 41 {
		add(300, middleRad+0.5-float64(k)/40)
	}
	return orb.MultiPolygon{{append(ring, ring[0])}}
}

// Rows along guides do as well on ground turned, moved and upside down. The grid
// of the contours does not turn, nor where a guide ends and runs on straight, so
// that grade and score are compared and not the rows.
func TestFollowTurnsWithTheGround(t *testing.T) {
	for name, c := range map[string]struct {
		apex   orb.Point
		middle float64
		slope  float64
	}{"turned": {orb.Point{1000, -500}, 0.7, 0.08}, "upside down": {orb.Point{}, math.Pi / 2, -0.08}} {
		out := follow(t, sector(c.apex, c.middle), cone(c.slope, c.apex))
		require.NotEmpty(t, out.Rows)
		assert.Greater(t, out.Score.GoodRatio, 0.97, name)
		assert.Less(t, out.Score.GradeMaxRatio, 0.02, name)
		assert.Len(t, out.Guides, 1, name)
	}
}

// Rows of one guide lie at whole spacings from it, by looking at every segment;
// chords stray by no more than the limit; rows keep apart and inside.
func TestFollowKeepsDistance(t *testing.T) {
	lim := Defaults(5)
	for _, c := range []struct {
		name string
		area orb.Polygon
		f    shape
	}{
		{"nose", convex, nose(0.055, 4, 280, 200)},
		{"hill", convex, hill(12, 130, orb.Point{210, 165})},
		{"saddle with a pond", lpond, saddle(orb.Point{210, 165})},
	} {
		t.Run(c.name, func(t *testing.T) {
			area, err := polygon.Inset(c.area, 8)
			require.NoError(t, err)
			out := follow(t, area, c.f)
			require.Greater(t, out.Score.CoverRatio, 0.93)
			whole := ground{area, nil}
			for _, r := range out.Rows {
				guide := out.Guides[r.Zone].Curve
				want := math.Abs(float64(r.Number)) * lim.SpacingM
				for i, p := range r.Line {
					require.InDelta(t, want, apart(guide, p), 0.001, "row %d", r.Number)
					if i > 0 && i < len(r.Line)-1 {
						require.True(t, whole.within(p), "inside")
					}
				}
				for _, p := range dense(r.Line, 2) {
					require.InDelta(t, want, apart(guide, p), lim.ChordErrM, "row %d", r.Number)
				}
				requireSimple(t, r.Line)
				require.GreaterOrEqual(t, lengthM(r.Line), lim.TurnM)
			}
			requireApart(t, out.Rows, &lim)
			assert.Zero(t, out.Score.TightRatio, "no row tighter than the least radius")
		})
	}
}

// requireApart asks for a spacing less chords between rows of one guide, and
// for the narrowest spacing between others; rows end to end in one pass are
// GapM apart.
func requireApart(t *testing.T, rows []Row, lim *Limits) {
	t.Helper()
	near, _ := lim.window()
	for i := range rows {
		for j := range i {
			want := near
			if rows[i].Zone == rows[j].Zone && rows[i].Number != rows[j].Number {
				want = lim.SpacingM
			}
			if !rows[i].Line.Bound().Pad(want).Intersects(rows[j].Line.Bound()) {
				continue
			}
			for _, p := range dense(rows[i].Line, 2) {
				d := apart(rows[j].Line, p)
				require.GreaterOrEqual(t, d, want-2*lim.ChordErrM, "rows %d and %d at %v", i, j, p)
			}
		}
	}
}

func TestFollowIsDeterministic(t *testing.T) {
	f := saddle(orb.Point{100, 75})
	assert.Equal(t, follow(t, yard, f), follow(t, yard, f))
}

func TestFollowOfNothing(t *testing.T) {
	out, err := Follow(context.Background(), Site{}, Defaults(5), nil)
	require.NoError(t, err)
	assert.Empty(t, out.Rows)
	_, err = Follow(context.Background(), Site{Area: yard}, Limits{}, nil)
	require.ErrorContains(t, err, "the spacing must be above 0 m")
	tiny := orb.MultiPolygon{{{{0, 0}, {3, 0}, {3, 3}, {0, 3}, {0, 0}}}}
	assert.Empty(t, follow(t, tiny, plane(0.05, 30)).Rows)
	ctx, stop := context.WithCancel(context.Background())
	stop()
	_, err = Follow(ctx, Site{Area: yard, Design: plane(0.05, 30), Raw: plane(0.05, 30)}, Defaults(5), nil)
	require.ErrorIs(t, err, context.Canceled)
}

// z = (m1 + (m2 - m1) x/l) y: along the row at depth y from the guide y = 0 the
// grade is (m2 - m1) y/l, which is the greatest at g l/(m2 - m1) (derivative by
// hand). Slopes of 6 % and 10 % 100 m apart and 2 %: 50 m.
func TestDepth(t *testing.T) {
	var at, slope []float64
	for x := 0.0; x <= 100; x += 10 {
		at, slope = append(at, x), append(slope, 0.06+0.04*x/100)
	}
	assert.InDelta(t, 50, DepthM(at, slope, 0.02, 25), 1e-9)
	assert.True(t, math.IsInf(DepthM(at[:3], slope[:3], 0.02, 25), 1), "no two places far enough apart")
	assert.True(t, math.IsInf(DepthM(nil, nil, 0.02, 25), 1))
	assert.True(t, math.IsInf(DepthM([]float64{0, 50}, []float64{0.06, 0.06}, 0.02, 25), 1), "even slope")

	warp := shape(func(x, y float64) (z, gx, gy float64) {
		m := 0.06 + 0.04*x/100
		return m * y, 0.04 / 100 * y, m
	})
	lim := Defaults(5)
	lim.GradeRatio = 0.02
	area := orb.MultiPolygon{{{{0, 0}, {100, 0}, {100, 80}, {0, 80}, {0, 0}}}}
	f := newFiller(Site{Area: area, Design: warp, Raw: warp}, &lim, nil)
	c := candidate{Curve: NewCurve(orb.LineString{{-200, 0.001}, {300, 0.001}})}
	assert.InDelta(t, 50, f.serves(c.Curve), 1e-6)
	var served []int
	for _, p := range f.passes(&c, 0, 1, true) {
		if len(p.good) > 0 {
			served = append(served, p.number)
		}
	}
	// The tenth row, at 50 m, has the greatest grade all along, to rounding.
	assert.Contains(t, [][]int{{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}, {0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10}}, served)
}

func TestGuideOfStraight(t *testing.T) {
	lim := Defaults(5)
	g := guideOf(orb.LineString{{0, 0}, {30, 40}, {60, 80}}, guideSigmaM, 100, &lim)
	assert.InDelta(t, 300, g.LengthM(), 1e-9)
	for _, p := range g.Line() {
		assert.InDelta(t, 0, p[0]*0.8-p[1]*0.6, 1e-9)
	}
}

// A curve of radius R smoothed by σ is drawn in to R exp(-σ²/2R²) (Fourier
// transform of the Gaussian).
func TestGuideOfRing(t *testing.T) {
	lim := Defaults(5)
	lim.ChordErrM = 1e-6
	g := guideOf(gon(50, 157), guideSigmaM, 100, &lim)
	require.True(t, g.closed)
	for _, p := range g.Line() {
		assert.InDelta(t, 50*math.Exp(-64./2/2500), math.Hypot(p[0], p[1]), 0.02)
	}
}

// An extension stops before it comes near the guide's other arm.
func TestRunOnStops(t *testing.T) {
	line := []orb.Point{{60, 0}, {0, 0}, {-40, 40}, {0, 80}, {20, 80}, {30, 70}}
	out := runOn(line, 300, 10)
	require.Len(t, out, 7)
	assert.GreaterOrEqual(t, apart(line[:2], out[6]), 10.0)
	free := runOn(line[:3], 300, 10)
	assert.InDelta(t, 300, distM(free[2], free[3]), 1e-9)
}

func TestRepeatability(t *testing.T) {
	lim := Defaults(5)
	t.Run("arcs", func(t *testing.T) {
		var rows []Row
		for k := range 20 {
			var line orb.LineString
			r := 80 + 5*float64(k)
			for i := range 200 {
				a := 0.3 + 1.5*float64(i)/199
				line = append(line, orb.Point{r * math.Cos(a), r * math.Sin(a)})
			}
			rows = append(rows, Row{Line: line, Number: k})
		}
		r := Repeatability(rows, nil, lim, 100, 0.05)
		assert.True(t, r.Whole, r.Text)
		assert.Equal(t, 19, r.Last-r.First)
		assert.InDelta(t, 1, r.ServedRatio, 1e-12)
		assert.Less(t, r.WorstM, 0.01)
		assert.Contains(t, r.Text, "serves every row within 0.05 m")
	})
	t.Run("fan", func(t *testing.T) {
		// Ten parallels, then straights that fan out: the last of them end so
		// much off as their angle says.
		var rows []Row
		for k := range 10 {
			rows = append(rows, Row{Line: orb.LineString{{0, 5 * float64(k)}, {100, 5 * float64(k)}}, Number: k})
		}
		for k := range 5 {
			y := 50 + 5*float64(k)
			rows = append(rows, Row{Line: orb.LineString{{0, y}, {100, y + 0.5*float64(k+1)}}, Number: 10 + k})
		}
		r := Repeatability(rows, nil, lim, 100, 0.2)
		assert.False(t, r.Whole)
		assert.Equal(t, 9, r.Last-r.First)
		assert.InDelta(t, 0, r.WorstM, 1e-9)
		assert.InDelta(t, 2.0/3, r.ServedRatio, 0.01)
		assert.InDelta(t, 2.5, r.OtherM, 0.01)
		assert.Contains(t, r.Text, "cannot serve all rows within 0.20 m (up to 2.5 m off)")
	})
	t.Run("nothing", func(t *testing.T) {
		assert.Zero(t, Repeatability(nil, nil, lim, 100, 0.1))
		bent := []Row{{Line: orb.LineString{{0, 0}, {100, 0}}}}
		assert.Contains(t, Repeatability(bent, nil, lim, 50, -1).Text, "no curve repeated serves any row")
	})
}

func ExampleDepthM() {
	at := []float64{0, 100}
	slope := []float64{0.06, 0.10}
	fmt.Printf("%.0f m to either side\n", DepthM(at, slope, 0.02, 25))
	// Output: 50 m to either side
}

func BenchmarkFollow(b *testing.B) {
	area, err := polygon.Inset(convex, 8)
	require.NoError(b, err)
	f := nose(0.055, 4, 280, 200)
	raw := sample2M(f, convex.Bound())
	design := raw.smoothed(5)
	b.ReportAllocs()
	for b.Loop() {
		_, err := Follow(context.Background(), Site{Area: area, Design: design, Raw: raw}, Defaults(5), nil)
		require.NoError(b, err)
	}
}

// Rows around a summit are opened one behind the other, by the gap.
func TestOpenRing(t *testing.T) {
	guide := NewCurve(gon(60, 360))
	for _, d := range []float64{-20, 20, 30} {
		ring := guide.Offset(d, 0.001)[0].Line
		row := openRing(ring, guide, 8)
		assert.InDelta(t, lengthM(ring)-8, lengthM(row), 1e-6)
		first, last := row[0], row[len(row)-1]
		assert.InDelta(t, 4, first[1], 0.1, "at the guide's first vertex, to the east")
		assert.InDelta(t, -4, last[1], 0.1)
		assert.Positive(t, first[0])
	}
	assert.Nil(t, openRing(gon(2, 30), guide, 8), "too small for a gap")
}
