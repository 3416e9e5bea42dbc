package contour

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo/polygon"
)

// levelsOf traces a function over a box of 60 by 50 m.
func levelsOf(f func(x, y float64) float64, s, phase float64) []traced {
	r, _ := regionOf(box(60, 50))
	m := newMarch(r)
	v := make([]float64, m.nx*m.ny)
	for i := range v {
		p := m.node(i%m.nx, i/m.nx)
		v[i] = f(p[0], p[1])
	}
	return m.lines(v, s, phase)
}

// Levels by hand: a plane has one line for each, round ground one ring, a
// saddle two lines, a level that meets the nodes of the grid no more than one.
func TestMarch(t *testing.T) {
	for name, c := range map[string]struct {
		f            func(x, y float64) float64
		lines, rings int
	}{
		"plane":        {func(x, _ float64) float64 { return x - 30.7 }, 13, 0},
		"on the nodes": {func(x, _ float64) float64 { return 2.5 * (x + 2) }, 32, 0},
		"round":        {func(x, y float64) float64 { return math.Min(12, math.Hypot(x-30, y-25)) }, 0, 2},
		"saddle":       {func(x, y float64) float64 { return math.Max(-3, math.Min(8, (x-30)*(y-25)/40+1)) }, 4, 0},
		"level":        {func(_, _ float64) float64 { return 3 }, 0, 0},
	} {
		t.Run(name, func(t *testing.T) {
			lines, rings := 0, 0
			for _, l := range levelsOf(c.f, 5, 0) {
				if l.pts[0] == l.pts[len(l.pts)-1] {
					rings++
				} else {
					lines++
				}
				for _, p := range l.pts {
					assert.InDelta(t, 5*float64(l.level), c.f(p[0], p[1]), 0.8)
				}
			}
			assert.Equal(t, c.lines, lines)
			assert.Equal(t, c.rings, rings)
		})
	}
}

// Thinning leaves nothing out that strays.
func TestThin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var pts []orb.Point
		p := orb.Point{}
		dir := 0.0
		for range rapid.IntRange(1, 60).Draw(t, "n") {
			pts = append(pts, p)
			dir += rapid.Float64Range(-0.5, 0.5).Draw(t, "turn")
			s, c := math.Sincos(dir)
			p[0], p[1] = p[0]+c, p[1]+s
		}
		got := thin(pts, 0.05)
		require.Equal(t, pts[0], got[0])
		require.Equal(t, pts[len(pts)-1], got[len(got)-1])
		for _, q := range pts {
			near := math.Inf(1)
			for k := range got {
				near = min(near, polygon.PointSegmentM(q, got[max(0, k-1)], got[k]))
			}
			require.LessOrEqual(t, near, 0.05+1e-12)
		}
	})
}

// On random ground in random fields at random spacings rows are sound, those of
// a restart and those broken too, and what is broken is nowhere too tight.
func TestRowsAreSound(t *testing.T) {
	for seed := range uint64(8) {
		rng := rand.New(rand.NewPCG(seed, 7))
		var ring orb.Ring
		n := 3 + rng.IntN(6)
		for i := range n {
			r := 40 + 70*rng.Float64()
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			ring = append(ring, orb.Point{r * c, r * s})
		}
		area := orb.MultiPolygon{{append(ring, ring[0])}}
		ground := sample2M(fractal(seed, 0.12*rng.Float64(), 0.03), area.Bound())
		lim := Defaults(2.5 + 6*rng.Float64())
		site := Site{Area: area, Design: ground.smoothed(lim.SpacingM), Raw: ground}
		fit, err := Fit(context.Background(), site, lim)
		require.NoError(t, err)
		requireSound(t, fit.Layout, area, lim)
		peeled, err := Peel(context.Background(), site, lim, fit.Layout)
		require.NoError(t, err)
		requireSound(t, peeled, area, lim)
		rows, _ := Break(peeled.Rows, lim)
		s := Judge(rows, area, ground, lim)
		requireSound(t, Layout{rows, s}, area, lim)
		assert.Zero(t, s.TightRatio, "seed %d", seed)
	}
}

// The same rows come out for one processor and for many, and twice.
func TestFitIsDeterministic(t *testing.T) {
	site, lim := siteOn(t, quad, saddle(orb.Point{85, 75}), 5), Defaults(5)
	a, err := Fit(context.Background(), site, lim)
	require.NoError(t, err)
	b, err := Fit(context.Background(), site, lim)
	require.NoError(t, err)
	assert.Equal(t, a.Rows, b.Rows)
	assert.Equal(t, a.Score, b.Score)
}

func TestFitStops(t *testing.T) {
	site, lim := siteOn(t, convex, grounds["saddle"], 5), Defaults(5)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := Fit(ctx, site, lim)
	require.ErrorIs(t, err, context.Canceled)
	site.Raw = plane(0, 0)
	_, err = Peel(ctx, site, lim, Layout{Rows: []Row{row(orb.Point{100, 100}, orb.Point{200, 100}, orb.Point{200, 150})}})
	require.ErrorIs(t, err, context.Canceled)
}

func TestFitOfNothing(t *testing.T) {
	ground := plane(0.05, 0)
	for name, area := range map[string]orb.MultiPolygon{
		"no area":   nil,
		"no parts":  {},
		"too small": {{{{0, 0}, {1, 0}, {1, 1}, {0, 0}}}},
	} {
		fit, err := Fit(context.Background(), Site{Area: area, Design: ground, Raw: ground}, Defaults(5))
		require.NoError(t, err, name)
		assert.Empty(t, fit.Rows, name)
		_, err = Peel(context.Background(), Site{Area: area, Design: ground, Raw: ground}, Defaults(5), fit.Layout)
		require.NoError(t, err, name)
	}
	_, err := Fit(context.Background(), Site{Area: box(10, 10), Design: ground, Raw: ground}, Limits{})
	require.ErrorContains(t, err, "the spacing must be above 0 m, not 0")
	require.ErrorContains(t, err, "the least radius")
	lim := Defaults(5)
	lim.GradeRatio = math.NaN()
	_, err = Peel(context.Background(), Site{Area: box(10, 10), Design: ground, Raw: ground}, lim, Layout{})
	require.ErrorContains(t, err, "the greatest grade must be between 0 and 1, not NaN")
	assert.NoError(t, Defaults(5).Validate())
}

func ExampleFit() {
	// The flank of a cone falls 8 % away from its top.
	ground := cone(0.08, orb.Point{-120, -90})
	area := orb.MultiPolygon{{{{10, 15}, {150, 0}, {170, 135}, {20, 150}, {10, 15}}}}
	fit, err := Fit(context.Background(), Site{Area: area, Design: ground, Raw: ground}, Defaults(5))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("worst grade %.1f %%, rows %.1f to %.1f m apart\n",
		100*fit.Score.Grade995Ratio, fit.Score.SpacingMinM, fit.Score.SpacingMaxM)
	// Output: worst grade 0.0 %, rows 5.0 to 5.0 m apart
}
