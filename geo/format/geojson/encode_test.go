package geojson_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/geojson"
)

func path(xy ...float64) (p geojson.Path) {
	for i := 0; i+1 < len(xy); i += 2 {
		p.At = append(p.At, geo.LonLat{LonDeg: xy[i], LatDeg: xy[i+1]})
	}
	return p
}

func geometryOf(t *testing.T, g geojson.OutGeometry) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, geojson.Write(&b, []geojson.OutFeature{{Geometry: g}}))
	_, rest, _ := strings.Cut(b.String(), `"geometry":`)
	return strings.TrimSuffix(rest, "}\n]}\n")
}

func TestWriteRightHandRule(t *testing.T) {
	outer, hole := path(0, 0, 4, 0, 4, 4, 0, 4), path(1, 1, 1, 2, 2, 2, 2, 1)
	want := `{"type":"Polygon","coordinates":[[[0,0],[4,0],[4,4],[0,4],[0,0]],[[1,1],[1,2],[2,2],[2,1],[1,1]]]}`
	turned := func(p geojson.Path) geojson.Path {
		q := geojson.Path{At: slices.Clone(p.At)}
		slices.Reverse(q.At[1:])
		return q
	}
	closed := func(p geojson.Path) geojson.Path {
		return geojson.Path{At: append(slices.Clone(p.At), p.At[0])}
	}
	for name, p := range map[string]geojson.OutPolygon{
		"as it is": {outer, hole}, "outer turned": {turned(outer), hole}, "hole turned": {outer, turned(hole)},
		"both turned": {turned(outer), turned(hole)}, "closed": {closed(outer), closed(turned(hole))},
	} {
		assert.Equal(t, want, geometryOf(t, geojson.OutGeometry{Polygons: []geojson.OutPolygon{p}}), name)
	}
}

func TestWriteKinds(t *testing.T) {
	square := geojson.OutPolygon{path(0, 0, 4, 0, 4, 4)}
	line := path(1, 2, 3, 4)
	line.HeightsM = []float64{math.NaN(), 12.34567}
	for _, c := range []struct {
		g    geojson.OutGeometry
		want string
	}{
		{geojson.OutGeometry{}, `null`},
		{geojson.OutGeometry{Points: path(1, 2)}, `{"type":"Point","coordinates":[1,2]}`},
		{geojson.OutGeometry{Points: path(1, 2, 183, -4)}, `{"type":"MultiPoint","coordinates":[[1,2],[-177,-4]]}`},
		{geojson.OutGeometry{Lines: []geojson.Path{line}}, `{"type":"LineString","coordinates":[[1,2],[3,4,12.346]]}`},
		{geojson.OutGeometry{Lines: []geojson.Path{line, line}}, `{"type":"MultiLineString","coordinates":[[[1,2],[3,4,12.346]],[[1,2],[3,4,12.346]]]}`},
		{geojson.OutGeometry{Polygons: []geojson.OutPolygon{square, square}}, `{"type":"MultiPolygon","coordinates":[[[[0,0],[4,0],[4,4],[0,0]]],[[[0,0],[4,0],[4,4],[0,0]]]]}`},
		{geojson.OutGeometry{Points: path(1, 2), Lines: []geojson.Path{line}, Polygons: []geojson.OutPolygon{square}}, `{"type":"GeometryCollection","geometries":[{"type":"Polygon","coordinates":[[[0,0],[4,0],[4,4],[0,0]]]},{"type":"LineString","coordinates":[[1,2],[3,4,12.346]]},{"type":"Point","coordinates":[1,2]}]}`},
	} {
		assert.Equal(t, c.want, geometryOf(t, c.g))
	}
}

// rings returns each ring of each polygon, begun at its least vertex, sorted.
func rings(t *testing.T, geometry string) (out []string) {
	t.Helper()
	f, err := read(geometry)
	require.NoError(t, err)
	for _, p := range f.Features[0].Polygons {
		for k, r := range p {
			require.Equal(t, r[0].X, r[len(r)-1].X)
			require.Equal(t, r[0].Y, r[len(r)-1].Y)
			r = r[:len(r)-1]
			least := 0
			for i, c := range r {
				if c.X < r[least].X || c.X == r[least].X && c.Y < r[least].Y {
					least = i
				}
			}
			s := fmt.Sprint(k > 0)
			for i := range r {
				c := r[(least+i)%len(r)]
				s += fmt.Sprintf(" %g,%g", c.X, c.Y)
			}
			out = append(out, s)
		}
	}
	slices.Sort(out)
	return out
}

