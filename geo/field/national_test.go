package field_test

import (
	"bufio"
	"context"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/field"
	"hemrow/geo/format"
	"hemrow/geo/format/delivery"
	"hemrow/geo/format/geojson"
)

// twinM is how far a vertex may lie from its twin, which was transformed from
// the same shapefile with PROJ 9.1 without grids and rounded to 1e-7 degrees:
// half a step along each axis, 7.9 mm, and a millimetre for the transformation.
const twinM = 0.009

// nationalZips are parcels as the land agencies deliver them, in their own
// grids: all where the collection of data is at hand, three in any case.
func nationalZips(t *testing.T) (zips, twins []string) {
	t.Helper()
	for _, name := range []string{"dk-marker-utm32", "nl-brp-rdnew", "sk-lpis-krovak"} {
		zips = append(zips, filepath.Join("..", "format", "shapefile", "testdata", name+".zip"))
	}
	twins = []string{filepath.Join("..", "..", "cmd", "hemrow", "internal", "pipeline", "testdata", "outlines-cc0.ndjson")}
	data := filepath.Join("..", "..", "..", "shared", "data")
	if more, err := filepath.Glob(filepath.Join(data, "*-*.zip")); err == nil && len(more) > 0 {
		zips, twins = more, []string{filepath.Join(data, "outlines-all.ndjson")}
	}
	return zips, twins
}

// Each parcel of each national shapefile lies where its twin in longitude and
// latitude lies (reference: PROJ 9.1, see SOURCES.md of the data).
func TestNationalGridsEqualTheirTwins(t *testing.T) {
	zips, twinFiles := nationalZips(t)
	twins := map[string]format.Feature{}
	for _, name := range twinFiles {
		in, err := os.Open(name)
		require.NoError(t, err)
		defer in.Close()
		f, err := geojson.Read(name, bufio.NewReader(in))
		require.NoError(t, err)
		for _, x := range f.Features {
			twins[x.Properties["id"].(string)] = x
		}
	}
	for _, name := range zips {
		t.Run(filepath.Base(name), func(t *testing.T) {
			file, err := delivery.Read(delivery.Source{FS: os.DirFS(filepath.Dir(name)), Path: filepath.Base(name)}, delivery.Options{})
			require.NoError(t, err)
			located, _, err := field.Locate(file, field.Spec{})
			require.NoError(t, err)
			compared, worst := 0, 0.0
			for _, x := range located.Features {
				if twin, ok := twins[x.Properties["id"].(string)]; ok {
					worst = max(worst, apartM(t, x, twin))
					compared++
				}
			}
			assert.GreaterOrEqual(t, compared, 6)
			assert.Less(t, worst, twinM)
			t.Logf("%d of %d parcels compared, farthest vertex %.4f m away", compared, len(file.Features), worst)
		})
	}
}

// apartM is the greatest distance from a vertex of a to the nearest of b; both
// have as many.
func apartM(t *testing.T, a, b format.Feature) float64 {
	t.Helper()
	vertices := func(f format.Feature) (out []format.Coord) {
		for _, p := range f.Polygons {
			for _, r := range p {
				out = append(out, r[:len(r)-1]...)
			}
		}
		return out
	}
	va, vb := vertices(a), vertices(b)
	require.Len(t, va, len(vb))
	frame, ok := geo.NewFrame(geo.LonLat{LonDeg: vb[0].X, LatDeg: vb[0].Y})
	require.True(t, ok)
	worst := 0.0
	for _, c := range va {
		p := frame.ToLocal(geo.LonLat{LonDeg: c.X, LatDeg: c.Y})
		least := math.Inf(1)
		for _, d := range vb {
			q := frame.ToLocal(geo.LonLat{LonDeg: d.X, LatDeg: d.Y})
			least = min(least, math.Hypot(p[0]-q[0], p[1]-q[1]))
		}
		worst = max(worst, least)
	}
	return worst
}

// The real fields on real terrain: each is built from its national grid and
// from its twin in longitude and latitude, on its own terrain, and rows would
// find the same ground.
func TestRealFieldsOnRealTerrain(t *testing.T) {
	data := filepath.Join("..", "..", "..", "shared", "data")
	pairs := []struct{ name, code, dem string }{
		{"nz-hillcountry-spur", "2193", "nz-hillcountry-5m"},
		{"nc-fortbragg-gully", "3358", "nc-fortbragg-1m"},
		{"ar-pampas-wheat", "32720", "ar-pampas-wheat-10m"},
	}
	if _, err := os.Stat(data); err != nil {
		pairs = nil // the invented ground of the other tests stands for it
	}
	for _, p := range pairs {
		t.Run(p.name, func(t *testing.T) {
			src := func(name string) delivery.Source { return delivery.Source{FS: os.DirFS(data), Path: name} }
			spec := field.Spec{Choose: "1", Terrain: true}
			var means []float64
			for _, outline := range []string{"pairs/" + p.name + ".geojson", "pairs/" + p.name + "-epsg" + p.code + ".zip"} {
				for _, dem := range []string{p.dem + ".tif", p.dem + ".asc"} {
					file, err := delivery.Read(src(outline), delivery.Options{})
					require.NoError(t, err)
					f, _, err := field.Build(context.Background(), file, nil, spec)
					require.NoError(t, err)
					h, err := delivery.Heights(src("dem/"+dem), delivery.Options{})
					require.NoError(t, err)
					_, r, _, err := field.Terrain(context.Background(), f, []field.Survey{{Raster: h.Raster, File: h.File}}, nil, field.TerrainSpec{})
					require.NoError(t, err)
					require.NoError(t, h.Close())
					assert.Greater(t, r.CoveredRatio, 0.98)
					means = append(means, r.MeanM)
				}
			}
			assert.InDelta(t, means[0], means[1], 5e-4, "the same cells in two formats, one written to 1 mm")
			assert.InDelta(t, means[2], means[3], 5e-4, "the same cells in two formats, one written to 1 mm")
			// the twin in longitude and latitude was made with another datum
			// shift where the datum has one, up to a metre away
			assert.InDelta(t, means[0], means[2], 0.05, "the same ground whatever the file")
		})
	}
}
