package contour

import (
	"context"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo/polygon"
)

// siteOn is a field less headlands of 8 m on sampled ground, smoothed for the
// design.
func siteOn(t testing.TB, field orb.Polygon, f shape, sigmaM float64) Site {
	t.Helper()
	area, err := polygon.Inset(field, 8)
	require.NoError(t, err)
	raw := sample2M(f, field.Bound())
	return Site{Area: area, Design: raw.smoothed(sigmaM), Raw: raw}
}

var grounds = map[string]shape{
	"plane":     plane(0.06, 37),
	"cone":      cone(0.08, orb.Point{210, -160}),
	"hill":      hill(12, 130, orb.Point{210, 165}),
	"hill, L":   hill(12, 130, orb.Point{195, 144}),
	"saddle":    saddle(orb.Point{210, 165}),
	"nose":      nose(0.055, 4, 280, 200),
	"ridges":    ridges(2.2, 130, 60, -0.003, 0.019),
	"crater":    crater(orb.Point{150, 190}, 75, 45, 9),
	"fractal":   fractal(4, 0.05, 0),
	"fractal 3": fractal(9, 0.04, 0.03),
}

// Floors of the share of the area that is planted inside every tolerance.
// Source: a study of this method on the same kinds of ground, whose prototype
// scored 0.02 more; the fields and grounds are built again from their
// descriptions, to the same area, relief and slopes within a tenth. The crater
// and the fractals could not be had again: their floors are our own, 0.02
// below what was reached.
func TestFloors(t *testing.T) {
	for _, c := range []struct {
		ground string
		field  orb.Polygon
		good   float64
	}{
		{"plane", convex, 0.97},
		{"cone", convex, 0.97},
		{"hill", convex, 0.96},
		{"saddle", convex, 0.92},
		{"nose", convex, 0.96},
		{"ridges", convex, 0.97},
		{"crater", convex, 0.83},
		{"fractal", convex, 0.80},
		{"fractal 3", convex, 0.88},
		{"hill, L", lpond, 0.96},
		{"saddle", lpond, 0.92},
		{"nose", lpond, 0.98},
		{"ridges", lpond, 0.97},
	} {
		name := c.ground + " convex"
		if len(c.field) > 1 {
			name = c.ground + " L"
		}
		t.Run(name, func(t *testing.T) {
			site, lim := siteOn(t, c.field, grounds[c.ground], 5), Defaults(5)
			fit, err := Fit(context.Background(), site, lim)
			require.NoError(t, err)
			requireSound(t, fit.Layout, site.Area, lim)
			peeled, err := Peel(context.Background(), site, lim, fit.Layout)
			require.NoError(t, err)
			if len(peeled.Rows) != len(fit.Rows) {
				requireSound(t, peeled, site.Area, lim)
			}
			before, _ := Break(fit.Rows, lim)
			after, _ := Break(peeled.Rows, lim)
			assert.GreaterOrEqual(t, Judge(after, site.Area, site.Raw, lim).JRatio, Judge(before, site.Area, site.Raw, lim).JRatio)
			assert.GreaterOrEqual(t, max(fit.Score.GoodRatio, peeled.Score.GoodRatio), c.good)
			assert.Greater(t, peeled.Score.CoverRatio, 0.94)
			rows, gaps := Break(peeled.Rows, lim)
			whole := Judge(rows, site.Area, site.Raw, lim)
			requireSound(t, Layout{rows, whole}, site.Area, lim)
			requireFloor(t, rows, lim)
			assert.Zero(t, whole.TightRatio)
			t.Logf("fit %.3f J %.3f tight %.3f, peeled %.3f J %.3f, broken %.3f J %.3f cover %.3f least %.2f, %d gaps, %d pieces", fit.Score.GoodRatio, fit.Score.JRatio, fit.Score.TightRatio,
				peeled.Score.GoodRatio, peeled.Score.JRatio, whole.GoodRatio, whole.JRatio, whole.CoverRatio, whole.SpacingLeastM, len(gaps), whole.Pieces)
		})
	}
}

// Floors of rows along guides, where the study of this method found them valid:
// what its prototype scored, less 0.02. On the noses the prototype let 2 % of the
// length bend tighter than the machine can, and ours is broken there, with gaps of
// 8 m: those floors are our own, 0.02 below what was reached.
func TestFloorsOfGuides(t *testing.T) {
	for _, c := range []struct {
		ground string
		field  orb.Polygon
		good   float64
	}{
		{"plane", convex, 0.977},
		{"cone", convex, 0.98},
		{"saddle", convex, 0.912},
		{"nose", convex, 0.903}, // prototype less 0.02: 0.938
		{"ridges", convex, 0.881},
		{"hill, L", lpond, 0.914},
		{"saddle", lpond, 0.902},
		{"nose", lpond, 0.886}, // 0.913
		{"ridges", lpond, 0.903},
	} {
		t.Run(c.ground, func(t *testing.T) {
			site, lim := siteOn(t, c.field, grounds[c.ground], 5), Defaults(5)
			out, err := Follow(context.Background(), site, lim, nil)
			require.NoError(t, err)
			requireSound(t, out.Layout, site.Area, lim)
			assert.GreaterOrEqual(t, out.Score.GoodRatio, c.good)
			assert.Zero(t, out.Score.TightRatio)
			t.Logf("good %.3f J %.3f cover %.3f, %d guides", out.Score.GoodRatio, out.Score.JRatio, out.Score.CoverRatio, len(out.Guides))
		})
	}
}