// RFC 7946 section 3.1.9 (2016): the line from 45 N, 170 E to 45 N, 170 W and
// the polygon from 40 N to 50 N, 170 E to 170 W, with the geometry it gives.
func TestWriteAcrossTheAntimeridian(t *testing.T) {
	want := `{"type":"MultiLineString","coordinates":[[[170,45],[180,45]],[[-180,45],[-170,45]]]}`
	assert.Equal(t, want, geometryOf(t, geojson.OutGeometry{Lines: []geojson.Path{path(170, 45, -170, 45)}}))
	assert.Equal(t, want, geometryOf(t, geojson.OutGeometry{Lines: []geojson.Path{path(170, 45, 190, 45)}}), "unwrapped")
	assert.Equal(t, want, geometryOf(t, geojson.OutGeometry{Lines: []geojson.Path{path(-190, 45, -170, 45)}}), "unwrapped west")

	rfc := rings(t, `{"type":"MultiPolygon","coordinates":[[[[180,40],[180,50],[170,50],[170,40],[180,40]]],[[[-170,40],[-170,50],[-180,50],[-180,40],[-170,40]]]]}`)
	for name, r := range map[string]geojson.Path{
		"jumping": path(170, 40, -170, 40, -170, 50, 170, 50), "unwrapped east": path(170, 40, 190, 40, 190, 50, 170, 50),
		"unwrapped west": path(-190, 40, -170, 40, -170, 50, -190, 50), "turned": path(170, 50, -170, 50, -170, 40, 170, 40),
		"closed": path(-170, 40, -170, 50, 170, 50, 170, 40, -170, 40), "corners on the line": path(170, 40, 180, 40, -170, 40, -170, 50, -180, 50, 170, 50),
	} {
		got := rings(t, geometryOf(t, geojson.OutGeometry{Polygons: []geojson.OutPolygon{{r}}}))
		assert.Equal(t, rfc, got, name)
	}
}

// Expected shapes are drawn by hand on squared paper.
func TestCutShapes(t *testing.T) {
	lines := func(xy ...float64) string {
		return geometryOf(t, geojson.OutGeometry{Lines: []geojson.Path{path(xy...)}})
	}
	assert.Equal(t, `{"type":"LineString","coordinates":[[179,1],[180,2]]}`, lines(179, 1, 180, 2), "ends on it")
	assert.Equal(t, `{"type":"LineString","coordinates":[[-180,2],[-179,1]]}`, lines(180, 2, 181, 1), "begins on it")
	assert.Equal(t, `{"type":"LineString","coordinates":[[-179,1],[-178,2]]}`, lines(181, 1, 182, 2), "wholly beyond")
	assert.Equal(t, `{"type":"MultiLineString","coordinates":[[[179,0],[180,1]],[[-180,1],[-179,2],[-180,3]],[[180,3],[179,4]]]}`, lines(179, 0, -179, 2, 179, 4), "there and back")

	polygon := func(p ...geojson.Path) []string {
		return rings(t, geometryOf(t, geojson.OutGeometry{Polygons: []geojson.OutPolygon{p}}))
	}
	comb := path(170, 0, 190, 0, 190, 2, 175, 2, 175, 4, 190, 4, 190, 6, 170, 6)
	assert.Equal(t, []string{
		"false -180,0 -170,0 -170,2 -180,2", "false -180,4 -170,4 -170,6 -180,6",
		"false 170,0 180,0 180,2 175,2 175,4 180,4 180,6 170,6",
	}, polygon(comb), "two teeth beyond the line")
	outer := path(170, 0, 190, 0, 190, 9, 170, 9)
	assert.Equal(t, []string{
		"false -180,0 -170,0 -170,9 -180,9 -180,6 -178,6 -178,3 -180,3",
		"false 170,0 180,0 180,3 178,3 178,6 180,6 180,9 170,9",
	}, polygon(outer, path(178, 3, -178, 3, -178, 6, 178, 6)), "a hole on the line")
	assert.Equal(t, []string{
		"false -180,0 -170,0 -170,9 -180,9", "false 170,0 180,0 180,9 170,9", "true -176,3 -176,5 -175,5",
	}, polygon(outer, path(-176, 3, -175, 5, -176, 5)), "a hole beyond the line")

	up := path(179, 0, 181, 2)
	up.HeightsM = []float64{10, 30}
	assert.Equal(t, `{"type":"MultiLineString","coordinates":[[[179,0,10],[180,1,20]],[[-180,1,20],[-179,2,30]]]}`,
		geometryOf(t, geojson.OutGeometry{Lines: []geojson.Path{up}}))
}

