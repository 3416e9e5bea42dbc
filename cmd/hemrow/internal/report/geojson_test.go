package report

import (
	"encoding/json"
	"math"
	"regexp"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/cmd/hemrow/internal/result"
	"hemrow/geo"
)

type feature struct {
	Type       string         `json:"type"`
	Properties map[string]any `json:"properties"`
	Geometry   struct {
		Type        string          `json:"type"`
		Coordinates json.RawMessage `json:"coordinates"`
	} `json:"geometry"`
}

func readGeoJSON(t testing.TB, data []byte) []feature {
	t.Helper()
	var fc struct {
		Type     string          `json:"type"`
		CRS      json.RawMessage `json:"crs"`
		Features []feature       `json:"features"`
	}
	require.NoError(t, json.Unmarshal(data, &fc))
	assert.Equal(t, "FeatureCollection", fc.Type)
	assert.Nil(t, fc.CRS, "RFC 7946 section 4 has no crs member")
	return fc.Features
}

// polygonsOf are the polygons of a feature, checked by RFC 7946 section 3.1.6:
// closed rings of four or more, outer counter-clockwise, holes clockwise.
func polygonsOf(t testing.TB, f feature) [][]ring {
	t.Helper()
	var polys [][]ring
	switch f.Geometry.Type {
	case "Polygon":
		polys = make([][]ring, 1)
		require.NoError(t, json.Unmarshal(f.Geometry.Coordinates, &polys[0]))
	case "MultiPolygon":
		require.NoError(t, json.Unmarshal(f.Geometry.Coordinates, &polys))
	default:
		t.Fatalf("%s is no area", f.Geometry.Type)
	}
	for _, p := range polys {
		for i, r := range p {
			require.GreaterOrEqual(t, len(r), 4)
			require.Equal(t, r[0], r[len(r)-1])
			require.Equal(t, i == 0, degArea(r) > 0)
		}
	}
	return polys
}

// degArea is the signed area of a ring in square degrees.
func degArea(r ring) (sum float64) {
	for i := 1; i < len(r); i++ {
		sum += (r[i-1][0]-r[0][0])*(r[i][1]-r[0][1]) - (r[i][0]-r[0][0])*(r[i-1][1]-r[0][1])
	}
	return sum / 2
}

func TestGeoJSONReadsBack(t *testing.T) {
	for _, s := range scenes(t) {
		d := s.document(t)
		data := RowsGeoJSON(d)
		kinds := map[string]int{}
		rows := d.Rows
		part := 0
		for _, f := range readGeoJSON(t, data) {
			kind := f.Properties["kind"].(string)
			kinds[kind]++
			switch kind {
			case "boundary", "working-area":
				polygonsOf(t, f)
			case "row":
				for part == len(rows[0].Pieces) {
					rows, part = rows[1:], 0
				}
				p := rows[0].Pieces[part]
				part++
				var line []result.Position
				require.NoError(t, json.Unmarshal(f.Geometry.Coordinates, &line))
				assert.Equal(t, p.LineLonLat, line)
				assert.Equal(t, p.PlanM, f.Properties["plan_m"])
				assert.Equal(t, p.Name, f.Properties["name"])
				assert.Equal(t, s.spec.SpacingM, f.Properties["spacing_m"])
			}
		}
		working := 0
		for _, b := range d.Blocks {
			working += min(1, len(b.WorkingArea))
		}
		assert.Equal(t, len(d.Blocks), kinds["boundary"], s.name)
		assert.Equal(t, working, kinds["working-area"], s.name)
		assert.Equal(t, len(d.Field.Obstacles), kinds["obstacle"], s.name)
		assert.Equal(t, d.Totals.Pieces, kinds["row"], s.name)
		assert.Empty(t, regexp.MustCompile(`\.\d{10}`).FindAll(data, 1), "nine decimals at most")
		assert.Empty(t, regexp.MustCompile(`\d[eE][+-]?\d`).FindAll(data, 1), "no exponents")
	}
}

