package terrain

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/crs"
	"hemrow/geo/format"
)

// Tests against programs of others: GDAL 3.6.2 and Shapely 1.8.5 (GEOS), run
// here. They must be installed.

// readASC reads an Arc/Info ASCII grid as written by GDAL.
func readASC(t testing.TB, path string) *memory {
	t.Helper()
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	words := strings.Fields(string(data))
	head := map[string]float64{}
	for len(words) > 1 && words[0][0] >= 'A' {
		v, err := strconv.ParseFloat(words[1], 64)
		require.NoError(t, err)
		head[strings.ToLower(words[0])] = v
		words = words[2:]
	}
	cols, rows, size := int(head["ncols"]), int(head["nrows"]), head["cellsize"]
	require.Len(t, words, cols*rows)
	z := make([]float64, len(words))
	for i, w := range words {
		z[i], err = strconv.ParseFloat(w, 64)
		require.NoError(t, err)
		if v, ok := head["nodata_value"]; ok && z[i] == v {
			z[i] = math.NaN()
		}
	}
	return &memory{
		layout: format.Layout{
			Cols: cols, Rows: rows, ColX: size, RowY: -size,
			OriginX: head["xllcorner"] + size/2, OriginY: head["yllcorner"] + size*(float64(rows)-0.5),
		},
		unit: 1, height: func(c, r int) float64 { return z[r*cols+c] },
	}
}

func hillside(t testing.TB, m Method) (*Grid, *memory, *crs.System, geo.Frame) {
	t.Helper()
	r, sys := readASC(t, filepath.Join("testdata", "hillside-5m.asc")), system(t, 2193)
	f := frameAt(t, 176.8434, -39.8405)
	g, _, err := FromRaster(r, sys, f, boxOf(400), GridOptions{Method: m})
	require.NoError(t, err)
	return g, r, sys, f
}

func runTool(t testing.TB, stdin, name string, args ...string) string {
	t.Helper()
	cmd := exec.Command(name, args...)
	cmd.Stdin = strings.NewReader(stdin)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	require.NoError(t, err, "%s must be installed and work: %s", name, stderr.String())
	return string(out)
}

// Heights on nets between the cells, in the raster's own system and in two
// others, against gdalwarp with the same method.
func TestHeightsAgainstGDAL(t *testing.T) {
	for _, c := range []struct {
		name   string
		method Method
		code   int
		extent []string // -te and -tr
	}{
		{"bilinear, same system", Bilinear, 2193, []string{"-te", "1928901.7", "5582651.3", "1929171.7", "5583011.3", "-tr", "4.5", "4.5"}},
		{"bicubic, same system", Bicubic, 2193, []string{"-te", "1928901.7", "5582651.3", "1929171.7", "5583011.3", "-tr", "4.5", "4.5"}},
		{"bilinear, UTM 60 south", Bilinear, 32760, nil},
		{"bicubic, UTM 60 south", Bicubic, 32760, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			g, _, from, f := hillside(t, c.method)
			sys := system(t, c.code)
			out := filepath.Join(t.TempDir(), "out.tif")
			te := c.extent
			if te == nil {
				ll, ok := from.ToWGS84(crs.XY{X: 1929040, Y: 5582825}) // the middle of the raster
				require.True(t, ok)
				mid, ok := sys.FromWGS84(ll)
				require.True(t, ok)
				te = []string{"-te"}
				for _, v := range []float64{mid.X - 90, mid.Y - 120, mid.X + 90, mid.Y + 120} {
					te = append(te, fmt.Sprintf("%.3f", v))
				}
				te = append(te, "-tr", "4", "4")
			}
			method := map[Method]string{Bilinear: "bilinear", Bicubic: "cubic"}[c.method]
			args := append([]string{
				"-q", "-et", "0", "-r", method, "-ot", "Float64", "-wt", "Float64",
				"-s_srs", "EPSG:2193", "-t_srs", fmt.Sprintf("EPSG:%d", c.code),
			}, te...)
			runTool(t, "", "gdalwarp", append(args, filepath.Join("testdata", "hillside-5m.asc"), out)...)
			text := filepath.Join(t.TempDir(), "out.asc")
			runTool(t, "", "gdal_translate", "-q", "-of", "AAIGrid", "-co", "DECIMAL_PRECISION=7", out, text)
			want := readASC(t, text)
			n, worst := 0, 0.0
			for row := range want.layout.Rows {
				for col := range want.layout.Cols {
					ll, ok := sys.ToWGS84(crs.XY{X: want.layout.OriginX + float64(col)*want.layout.ColX, Y: want.layout.OriginY + float64(row)*want.layout.RowY})
					require.True(t, ok)
					z, ok := g.Height(f.ToLocal(ll))
					require.True(t, ok)
					worst = max(worst, math.Abs(z-want.height(col, row)))
					n++
				}
			}
			t.Logf("%d heights, worst %.3g mm apart", n, worst*1000)
			// 0.1 mm of place on slopes of up to 100 %; heights were stored as
			// Float32, whose step at 150 m is 0.015 mm.
			assert.Less(t, worst, geo.MapErrorM+3e-5)
			assert.Greater(t, n, 2000)
		})
	}
}