// Cutting a comb keeps its ground, however often it crosses the meridian.
func TestCutKeepsArea(t *testing.T) {
	twiceArea := func(r format.Ring) (sum float64) {
		for i := 1; i < len(r); i++ {
			sum += (r[i-1].X-r[0].X)*(r[i].Y-r[0].Y) - (r[i].X-r[0].X)*(r[i-1].Y-r[0].Y)
		}
		return sum
	}
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(rt, "teeth")
		var east, west []geo.LonLat
		for i := range 2 * n {
			east = append(east, geo.LonLat{LonDeg: 180 + rapid.Float64Range(-1, 1).Draw(rt, "e"), LatDeg: float64(i)})
			west = append([]geo.LonLat{{LonDeg: 177 + rapid.Float64Range(-1, 1.9).Draw(rt, "w"), LatDeg: float64(i)}}, west...)
		}
		comb := geojson.Path{At: append(east, west...)}
		var whole format.Ring
		for _, at := range append(comb.At, comb.At[0]) {
			whole = append(whole, format.Coord{X: at.LonDeg, Y: at.LatDeg})
		}
		f, err := read(geometryOf(t, geojson.OutGeometry{Polygons: []geojson.OutPolygon{{comb}}}))
		require.NoError(rt, err)
		var got float64
		for _, p := range f.Features[0].Polygons {
			for _, r := range p {
				got += twiceArea(r)
				for _, c := range r {
					require.LessOrEqual(rt, math.Abs(c.X), 180.0)
				}
			}
		}
		// nine decimals move a side of up to 12 degrees by 0.5e-9, at most 80 sides
		require.InDelta(rt, twiceArea(whole), got, 1e-6)
	})
}

func TestWriteRefuses(t *testing.T) {
	short := path(1, 2, 3, 4)
	short.HeightsM = []float64{1}
	high := path(1, 2, 3, 4)
	high.HeightsM = []float64{1, math.Inf(1)}
	for name, f := range map[string]geojson.OutFeature{
		"NaN":            {Geometry: geojson.OutGeometry{Lines: []geojson.Path{path(1, 2, math.NaN(), 4)}}},
		"infinite":       {Geometry: geojson.OutGeometry{Points: path(math.Inf(1), 2)}},
		"beyond a pole":  {Geometry: geojson.OutGeometry{Points: path(1, 91)}},
		"metres":         {Geometry: geojson.OutGeometry{Points: path(534243, 5200000)}},
		"two corners":    {Geometry: geojson.OutGeometry{Polygons: []geojson.OutPolygon{{path(1, 2, 3, 4, 1, 2)}}}},
		"round a pole":   {Geometry: geojson.OutGeometry{Polygons: []geojson.OutPolygon{{path(0, 80, 120, 80, -120, 80)}}}},
		"no ring":        {Geometry: geojson.OutGeometry{Polygons: []geojson.OutPolygon{{}}}},
		"one point":      {Geometry: geojson.OutGeometry{Lines: []geojson.Path{path(1, 2)}}},
		"heights":        {Geometry: geojson.OutGeometry{Lines: []geojson.Path{short}}},
		"height":         {Geometry: geojson.OutGeometry{Lines: []geojson.Path{high}}},
		"property NaN":   {Properties: []geojson.Property{{Key: "a", Value: math.NaN()}}},
		"property chan":  {Properties: []geojson.Property{{Key: "a", Value: make(chan int)}}},
		"property depth": {Properties: []geojson.Property{{Key: "a", Value: []any{math.Inf(1)}}}},
	} {
		t.Run(name, func(t *testing.T) {
			var b bytes.Buffer
			require.Error(t, geojson.Write(&b, []geojson.OutFeature{{}, f}))
			assert.Zero(t, b.Len(), "nothing is written")
			line := geojson.AppendFeature(nil, f)
			assert.True(t, json.Valid(line), "%s", line)
		})
	}
	require.ErrorIs(t, geojson.Write(full{}, []geojson.OutFeature{feature26(1)}), errFull)
	require.ErrorIs(t, geojson.Write(full{}, make([]geojson.OutFeature, 5000)), errFull)
}

