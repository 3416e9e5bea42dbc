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

// Floors of the share of the area that is planted inside every tolerance, by the
// better of the fit and its restarts as they come, and by what is left once rows
// are broken where they are too tight, as they are delivered.
//
// Source of those not marked: a study of this method on the same kinds of ground,
// whose prototype scored 0.02 more before breaking; the fields and grounds are built
// again from their descriptions, to the same area, relief and slopes within a tenth.
// It did not break rows; the same floors are asked for after that too, but for one:
// on the nose of the L it is missed by 0.003, since a break is a gap of a headland,
// 8 m, around a tight place, of which the study only left out the metres that are too
// tight themselves.
//
// Those marked are regression values of our own, 0.02 below what was reached, and no
// floors of the study. Grounds of the study that could not be had: the two cut-outs of
// a volcano, one of them on both fields, and the two shapes of a survey, one on both
// fields, whose cut-outs are not described (the crater stands in for the first); and
// the two fractals, whose seeds are not known (others of the same spectrum stand in).
func TestFloors(t *testing.T) {
	for _, c := range []struct {
		ground      string
		field       orb.Polygon
		good, whole float64 // before and after breaking
	}{
		{"plane", convex, 0.97, 0.97},
		{"cone", convex, 0.97, 0.97},
		{"hill", convex, 0.96, 0.96},
		{"saddle", convex, 0.92, 0.92},
		{"nose", convex, 0.96, 0.96},
		{"ridges", convex, 0.97, 0.97},
		{"crater", convex, 0.84, 0.83},    // both our own
		{"fractal", convex, 0.82, 0.82},   // both our own
		{"fractal 3", convex, 0.88, 0.88}, // both our own
		{"hill, L", lpond, 0.96, 0.96},
		{"saddle", lpond, 0.92, 0.92},
		{"nose", lpond, 0.98, 0.957}, // the second our own; the study's is missed by 0.003
		{"ridges", lpond, 0.97, 0.97},
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
			rows, gaps := Break(peeled.Rows, lim)
			whole := Judge(rows, site.Area, site.Raw, lim)
			assert.GreaterOrEqual(t, whole.JRatio, Judge(before, site.Area, site.Raw, lim).JRatio)
			assert.GreaterOrEqual(t, max(fit.Score.GoodRatio, peeled.Score.GoodRatio), c.good, "before breaking")
			assert.Greater(t, peeled.Score.CoverRatio, 0.94)
			requireSound(t, Layout{rows, whole}, site.Area, lim)
			requireFloor(t, rows, lim)
			strict := lim // as where cover and mower need the narrowest spacing at the worst
			strict.LeastM, _ = lim.window()
			kept, _ := Break(peeled.Rows, strict)
			requireFloor(t, kept, strict)
			assert.GreaterOrEqual(t, whole.GoodRatio, c.whole, "after breaking")
			assert.Zero(t, whole.TightRatio)
			t.Logf("fit %.3f J %.3f tight %.3f, peeled %.3f J %.3f, broken %.3f J %.3f cover %.3f least %.2f, %d gaps, %d pieces", fit.Score.GoodRatio, fit.Score.JRatio, fit.Score.TightRatio,
				peeled.Score.GoodRatio, peeled.Score.JRatio, whole.GoodRatio, whole.JRatio, whole.CoverRatio, whole.SpacingLeastM, len(gaps), whole.Pieces)
		})
	}
}

// Floors of rows along guides, where the study of this method found them valid:
// what its prototype scored, less 0.02. On the noses the prototype let 2 % of the
// length bend tighter than the machine can, and ours is broken there, with gaps of
// 8 m: those two are regression values of our own, 0.02 below what was reached, and
// no floors of the study. The grounds that TestFloors could not have are not here
// either.
func TestFloorsOfGuides(t *testing.T) {
	for _, c := range []struct {
		ground string
		field  orb.Polygon
		good   float64
	}{
		{"plane", convex, 0.977},
		{"cone", convex, 0.98},
		{"saddle", convex, 0.912},
		{"nose", convex, 0.903}, // our own; prototype less 0.02: 0.938
		{"ridges", convex, 0.881},
		{"hill, L", lpond, 0.914},
		{"saddle", lpond, 0.902},
		{"nose", lpond, 0.886}, // our own; prototype less 0.02: 0.913
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
