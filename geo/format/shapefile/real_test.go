package shapefile_test

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/geojson"
	"hemrow/geo/format/shapefile"
)

// realFiles are the committed archives and, when a folder of shared data lies
// beside the repository, all archives there.
func realFiles(t testing.TB) (out []string) {
	t.Helper()
	for _, pattern := range []string{"testdata/*.zip", "../../../../shared/data/*.zip", "../../../../shared/data/pairs/*.zip"} {
		found, err := filepath.Glob(pattern)
		require.NoError(t, err)
		out = append(out, found...)
	}
	require.NotEmpty(t, out)
	return out
}

func readPath(t testing.TB, name string, opt shapefile.Options) format.File {
	t.Helper()
	f, err := shapefile.Read(os.DirFS(filepath.Dir(name)), filepath.Base(name), name, opt)
	require.NoError(t, err)
	return f
}

// ogrFeature is one feature as GDAL reads it, the outside value.
type ogrFeature struct {
	Properties map[string]any
	Geometry   *struct {
		Type        string
		Coordinates json.RawMessage
	}
}

// ogr reads a shapefile with ogr2ogr (GDAL, Debian gdal-bin), in the file's own
// system and to the last bit.
func ogr(t *testing.T, name string) []ogrFeature {
	t.Helper()
	if strings.HasSuffix(name, ".zip") {
		name = "/vsizip/" + name
	}
	cmd := exec.Command("ogr2ogr", "-f", "GeoJSON", "-lco", "COORDINATE_PRECISION=17", "-lco", "WRITE_NAME=NO", "/vsistdout/", name)
	var stderr strings.Builder
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	require.NoError(t, err, "%s; Debian has ogr2ogr in gdal-bin", stderr.String())
	var c struct{ Features []ogrFeature }
	d := json.NewDecoder(strings.NewReader(string(out)))
	d.UseNumber()
	require.NoError(t, d.Decode(&c), "%s", out)
	return c.Features
}

func (f ogrFeature) polygons(t *testing.T) (out [][][][]float64) {
	t.Helper()
	if f.Geometry.Type == "MultiPolygon" {
		require.NoError(t, json.Unmarshal(f.Geometry.Coordinates, &out))
		return out
	}
	require.Equal(t, "Polygon", f.Geometry.Type)
	out = make([][][][]float64, 1)
	require.NoError(t, json.Unmarshal(f.Geometry.Coordinates, &out[0]))
	return out
}

// sameRings compares polygons vertex by vertex; the order of polygons is free.
func sameRings(t *testing.T, want [][][][]float64, got []format.Polygon) {
	t.Helper()
	require.Len(t, got, len(want))
	for _, w := range want {
		found := slices.IndexFunc(got, func(p format.Polygon) bool {
			return len(p) == len(w) && len(p[0]) == len(w[0]) && p[0][0].X == w[0][0][0] && p[0][0].Y == w[0][0][1]
		})
		require.GreaterOrEqual(t, found, 0, "no polygon begins at %v", w[0][0])
		for k, ring := range w {
			require.Len(t, got[found][k], len(ring))
			for v, c := range ring {
				if got[found][k][v].X != c[0] || got[found][k][v].Y != c[1] {
					t.Fatalf("ring %d vertex %d: %v, want %v", k+1, v+1, got[found][k][v], c)
				}
			}
		}
	}
}

// Every vertex and every property of every real outline is what GDAL reads,
// out of the archive, and again out of an unpacked folder.
func TestRealOutlinesEqualGDAL(t *testing.T) {
	total := 0
	for _, name := range realFiles(t) {
		t.Run(filepath.Base(name), func(t *testing.T) {
			got := readPath(t, name, shapefile.Options{})
			want := ogr(t, name)
			require.Len(t, got.Features, len(want))
			for i, f := range got.Features {
				sameRings(t, want[i].polygons(t), f.Polygons)
				sameValues(t, want[i].Properties, f.Properties)
				total++
			}
			for _, n := range got.Notes {
				assert.Equal(t, geo.NoteTextGuessed, n.Code, "%v", n)
			}
			assert.Contains(t, got.Reference.WKT, `PROJCS["`+got.Reference.Declared+`"`)
			assert.False(t, got.Reference.Silent())
		})
	}
	assert.GreaterOrEqual(t, total, 251, "all features of the committed archives")
}

// sameValues compares properties; GDAL writes numbers in its own way.
func sameValues(t *testing.T, want, got map[string]any) {
	t.Helper()
	require.Len(t, got, len(want))
	for key, w := range want {
		g := got[key]
		a, number := w.(json.Number)
		b, also := g.(json.Number)
		if number && also {
			x, err := a.Float64()
			require.NoError(t, err)
			y, err := b.Float64()
			require.NoError(t, err)
			require.Equal(t, x, y, key)
			continue
		}
		require.Equal(t, w, g, key)
	}
}

// The parcel with the same id has as many rings and vertices as in the WGS84
// copy of the same data, read by the reader of GeoJSON; only the system
// differs.
func TestRealOutlinesHaveTheirTwins(t *testing.T) {
	twins := map[string]format.Feature{}
	for _, name := range []string{"../geojson/testdata/outlines-cc0.ndjson", "../../../../shared/data/outlines-all.ndjson"} {
		in, err := os.Open(name)
		if os.IsNotExist(err) && strings.Contains(name, "shared") {
			continue
		}
		require.NoError(t, err)
		f, err := geojson.Read(name, in)
		require.NoError(t, err)
		require.NoError(t, in.Close())
		for _, one := range f.Features {
			twins[one.Properties["id"].(string)] = one
		}
	}
	compared := 0
	for _, name := range realFiles(t) {
		for _, f := range readPath(t, name, shapefile.Options{}).Features {
			id, _ := f.Properties["id"].(string)
			twin, ok := twins[id]
			if !ok {
				continue
			}
			compared++
			require.Len(t, f.Polygons, len(twin.Polygons), id)
			vertices := func(f format.Feature) (n, rings int) {
				for _, p := range f.Polygons {
					for _, r := range p {
						n += len(r)
						rings++
					}
				}
				return n, rings
			}
			n, rings := vertices(f)
			wantN, wantRings := vertices(twin)
			assert.Equal(t, wantRings, rings, id)
			assert.Equal(t, wantN, n, id)
			assert.Equal(t, twin.Name, f.Name, id)
		}
	}
	assert.Positive(t, compared)
	t.Logf("%d parcels compared", compared)
}
