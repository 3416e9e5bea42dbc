package contour

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo/field"
	"hemrow/geo/format"
	"hemrow/geo/format/delivery"
	"hemrow/geo/polygon"
	"hemrow/geo/terrain"
)

// surveyed is a field on its terrain from the collection of real ground, less
// headlands and obstacles with 8 m around, with a design surface smoothed over
// one spacing.
func surveyed(t testing.TB, name, dem string) Site {
	t.Helper()
	ctx := context.Background()
	data := os.DirFS(filepath.Join("..", "..", "..", "shared", "data"))
	file, err := delivery.Read(delivery.Source{FS: data, Path: "pairs/" + name + ".geojson"}, delivery.Options{})
	require.NoError(t, err)
	obstacle := file
	obstacle.Features = file.Features[1:]
	f, _, err := field.Build(ctx, file, []format.File{obstacle}, field.Spec{Choose: "1", Terrain: true})
	require.NoError(t, err)
	require.Len(t, f.Obstacles, 1)
	h, err := delivery.Heights(delivery.Source{FS: data, Path: "dem/" + dem + ".tif"}, delivery.Options{})
	require.NoError(t, err)
	f, _, _, err = field.Terrain(ctx, f, []field.Survey{{Raster: h.Raster, File: h.File}}, nil, field.TerrainSpec{})
	require.NoError(t, err)
	require.NoError(t, h.Close())
	return siteAt(t, f.Blocks[0].Outline, f.Surface, f.Obstacles[0].Area)
}

func siteAt(t testing.TB, outline orb.Polygon, raw terrain.Surface, obstacle orb.Polygon) Site {
	t.Helper()
	var area orb.MultiPolygon
	whole := []orb.Polygon{outline}
	if obstacle != nil {
		var err error
		whole, err = polygon.Difference(outline, []orb.Polygon{obstacle})
		require.NoError(t, err)
	}
	for _, p := range whole {
		parts, err := polygon.Inset(p, 8)
		require.NoError(t, err)
		area = append(area, parts...)
	}
	lattice := terrain.SampleGrid(raw, outline.Bound().Pad(30), min(2, max(1, raw.SpacingM())))
	return Site{Area: area, Design: lattice.Smooth(5), Raw: raw}
}

// straightest is the straight rows of the best score over headings 5 degrees
// apart, then over shifts of a fifth of a spacing.
func straightest(t testing.TB, site Site, lim Limits) (best []Row) {
	t.Helper()
	r, index := regionOf(site.Area)
	grid, l := newMarch(r), cover(r.bound.Pad(marginM), maxKnotsM*lim.knotM())
	fresh, areaM2 := &judging{raw: site.Raw, lim: &lim}, polygon.TotalAreaM2(site.Area)
	lay := func(heading, phaseM float64) ([]Row, float64) {
		sin, cos := math.Sincos(heading)
		f := linear(l, sin, cos)
		lv := levels{f: f, lim: &lim, cut: &ground{site.Area, index}}
		rows := lv.rows(grid, grid.values(f), phaseM)
		return rows, merit(fresh.of(rows).st, areaM2, &lim)
	}
	const headings = 36
	var js [headings]float64
	require.NoError(t, parallel(t.Context(), headings, func(i int) error {
		_, js[i] = lay(math.Pi*float64(i)/headings, 0)
		return nil
	}))
	heading := math.Pi * float64(slices.Index(js[:], slices.Max(js[:]))) / headings
	top := math.Inf(-1)
	for k := range phases {
		if rows, j := lay(heading, lim.SpacingM*float64(k)/phases); j > top {
			best, top = rows, j
		}
	}
	return best
}

// Real ground: every pair of field and terrain that the collection holds, where
// it is at hand.
func TestBestOnRealGround(t *testing.T) {
	pairs := []struct{ name, dem string }{
		{"nc-fortbragg-spur", "nc-fortbragg-1m"},
		{"nz-hillcountry-flank", "nz-hillcountry-5m"},
		{"nz-hillcountry-spur", "nz-hillcountry-5m"},
		{"nc-fortbragg-gully", "nc-fortbragg-1m"},
		{"ar-pampas-block", "ar-pampas-wheat-10m"},
	}
	if testing.Short() {
		pairs = pairs[:2]
	}
	if _, err := os.Stat(filepath.Join("..", "..", "..", "shared", "data", "pairs")); err != nil {
		pairs = nil // the invented ground of the other tests stands for it
	}
	for _, p := range pairs {
		t.Run(p.name, func(t *testing.T) {
			site, lim := surveyed(t, p.name, p.dem), Defaults(5)
			straight := straightest(t, site, lim)
			start := time.Now()
			c, err := Best(context.Background(), site, lim, straight, nil)
			require.NoError(t, err)
			t.Logf("%.2f ha, %.1f s", c.Candidates[0].Score.AreaM2/1e4, time.Since(start).Seconds())
			requireChoice(t, c, site, lim)
			for i := range c.Candidates {
				logCandidate(t, &c.Candidates[i])
			}
			t.Log(c.Why, c.Depth)
		})
	}
}

func logCandidate(t *testing.T, c *Candidate) {
	t.Helper()
	s := &c.Score
	t.Logf("%-34s good %.3f (%.2f ha) J %.3f, cover %.3f laid %.3f, %d pieces %d short, grade p99.5 %.1f %% worst %.1f %%, spacing %.2f-%.2f least %.2f in window %.3f, radius %.1f, %d gaps; rejected: %q %q",
		c.Method, s.GoodRatio, c.GoodHa, s.JRatio, s.CoverRatio, c.LaidRatio, s.Pieces, s.Short, 100*s.Grade995Ratio, 100*s.GradeMaxRatio,
		s.SpacingMinM, s.SpacingMaxM, s.SpacingLeastM, s.InWindowRatio, s.RadiusMinM, len(c.Gaps), c.Rejected, c.Warnings)
}

// requireChoice checks what holds of any choice.
func requireChoice(t *testing.T, c Choice, site Site, lim Limits) {
	t.Helper()
	require.Equal(t, Straight, c.Candidates[0].Method)
	best, straight := c.Best(), &c.Candidates[0]
	assert.NotEmpty(t, c.Why)
	assert.Empty(t, best.Rejected)
	assert.GreaterOrEqual(t, best.Score.JRatio, straight.Score.JRatio)
	if best.Method == Straight {
		return
	}
	assert.Greater(t, best.Score.JRatio, straight.Score.JRatio+tieRatio)
	assert.Zero(t, best.Score.TightRatio)
	assert.GreaterOrEqual(t, best.Score.RadiusMinM, lim.RadiusM)
	assert.GreaterOrEqual(t, best.Score.SpacingLeastM, 0.85*lim.SpacingM-lim.ChordErrM)
	assert.GreaterOrEqual(t, best.Score.CoverRatio, 0.85*straight.Score.CoverRatio)
	requireSound(t, best.Layout, site.Area, lim)
	for i := range c.Candidates {
		if x := &c.Candidates[i]; x.Rejected == "" {
			assert.GreaterOrEqual(t, best.Score.JRatio, x.Score.JRatio-tieRatio, "%v", x.Method)
		}
	}
}