func TestGeoJSONOfPaths(t *testing.T) {
	d := smallDocument(t, "metric")
	for _, f := range readGeoJSON(t, RowsGeoJSON(d)) {
		if f.Properties["name"] == "Pole" {
			assert.Equal(t, "Point", f.Geometry.Type)
			var p []float64
			require.NoError(t, json.Unmarshal(f.Geometry.Coordinates, &p))
			assert.Len(t, p, 2)
			return
		}
	}
	t.Fatal("no pole")
}

func TestGeoJSONNamesAreText(t *testing.T) {
	for _, text := range []string{hostile, `\u0022`, `"},{"x":"`, "مزرعة"} {
		d := spoiled(t, text)
		found := 0
		for _, f := range readGeoJSON(t, RowsGeoJSON(d)) {
			if f.Properties["name"] == clean(text) {
				found++
			}
		}
		assert.Equal(t, 4, found, "boundary, working area and two obstacles are called %q", text)
	}
}

func TestCutAtTheAntimeridian(t *testing.T) {
	for _, lon := range []float64{179.9995, -179.9995, 180, -180} {
		f := frameAt(t, lon, -17)
		s := scene{spec: specOf(10, 80)}
		s.field = geo.Field{Name: "Date Line", Frame: f, Blocks: []geo.Block{{Name: "Main", Outline: append(turned(box(-200, -100, 200, 100), 15), turned(orb.Polygon{reversed(box(40, -20, 90, 20)[0])}, 15)...)}}}
		d := s.document(t)
		cutRows := 0
		for _, feat := range readGeoJSON(t, RowsGeoJSON(d)) {
			for _, m := range regexp.MustCompile(`\[(-?[\d.]+),`).FindAllStringSubmatch(string(feat.Geometry.Coordinates), -1) {
				assert.LessOrEqual(t, math.Abs(asFloat(t, m[1])), 180.0)
			}
			switch feat.Properties["kind"] {
			case "boundary":
				polys := polygonsOf(t, feat)
				require.Len(t, polys, 2, "one on each side")
				var sum, whole float64
				for _, p := range polys {
					for _, r := range p {
						sum += degArea(r)
						for _, pos := range r {
							assert.Equal(t, p[0][0][0] > 0, pos[0] > 0, "a part does not jump")
						}
					}
				}
				for _, r := range d.Blocks[0].Outline.LonLat {
					whole += degArea(r)
				}
				assert.InEpsilon(t, whole, sum, 1e-6, "no ground is lost")
			case "row":
				if feat.Geometry.Type == "MultiLineString" {
					cutRows++
					var parts [][]result.Position
					require.NoError(t, json.Unmarshal(feat.Geometry.Coordinates, &parts))
					require.Len(t, parts, 2)
					a, b := parts[0][len(parts[0])-1], parts[1][0]
					assert.Equal(t, a[1], b[1], "the parts meet")
					assert.Equal(t, 180.0, math.Abs(a[0]))
					assert.Equal(t, -a[0], b[0])
				}
			}
		}
		assert.Greater(t, cutRows, 5)
	}
}

func asFloat(t testing.TB, s string) (v float64) {
	t.Helper()
	require.NoError(t, json.Unmarshal([]byte(s), &v))
	return v
}

// Cutting a comb keeps its ground, however often it crosses the meridian.
func TestCutPolygonKeepsArea(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(rt, "teeth")
		var east, west ring
		for i := range 2 * n {
			east = append(east, result.Position{180 + rapid.Float64Range(-1, 1).Draw(rt, "e"), float64(i)})
			west = append(ring{{177 + rapid.Float64Range(-1, 1.9).Draw(rt, "w"), float64(i)}}, west...)
		}
		r := append(east, west...)
		r = append(r, r[0])
		want := degArea(r)
		var got float64
		for _, p := range cutPolygon([]ring{r}) {
			for _, q := range p {
				got += degArea(q)
				for _, pos := range q {
					require.LessOrEqual(rt, math.Abs(pos[0]), 180.0)
				}
			}
		}
		require.InDelta(rt, want, got, 1e-9*float64(n))
	})
}

func TestWound(t *testing.T) {
	r := ring{{0, 0}, {1, 0}, {1, 1}, {0, 0}}
	assert.Equal(t, r, wound(r, true))
	assert.Negative(t, degArea(wound(r, false)))
	assert.True(t, strings.HasPrefix(coordinates(r), "[[0,0],[1,0]"))
}