// Heights at the cell centres against gdallocationinfo.
func TestCellCentresAgainstGDAL(t *testing.T) {
	g, r, sys, f := hillside(t, Bilinear)
	var places strings.Builder
	var at []orb.Point
	for row := 1; row < r.layout.Rows-1; row += 7 {
		for col := 1; col < r.layout.Cols-1; col += 5 {
			xy := crs.XY{X: r.layout.OriginX + float64(col)*5, Y: r.layout.OriginY - float64(row)*5}
			fmt.Fprintf(&places, "%.3f %.3f\n", xy.X, xy.Y)
			ll, _ := sys.ToWGS84(xy)
			at = append(at, f.ToLocal(ll))
		}
	}
	out := strings.Fields(runTool(t, places.String(), "gdallocationinfo", "-valonly", "-geoloc", filepath.Join("testdata", "hillside-5m.asc")))
	require.Len(t, out, len(at))
	for i, p := range at {
		want, err := strconv.ParseFloat(out[i], 64)
		require.NoError(t, err)
		z, ok := g.Height(p)
		require.True(t, ok)
		assert.InDelta(t, want, z, geo.MapErrorM+3e-5)
	}
}

// The triangles of random points are those of Shapely (GEOS).
func TestTrianglesAgainstShapely(t *testing.T) {
	const script = `
import json, sys
from shapely.geometry import MultiPoint
from shapely.ops import triangulate
pts = json.load(sys.stdin)
out = [list(t.exterior.coords)[:3] for t in triangulate(MultiPoint(pts))]
json.dump({"triangles": out, "hull": MultiPoint(pts).convex_hull.area}, sys.stdout)
`
	for seed := range uint64(3) {
		var pts []orb.Point
		for _, p := range scatter(400, 500, 20+seed, plane) {
			pts = append(pts, orb.Point{p.X, p.Y})
		}
		in, err := json.Marshal(pts)
		require.NoError(t, err)
		var theirs struct {
			Triangles [][3]orb.Point
			Hull      float64
		}
		require.NoError(t, json.Unmarshal([]byte(runTool(t, string(in), "/usr/bin/python3", "-c", script)), &theirs))
		sides := func(set map[[2]orb.Point]bool, c [3]orb.Point) {
			for i := range c {
				a, b := c[i], c[(i+1)%3]
				if b[0] < a[0] {
					a, b = b, a
				}
				set[[2]orb.Point{a, b}] = true
			}
		}
		got, want := map[[2]orb.Point]bool{}, map[[2]orb.Point]bool{}
		area := 0.0
		m, _, ok := delaunay(pts)
		require.True(t, ok)
		for k := range m.triangles() {
			a, b, c := m.corners(k)
			sides(got, [3]orb.Point{a, b, c})
			area += cross(a, b, c) / 2
		}
		for _, c := range theirs.Triangles {
			sides(want, c)
		}
		// GEOS closes the hull with a large triangle and may miss flat
		// triangles at its edge: ours has all of its edges and a few more, and
		// fills the hull.
		for e := range want {
			assert.True(t, got[e], "edge %v", e)
		}
		assert.InEpsilon(t, theirs.Hull, area, 1e-9)
		assert.InDelta(t, len(want), len(got), 6)
	}
}

// Points surveyed on a hillside against its raster: they agree within their
// noise of 2 cm. Source: testdata/SOURCES.md.
func TestSurveyAgainstRaster(t *testing.T) {
	g, _, sys, f := hillside(t, Bilinear)
	data, err := os.ReadFile(filepath.Join("testdata", "hillside-points.csv"))
	require.NoError(t, err)
	var pts []Point
	for _, line := range strings.Fields(string(data))[1:] {
		var e, n, z float64
		_, err := fmt.Sscanf(line, "%g,%g,%g", &e, &n, &z)
		require.NoError(t, err)
		ll, ok := sys.ToWGS84(crs.XY{X: e, Y: n})
		require.True(t, ok)
		p := f.ToLocal(ll)
		pts = append(pts, Point{p[0], p[1], z})
	}
	tin, notes := mustTIN(t, pts, nil, TINOptions{Place: "hillside-points.csv"})
	for _, n := range notes {
		t.Log(n)
	}
	var sum, squares float64
	n := 0
	for _, p := range pts {
		z, ok := g.Height(orb.Point{p.X, p.Y})
		require.True(t, ok)
		sum += z - p.Z
		squares += (z - p.Z) * (z - p.Z)
		n++
	}
	sigma := math.Sqrt(squares / float64(n))
	t.Logf("%d points: mean difference %.4f m, sigma %.4f m", n, sum/float64(n), sigma)
	assert.InDelta(t, 0, sum/float64(n), 0.005)
	assert.InDelta(t, 0.02, sigma, 0.005)

	// A row on both surfaces: points 15 m apart give the length within 1 %.
	mid := tin.Bounds().Center()
	row := []orb.Point{{mid[0] - 60, mid[1] - 30}, {mid[0] + 50, mid[1] + 60}}
	a, b := Drape(g, f, row, 0), Drape(tin, f, row, 0)
	assert.Zero(t, a.OutsideM)
	assert.Zero(t, b.OutsideM)
	assert.InEpsilon(t, a.GroundM, b.GroundM, 0.01)
	t.Logf("row of %.2f m: %.2f m on the raster, %.2f m on the points", a.PlanM, a.GroundM, b.GroundM)
}