type full struct{}

var errFull = errors.New("the disk is full")

func (full) Write([]byte) (int, error) { return 0, errFull }

func TestWriteTextAndValues(t *testing.T) {
	f := geojson.OutFeature{ID: "a\"b", Properties: []geojson.Property{
		{Key: "z\\", Value: "tab\t line\n quote\" \x01\x7F <b> \u2028 é 🌳 \xff"},
		{Key: "a", Value: 5},
		{Key: "b", Value: 2.5},
		{Key: "c", Value: nil},
		{Key: "d", Value: true},
		{Key: "e", Value: json.Number("12345678901234567")},
		{Key: "f", Value: math.Copysign(0, -1)},
		{Key: "g", Value: []any{"<", 1, nil}},
		{Key: "h", Value: int64(7)},
	}}
	line := geojson.AppendFeature(nil, f)
	require.True(t, json.Valid(line))
	assert.Equal(t, `{"type":"Feature","id":"a\"b","properties":{"z\\":"tab\t line\n quote\" \u0001\u007f <b> `+"\u2028"+` é 🌳 `+"\uFFFD"+
		`","a":5,"b":2.5,"c":null,"d":true,"e":12345678901234567,"f":0,"g":["<",1,null],"h":7},"geometry":null}`, string(line))
	var back struct {
		Properties map[string]any `json:"properties"`
	}
	require.NoError(t, json.Unmarshal(line, &back))
	assert.Equal(t, "tab\t line\n quote\" \x01\x7F <b> \u2028 é 🌳 \uFFFD", back.Properties["z\\"])
}

// What is written is read back the same to half a unit of the last decimal.
func TestWriteThenRead(t *testing.T) {
	coordinate := rapid.Custom(func(t *rapid.T) geo.LonLat {
		return geo.LonLat{LonDeg: rapid.Float64Range(-180, 180).Draw(t, "lon"), LatDeg: rapid.Float64Range(-90, 90).Draw(t, "lat")}
	})
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.SliceOfN(coordinate, 2, 30).Draw(t, "line")
		for i := 1; i < len(at); i++ { // no step across the antimeridian
			at[i].LonDeg = math.Max(at[i-1].LonDeg-179, math.Min(at[i-1].LonDeg+179, at[i].LonDeg))
		}
		heights := rapid.SliceOfN(rapid.Float64Range(1, 9000), len(at), len(at)).Draw(t, "heights")
		in := geojson.OutFeature{ID: "r", Geometry: geojson.OutGeometry{Lines: []geojson.Path{{At: at, HeightsM: heights}}}}
		f, err := geojson.Read("x", bytes.NewReader(geojson.AppendFeature(nil, in)))
		require.NoError(t, err)
		line := f.Features[0].Lines[0]
		require.Len(t, line, len(at))
		for i, c := range line {
			assert.InDelta(t, at[i].LonDeg, c.X, 0.5001e-9)
			assert.InDelta(t, at[i].LatDeg, c.Y, 0.5001e-9)
			assert.InDelta(t, heights[i], c.Z, 0.5001e-3)
		}
	})
}

