package report

import (
	"encoding/json"
	"math"
	"regexp"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/cmd/hemrow/internal/result"
	"hemrow/geo"
	"hemrow/rows/contour"
)

type readFeature struct {
	Type       string         `json:"type"`
	Properties map[string]any `json:"properties"`
	Geometry   struct {
		Type        string          `json:"type"`
		Coordinates json.RawMessage `json:"coordinates"`
	} `json:"geometry"`
}

func readGeoJSON(t testing.TB, data []byte) []readFeature {
	t.Helper()
	var fc struct {
		Type     string          `json:"type"`
		CRS      json.RawMessage `json:"crs"`
		Features []readFeature   `json:"features"`
	}
	require.NoError(t, json.Unmarshal(data, &fc))
	assert.Equal(t, "FeatureCollection", fc.Type)
	assert.Nil(t, fc.CRS, "RFC 7946 section 4 has no crs member")
	return fc.Features
}

// polygonsOf are the polygons of a feature, checked by RFC 7946 section 3.1.6:
// closed rings of four or more, outer counter-clockwise, holes clockwise.
func polygonsOf(t testing.TB, f readFeature) [][][]result.Position {
	t.Helper()
	var polys [][][]result.Position
	switch f.Geometry.Type {
	case "Polygon":
		polys = make([][][]result.Position, 1)
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
func degArea(r []result.Position) (sum float64) {
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

// A ring around the pole has no inside in longitude and latitude.
func TestGeoJSONSaysWhatItCannotHold(t *testing.T) {
	d := smallDocument(t, "metric")
	d.Blocks[0].Outline.LonLat = [][]result.Position{{{0, 89}, {120, 89}, {240, 89}, {0, 89}}}
	list := readGeoJSON(t, RowsGeoJSON(d))
	assert.Equal(t, map[string]any{"kind": "boundary", "name": "Main", "fault": "polygon 1, ring 1: the ring runs around the earth"}, list[0].Properties)
	assert.Empty(t, list[0].Geometry.Type)
	assert.Equal(t, "working-area", list[1].Properties["kind"])
	assert.Equal(t, "Polygon", list[1].Geometry.Type, "the others stand")
}

// A straight row on terrain has vertices for its heights; two tell where it runs.
// A bent one keeps its bends.
func TestGeoJSONRowsAreStraight(t *testing.T) {
	at := func(x, y float64) result.Position { return result.Position{-18.4 + x/75700, 47.2 + y/111200, 200} }
	assert.Len(t, straightened([]result.Position{at(0, 0), at(10, 20), at(20, 40), at(35, 70)}), 2)
	bent := []result.Position{at(0, 0), at(10, 20), at(20, 40), at(40, 41), at(60, 42)}
	assert.Equal(t, []result.Position{bent[0], bent[2], bent[4]}, straightened(bent))
	var arc []result.Position
	for i := range 500 { // radius 100 m, a vertex every 20 cm
		arc = append(arc, at(100*math.Sin(float64(i)/500), 100*math.Cos(float64(i)/500)))
	}
	kept := straightened(arc)
	assert.Less(t, len(kept), 120, "chords of 1.2 m stray 1.8 mm")
	for i := 1; i < len(kept); i++ {
		for _, p := range arc {
			if p[0] > kept[i-1][0] && p[0] < kept[i][0] {
				assert.LessOrEqual(t, strayM(p, kept[i-1], kept[i]), geo.CurveChordM)
			}
		}
	}
}

// Longitudes may run on by a whole turn past 180.
func TestGeoJSONFoldsLongitudes(t *testing.T) {
	g := line([]result.Position{{539.5, 1, 7}, {539.75, 2}})
	assert.Equal(t, []geo.LonLat{{LonDeg: 179.5, LatDeg: 1}, {LonDeg: 179.75, LatDeg: 2}}, g.Lines[0].At)
	assert.Nil(t, g.Lines[0].HeightsM, "their level is the survey's, not the ellipsoid")
}

// Breaks and guides follow the rows, at their places.
func TestGeoJSONTellsBreaksAndGuides(t *testing.T) {
	d := bentDocument(t, "metric")
	list := readGeoJSON(t, RowsGeoJSON(d))
	var kinds []string
	for _, f := range list {
		kinds = append(kinds, f.Properties["kind"].(string))
	}
	assert.Equal(t, []string{"boundary", "working-area", "row", "row", "row", "row", "row", "row", "break", "break", "guide"}, kinds)
	frame := frameAt(t, -18.4, 47.2)
	local := func(p result.Position) orb.Point { return frame.ToLocal(geo.LonLat{LonDeg: p[0], LatDeg: p[1]}) }
	for i, want := range []struct {
		name  string
		at    orb.Point
		props map[string]any
	}{
		{"Lower Rise, break 1", orb.Point{0, 60}, map[string]any{"gap_m": 20.8, "asked_radius_m": 12.3}},
		{"Lower Rise, break 2", orb.Point{-75, 35}, map[string]any{"gap_m": 4.0, "asked_radius_m": nil}},
	} {
		f := list[8+i]
		want.props["kind"], want.props["name"], want.props["block"] = "break", want.name, "Lower Rise"
		assert.Equal(t, want.props, f.Properties)
		assert.Equal(t, "Point", f.Geometry.Type)
		var p result.Position
		require.NoError(t, json.Unmarshal(f.Geometry.Coordinates, &p))
		got := local(p)
		assert.InDelta(t, 0, math.Hypot(got[0]-want.at[0], got[1]-want.at[1]), 1e-3)
	}
	g := list[10]
	assert.Equal(t, map[string]any{
		"kind": "guide", "name": "Lower Rise, guide", "block": "Lower Rise", "spacing_m": 10.0, "first_pass": 0.0, "last_pass": 2.0,
		"positive_passes": "left of the guide", "worst_m": 0.05, "served_pct": 73.0, "whole": false, "text": d.Blocks[0].Curved.Repeat.Text,
	}, g.Properties)
	assert.Equal(t, "LineString", g.Geometry.Type)
	var line []result.Position
	require.NoError(t, json.Unmarshal(g.Geometry.Coordinates, &line))
	want := []orb.Point{{-60, -40}, {-60, 0}, {0, 60}, {60, 0}, {60, -40}}
	require.Len(t, line, len(want))
	for i := range line {
		got := local(line[i])
		assert.InDelta(t, 0, math.Hypot(got[0]-want[i][0], got[1]-want[i][1]), 1e-3, "the guide keeps its direction")
	}
	d.Blocks[0].Style = "straight"
	for _, f := range readGeoJSON(t, RowsGeoJSON(d)) {
		assert.NotContains(t, []any{"break", "guide"}, f.Properties["kind"], "straight rows have neither")
	}
	d.Blocks[0].Style, d.Blocks[0].Curved.Repeat = "contour", nil
	assert.Len(t, readGeoJSON(t, RowsGeoJSON(d)), 10)
	d.Blocks[0].Curved = nil
	assert.Len(t, readGeoJSON(t, RowsGeoJSON(d)), 8)
	for _, text := range []string{hostile, ""} {
		d := bentDocument(t, "metric")
		d.Blocks[0].Name, d.Blocks[0].Curved.Repeat.Text = text, text
		assert.NotContains(t, string(RowsGeoJSON(d)), "\u001b")
		assert.Len(t, readGeoJSON(t, RowsGeoJSON(d)), 11)
	}
}

// The planner's passes left of a guide are positive: on a guide to the north
// those with smaller eastings.
func TestPositivePassesLieLeftOfTheGuide(t *testing.T) {
	rowsAt := func(xs ...float64) (list []contour.Row) {
		for _, x := range xs {
			list = append(list, contour.Row{Line: orb.LineString{{x, -100}, {x, 100}}})
		}
		return list
	}
	list := rowsAt(-30, -20, -10, 0, 10)
	r := contour.Repeatability(list, []contour.Guide{{Curve: orb.LineString{{0, -150}, {0, 150}}}}, contour.Defaults(10), 20, 0.5)
	require.Equal(t, orb.LineString{{0, -150}, {0, 150}}, r.Guide, "to the north")
	assert.Equal(t, []int{-1, 3}, []int{r.First, r.Last})
}