// outFeature turns what was read into what can be written.
func outFeature(f format.Feature) geojson.OutFeature {
	one := func(cs []format.Coord) (p geojson.Path) {
		for _, c := range cs {
			p.At = append(p.At, geo.LonLat{LonDeg: c.X, LatDeg: c.Y})
			p.HeightsM = append(p.HeightsM, c.Z)
		}
		return p
	}
	out := geojson.OutFeature{ID: f.ID}
	for _, p := range f.Polygons {
		var q geojson.OutPolygon
		for _, r := range p {
			q = append(q, one(r))
		}
		out.Geometry.Polygons = append(out.Geometry.Polygons, q)
	}
	for _, l := range f.Lines {
		out.Geometry.Lines = append(out.Geometry.Lines, one(l))
	}
	out.Geometry.Points = one(f.Points)
	for k, v := range f.Properties {
		out.Properties = append(out.Properties, geojson.Property{Key: k, Value: v})
	}
	slices.SortFunc(out.Properties, func(a, b geojson.Property) int { return strings.Compare(a.Key, b.Key) })
	return out
}

func ExampleWrite() {
	row := geojson.OutFeature{
		Geometry: geojson.OutGeometry{Lines: []geojson.Path{{
			At:       []geo.LonLat{{LonDeg: -18.4, LatDeg: 47.2}, {LonDeg: -18.3985, LatDeg: 47.2012345678}},
			HeightsM: []float64{211.5, 209.25},
		}}},
		Properties: []geojson.Property{{Key: "name", Value: "Row 1"}, {Key: "row", Value: 1}},
	}
	if err := geojson.Write(os.Stdout, []geojson.OutFeature{row}); err != nil {
		fmt.Println(err)
	}
	// Output:
	// {"type":"FeatureCollection","features":[
	// {"type":"Feature","properties":{"name":"Row 1","row":1},"geometry":{"type":"LineString","coordinates":[[-18.4,47.2,211.5],[-18.3985,47.201234568,209.25]]}}
	// ]}
}

func ExampleRead() {
	file := `{"type": "FeatureCollection", "features": [
  {"type": "Feature", "properties": {"name": "Kestrel Rise"}, "geometry":
    {"type": "Polygon", "coordinates": [[[-18.4, 47.2, 211], [-18.39, 47.2], [-18.39, "47.21"], [-18.4, 47.2, 211]]]}}
]}`
	f, err := geojson.Read("rise.geojson", strings.NewReader(file))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, feature := range f.Features {
		fmt.Println(feature.Name, feature.Polygons[0][0][0])
	}
	for _, n := range f.Notes {
		fmt.Println(n)
	}
	_, err = geojson.Read("rise.geojson", strings.NewReader(strings.Replace(file, `"47.21"`, `null`, 1)))
	fmt.Println(err)
	// Output:
	// Kestrel Rise {-18.4 47.2 211}
	// caution: rise.geojson: feature 1: 2 vertices have no height (missing, -9999, beyond 1e30 or not a number) where one is expected
	// info: rise.geojson: feature 1: 1 coordinate was written as text and was read as a number
	// rise.geojson:3: feature 1 "Kestrel Rise", vertex 3: the latitude is null
}

func ExampleStream() {
	lines := `{"type":"Feature","properties":{"name":"North"},"geometry":{"type":"Point","coordinates":[-18.4,47.2]}}
{"type":"Feature","properties":{"name":"broken
{"type":"Feature","properties":{"name":"South"},"geometry":{"type":"Point","coordinates":[-18.4,47.1]}}
`
	s := geojson.NewStream("fields.ndjson", strings.NewReader(lines))
	for {
		raw, err := s.Next()
		if err != nil {
			fmt.Println(err)
			break
		}
		f, _, err := s.Decode(raw)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Println(f.Number, f.Name, f.Points)
	}
	// Output:
	// 1 North [{-18.4 47.2 NaN}]
	// fields.ndjson:2: feature 2: column 47: the record ends inside the feature
	// 3 South [{-18.4 47.1 NaN}]
	// EOF
}

// An id that was a number is written as one; text that only says so is not.
func TestIDKeepsItsKind(t *testing.T) {
	for id, want := range map[string]string{"77": `"id":77,`, "-1.5e3": `"id":-1.5e3,`, "07": `"id":"07",`, "true": `"id":"true",`, `"`: `"id":"\"",`} {
		assert.Contains(t, string(geojson.AppendFeature(nil, geojson.OutFeature{ID: id, IDNumber: true})), want)
	}
	assert.Contains(t, string(geojson.AppendFeature(nil, geojson.OutFeature{ID: "77"})), `"id":"77",`)
}
