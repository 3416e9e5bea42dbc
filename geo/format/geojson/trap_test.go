package geojson_test

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/geojson"
)

// What field outlines come with that RFC 7946 does not foresee, and what the
// package does about each (common practice, no source).

const square = `[[[-18.4,47.2],[-18.399,47.2],[-18.399,47.201],[-18.4,47.201],[-18.4,47.2]]]`

func polygonJSON(coordinates string) string {
	return `{"type":"Polygon","coordinates":` + coordinates + `}`
}

func featureJSON(geometry string) string {
	return `{"type":"Feature","properties":{"name":"North"},"geometry":` + geometry + `}`
}

func collectionJSON(features ...string) string {
	return `{"type":"FeatureCollection","features":[` + strings.Join(features, ",") + `]}`
}

func read(in string) (format.File, error) {
	return geojson.Read("north.geojson", strings.NewReader(in))
}

// noteOf is the one note with the code.
func noteOf(t *testing.T, f format.File, code geo.Code) geo.Note {
	t.Helper()
	var found geo.Notes
	for _, n := range f.Notes {
		if n.Code == code {
			found = append(found, n)
		}
	}
	require.Len(t, found, 1, "notes %v", f.Notes)
	return found[0]
}

type refusal struct {
	name, in string
	want     []string // parts of message and hint; @x is the column of the last x
}

// columnOf is the column of the last needle, counted in bytes from 1.
func columnOf(in, needle string) string {
	at := strings.LastIndex(in, needle)
	return fmt.Sprintf("column %d: ", at-strings.LastIndex(in[:at], "\n"))
}

func checkRefusals(t *testing.T, cases []refusal) {
	t.Helper()
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, err := read(c.in)
			var e *geo.InputError
			require.ErrorAs(t, err, &e)
			assert.Equal(t, "north.geojson", e.File)
			for _, w := range c.want {
				if needle, ok := strings.CutPrefix(w, "@"); ok {
					w = columnOf(c.in, needle)
				}
				assert.Contains(t, e.Error()+" | "+e.Hint, w)
			}
		})
	}
}

// What only geo/polygon and geo/field can judge is handed on as it is: open
// rings, duplicates, crossings, swapped axes, metres, places at 0, 0, rings the
// wrong way round, jumps.
func TestTrapsLeftToOthersPassUnchanged(t *testing.T) {
	for name, ring := range map[string][]format.Coord{
		"open":      {{X: 1, Y: 2}, {X: 3, Y: 2}, {X: 3, Y: 4}},
		"short":     {{X: 1, Y: 2}, {X: 3, Y: 4}},
		"duplicate": {{X: 1, Y: 2}, {X: 1, Y: 2}, {X: 3, Y: 2}, {X: 3, Y: 4}, {X: 1, Y: 2}},
		"bow-tie":   {{X: 0, Y: 0}, {X: 2, Y: 2}, {X: 2, Y: 0}, {X: 0, Y: 2}, {X: 0, Y: 0}},
		"clockwise": {{X: 0, Y: 0}, {X: 0, Y: 2}, {X: 2, Y: 2}, {X: 0, Y: 0}},
		"metres":    {{X: 534243.1, Y: 5200000}, {X: 534343.1, Y: 5200000}, {X: 534343.1, Y: 5200100}, {X: 534243.1, Y: 5200000}},
		"jump":      {{X: 179.5, Y: 1}, {X: -179.5, Y: 1}, {X: -179.5, Y: 2}, {X: 179.5, Y: 1}},
	} {
		t.Run(name, func(t *testing.T) {
			var b strings.Builder
			for i, c := range ring {
				if i > 0 {
					b.WriteByte(',')
				}
				fmt.Fprintf(&b, "[%v,%v]", c.X, c.Y)
			}
			f, err := read(polygonJSON("[[" + b.String() + "]]"))
			require.NoError(t, err)
			assert.Empty(t, f.Notes)
			got := f.Features[0].Polygons[0][0]
			require.Len(t, got, len(ring))
			for i, c := range got {
				assert.InDelta(t, ring[i].X, c.X, 0)
				assert.InDelta(t, ring[i].Y, c.Y, 0)
				assert.False(t, c.HasZ())
			}
		})
	}
}

func TestCRSMember(t *testing.T) {
	withCRS := func(crs string) string {
		return `{"type":"FeatureCollection","crs":` + crs + `,"features":[` + featureJSON(polygonJSON(square)) + `]}`
	}
	for _, name := range []string{
		"urn:ogc:def:crs:OGC:1.3:CRS84", "urn:ogc:def:crs:OGC::CRS84", "EPSG:4326", "urn:ogc:def:crs:EPSG::4326",
		"EPSG:4979", "urn:ogc:def:crs:EPSG::4979", "urn:ogc:def:crs:EPSG:6.9:4326", "WGS84", "WGS 84", "OGC:CRS84",
		"http://www.opengis.net/def/crs/OGC/1.3/CRS84", "http://www.opengis.net/def/crs/EPSG/0/4326", "epsg:4326",
	} {
		t.Run(name, func(t *testing.T) {
			f, err := read(withCRS(`{"type":"name","properties":{"name":"` + name + `"}}`))
			require.NoError(t, err)
			assert.Equal(t, format.Reference{WGS84: true, Declared: name}, f.Reference)
			assert.Equal(t, geo.Info, noteOf(t, f, geo.NoteOldCRSMember).Severity)
		})
	}
	for name, crs := range map[string]string{
		"null": `null`, "code": `{"type":"EPSG","properties":{"code":4326}}`, "text": `"EPSG:4326"`,
	} {
		t.Run(name, func(t *testing.T) {
			f, err := read(withCRS(crs))
			require.NoError(t, err)
			assert.True(t, f.Reference.WGS84)
			noteOf(t, f, geo.NoteOldCRSMember)
		})
	}
	for name, in := range map[string]string{
		"behind the features": strings.Replace(collectionJSON(featureJSON(polygonJSON(square))), `]}`+"\n", ``, 1),
		"in the feature":      strings.Replace(featureJSON(polygonJSON(square)), `{`, `{"crs":null,`, 1),
		"in the geometry":     featureJSON(strings.Replace(polygonJSON(square), `{`, `{"crs":null,`, 1)),
		"bare geometry":       strings.Replace(polygonJSON(square), `{`, `{"crs":null,`, 1),
	} {
		t.Run(name, func(t *testing.T) {
			if name == "behind the features" {
				in = strings.TrimSuffix(in, "}") + `,"crs":null}`
			}
			f, err := read(in)
			require.NoError(t, err)
			noteOf(t, f, geo.NoteOldCRSMember)
		})
	}
	utm := `{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::32633"}}`
	for name, in := range map[string]string{
		"of a collection":     withCRS(utm),
		"by its code":         withCRS(`{"type":"EPSG","properties":{"code":32633}}`),
		"of a lone feature":   strings.Replace(featureJSON(polygonJSON(square)), `{`, `{"crs":`+utm+`,`, 1),
		"of an Esri JSON set": `{"spatialReference":{"wkid":32633},"features":[{"attributes":{},"geometry":{"paths":[[[1,2],[3,4]]]}}]}`,
	} {
		t.Run(name, func(t *testing.T) {
			f, err := read(in)
			require.NoError(t, err)
			assert.Equal(t, 32633, f.Reference.Code)
			assert.False(t, f.Reference.WGS84)
			assert.Contains(t, f.Reference.Declared, "32633", "the file's own words")
		})
	}
	f, err := read(withCRS(`"XYZ:1"`))
	require.Error(t, err)
	assert.Equal(t, format.Reference{Declared: "XYZ:1"}, f.Reference, "what is refused is still told")
	checkRefusals(t, []refusal{
		{"other words", withCRS(`"grid of the county"`), []string{"coordinates are in grid of the county", "ogr2ogr -t_srs EPSG:4326 out.geojson in.geojson"}},
		{"other system behind", strings.TrimSuffix(collectionJSON(featureJSON(polygonJSON(square))), "}") + `,"crs":` + utm + `}`, []string{"EPSG::32633"}},
		{"other system in a feature", collectionJSON(strings.Replace(featureJSON(polygonJSON(square)), `{`, `{"crs":`+utm+`,`, 1)), []string{"EPSG::32633"}},
		{"other system in a geometry", collectionJSON(featureJSON(strings.Replace(polygonJSON(square), `{`, `{"crs":`+utm+`,`, 1))), []string{"feature 1", "EPSG::32633"}},
		{"other authority", withCRS(`{"type":"name","properties":{"name":"urn:ogc:def:crs:XYZ::4326"}}`), []string{"XYZ"}},
		{"link", withCRS(`{"type":"link","properties":{"href":"http://localhost/crs/42","type":"proj4"}}`), []string{"only a link", "localhost/crs/42"}},
		{"no name", withCRS(`{"type":"name","properties":{}}`), []string{"names no coordinate system"}},
		{"a number", withCRS(`4326`), []string{`member "crs" is a number`}},
		{"twice", withCRS(`null,"crs":null`), []string{`"crs" stands twice`}},
	})
}

func TestNotTheFile(t *testing.T) {
	whole := collectionJSON(featureJSON(polygonJSON(square)), featureJSON(polygonJSON(square)))
	checkRefusals(t, []refusal{
		{"empty", "", []string{"the file is empty"}},
		{"only a byte order mark", "\uFEFF", []string{"nothing but blanks"}},
		{"blanks", " \r\n\t", []string{"nothing but blanks"}},
		{"pointer", "version https://git-lfs.github.com/spec/v1\noid sha256:0\nsize 1\n", []string{"pointer", "git lfs pull"}},
		{"page", "<!DOCTYPE html>\n<html><body>Sign in</body></html>", []string{"HTML page"}},
		{"page, capitals", "\n\n<HTML>", []string{"HTML page"}},
		{"cut in the second feature", whole[:300], []string{"file ends at byte 300 inside feature 2", "cut short"}},
		{"cut after a feature", whole[:len(whole)-2], []string{"after feature 2"}},
		{"cut in the head", `{"type":"FeatureColl`, []string{"file ends at byte 20 inside feature 1"}},
		{"cut lone feature", featureJSON(polygonJSON(square))[:80], []string{"file ends at byte 80 inside feature 1"}},
		{"cut line", featureJSON(polygonJSON(square)) + "\n" + featureJSON(polygonJSON(square))[:80], []string{"feature 2", "ends inside the feature", "north.geojson:2:"}},
	})
}

func TestNoGeometry(t *testing.T) {
	empties := []string{
		`null`, polygonJSON(`[]`), polygonJSON(`[[]]`), `{"type":"MultiPolygon","coordinates":[]}`,
		`{"type":"MultiPolygon","coordinates":[[[]]]}`, `{"type":"LineString","coordinates":[]}`,
		`{"type":"MultiLineString","coordinates":[[]]}`, `{"type":"Point","coordinates":[]}`,
		`{"type":"MultiPoint","coordinates":[]}`, `{"type":"GeometryCollection","geometries":[]}`,
	}
	for _, e := range empties {
		t.Run(e, func(t *testing.T) {
			f, err := read(collectionJSON(featureJSON(e), featureJSON(polygonJSON(square)), featureJSON(e)))
			require.NoError(t, err)
			require.Len(t, f.Features, 1)
			assert.Equal(t, 2, f.Features[0].Number, "numbers count what was left out")
			n := noteOf(t, f, geo.NoteFeatureLeft)
			assert.Equal(t, "north.geojson: features 1, 3", n.Place)
			assert.InDelta(t, 2, n.Value, 0)
			require.Len(t, f.Notes, 1)
		})
	}
	checkRefusals(t, []refusal{
		{"all", collectionJSON(featureJSON(`null`), featureJSON(polygonJSON(`[]`))), []string{"2 features, and none has a geometry"}},
		{"one", featureJSON(`null`), []string{"1 feature, and it has no geometry"}},
		{"no feature", collectionJSON(), []string{"the file holds no feature"}},
		{"empty outer ring", featureJSON(polygonJSON(`[[],[[1,2],[3,4],[1,2]]]`)), []string{"outer ring is empty but holes follow"}},
	})
	f, err := read(featureJSON(`{"type":"MultiPolygon","coordinates":[[],` + square + `]}`))
	require.NoError(t, err)
	require.Len(t, f.Features[0].Polygons, 1)
	noteOf(t, f, geo.NoteGeometryLeft)
	f, err = read(featureJSON(polygonJSON(strings.TrimSuffix(square, "]") + `,[]]`)))
	require.NoError(t, err)
	require.Len(t, f.Features[0].Polygons[0], 1)
	noteOf(t, f, geo.NoteGeometryLeft)
}

func TestHeights(t *testing.T) {
	nan := math.NaN()
	cases := []struct {
		name, points string
		heights      []float64
		notes        int // vertices in the note, 0 for no note
		severity     geo.Severity
	}{
		{"none", `[1,2],[3,4]`, []float64{nan, nan}, 0, 0},
		{"all", `[1,2,3.5],[3,4,-0.25]`, []float64{3.5, -0.25}, 0, 0},
		{"some 0", `[1,2,0],[3,4,2]`, []float64{0, 2}, 0, 0},
		{"all 0", `[1,2,0],[3,4,-0.0]`, []float64{nan, nan}, 2, geo.Info},
		{"mixed", `[1,2,7],[3,4],[5,6]`, []float64{7, nan, nan}, 2, geo.Caution},
		{"-9999", `[1,2,7],[3,4,-9999]`, []float64{7, nan}, 1, geo.Caution},
		{"-1e38", `[1,2,7],[3,4,-1.7e38]`, []float64{7, nan}, 1, geo.Caution},
		{"text NaN", `[1,2,7],[3,4,"NaN"]`, []float64{7, nan}, 1, geo.Caution},
		{"empty text", `[1,2,7],[3,4," "]`, []float64{7, nan}, 1, geo.Caution},
		{"null", `[1,2,7],[3,4,null]`, []float64{7, nan}, 1, geo.Caution},
		{"all -9999", `[1,2,-9999],[3,4,-9999]`, []float64{nan, nan}, 2, geo.Caution},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			f, err := read(`{"type":"LineString","coordinates":[` + c.points + `]}`)
			require.NoError(t, err)
			for i, want := range c.heights {
				got := f.Features[0].Lines[0][i].Z
				assert.True(t, got == want || math.IsNaN(got) && math.IsNaN(want), "vertex %d: %g", i+1, got)
			}
			if c.notes == 0 {
				assert.Empty(t, f.Notes)
				return
			}
			n := noteOf(t, f, geo.NoteHeightMissing)
			assert.InDelta(t, c.notes, n.Value, 0)
			assert.Equal(t, "vertices", n.Unit)
			assert.Equal(t, c.severity, n.Severity)
		})
	}
	f, err := read(`{"type":"LineString","coordinates":[[1,2,3,4],[5,6,7,8,"x"]]}`)
	require.NoError(t, err)
	assert.Equal(t, []format.Coord{{X: 1, Y: 2, Z: 3}, {X: 5, Y: 6, Z: 7}}, f.Features[0].Lines[0])
	assert.InDelta(t, 2, noteOf(t, f, geo.NoteExtraNumber).Value, 0)
	checkRefusals(t, []refusal{
		{"text", featureJSON(`{"type":"Point","coordinates":[1,2,"high"]}`), []string{`the height is the text "high"`}},
		{"list", featureJSON(`{"type":"Point","coordinates":[1,2,[3]]}`), []string{"the height is a list"}},
		{"true", featureJSON(`{"type":"Point","coordinates":[1,2,true]}`), []string{"the height is true"}},
		{"too large", featureJSON(`{"type":"LineString","coordinates":[[1,2,1e999]]}`), []string{"vertex 1: 1e999 is too large a number"}},
	})
}

func TestCollection(t *testing.T) {
	in := `{"type":"GeometryCollection","geometries":[
		{"type":"Point","coordinates":[1,2]},` + polygonJSON(square) + `,
		{"type":"LineString","coordinates":[[1,2],[3,4]]},
		{"type":"GeometryCollection","geometries":[{"type":"MultiPoint","coordinates":[[5,6],[7,8]]}]},
		{"type":"MultiLineString","coordinates":[[[1,2],[3,4]],[[5,6],[7,8]]]},
		{"type":"MultiPolygon","coordinates":[` + square + `,` + square + `]}]}`
	f, err := read(featureJSON(in))
	require.NoError(t, err)
	assert.Len(t, f.Features[0].Polygons, 3)
	assert.Len(t, f.Features[0].Lines, 3)
	assert.Len(t, f.Features[0].Points, 3)
	assert.Empty(t, f.Notes)
	checkRefusals(t, []refusal{
		{"third polygon", strings.Replace(in, square+`]}]}`, `[[[1,2],[null,4]]]]}]}`, 1), []string{"part 3", "vertex 2", "the longitude is null"}},
		{"no list", `{"type":"GeometryCollection"}`, []string{`without its list "geometries"`}},
		{"no list either", `{"type":"GeometryCollection","geometries":{}}`, []string{"an object, not a list"}},
		{"null inside", `{"type":"GeometryCollection","geometries":[7]}`, []string{"the geometry is a number, not an object"}},
	})
}

func TestTextNumbers(t *testing.T) {
	f, err := read(featureJSON(`{"type":"LineString","coordinates":[["15.45",46.95],[" 15.5 ","46,5"],["-1e1","4",  "7,5"]]}`))
	require.NoError(t, err)
	assert.Equal(t, []format.Coord{{X: 15.45, Y: 46.95, Z: math.NaN()}, {X: 15.5, Y: 46.5, Z: math.NaN()}, {X: -10, Y: 4, Z: 7.5}}[2], f.Features[0].Lines[0][2])
	assert.InDelta(t, 15.45, f.Features[0].Lines[0][0].X, 0)
	assert.InDelta(t, 46.5, f.Features[0].Lines[0][1].Y, 0)
	var counts []float64
	for _, n := range f.Notes {
		if n.Code == geo.NoteTextNumber {
			counts = append(counts, n.Value)
		}
	}
	assert.Equal(t, []float64{6, 2}, counts, "all, and those with a decimal comma")
	for _, text := range []string{`15.45E`, `15°27'`, ``, `1.234,5`, `1,2,3`, `0x1F`, `Inf`, `NaN`, `1 5`, `15.`, `1_000`} {
		_, err := read(featureJSON(`{"type":"MultiPolygon","coordinates":[[[[1,2],[3,4],["` + text + `",6]]]]}`))
		require.Error(t, err, text)
		assert.Contains(t, err.Error(), `feature 1 "North", part 1, vertex 3: the longitude is the text "`+text, text)
		assert.Contains(t, err.Error(), "no plain number")
	}
}

func TestMissingCoordinate(t *testing.T) {
	poly := func(position string) string { // third vertex of the second hole
		return featureJSON(polygonJSON(`[[[0,0],[9,0],[9,9],[0,0]],[[1,1],[2,1],[2,2],[1,1]],[[4,4],[5,4],` + position + `,[4,4]]]`))
	}
	where := `feature 1 "North", hole 2, vertex 3`
	checkRefusals(t, []refusal{
		{"null longitude", poly(`[null,5]`), []string{where, "the longitude is null"}},
		{"null latitude", poly(`[5,null]`), []string{where, "the latitude is null"}},
		{"one number", poly(`[5.5]`), []string{where, "1 number (5.5)"}},
		{"no number", poly(`[]`), []string{where, "a position without numbers"}},
		{"null position", poly(`null`), []string{where, "null stands where a list of numbers is expected"}},
		{"an object", poly(`{"x":5,"y":5}`), []string{where, "an object stands where a list"}},
		{"missing longitude", poly(`[,5]`), []string{where, "the longitude is missing"}},
		{"missing latitude", poly(`[5,]`), []string{where, "the latitude is missing"}},
		{"true", poly(`[true,5]`), []string{where, "the longitude is true"}},
		{"too shallow", featureJSON(polygonJSON(`[[1,2],[3,4]]`)), []string{`vertex 1`, "1 stands where a list is expected: a Polygon has 3 brackets around each position, this one 2"}},
		{"much too shallow", featureJSON(polygonJSON(`[1,2]`)), []string{"1 stands where a list is expected"}},
		{"too deep", featureJSON(polygonJSON(`[[[[1,2],[3,4]]]]`)), []string{"vertex 1", "a Polygon has 3 brackets around each position, this one more"}},
		{"line too deep", featureJSON(`{"type":"LineString","coordinates":[[[1,2],[3,4]]]}`), []string{"LineString has 2 brackets"}},
		{"coordinates null", featureJSON(`{"type":"Polygon","coordinates":null}`), []string{"null stands where a list"}},
		{"no coordinates", featureJSON(`{"type":"Polygon"}`), []string{"Polygon without coordinates"}},
		{"second part", featureJSON(`{"type":"MultiPolygon","coordinates":[` + square + `,[[[1,2],[3]]]]}`), []string{"part 2", "vertex 2"}},
		{"second line", featureJSON(`{"type":"MultiLineString","coordinates":[[[1,2],[3,4]],[[1,2],[3]]]}`), []string{"part 2", "vertex 2"}},
	})
}

func TestNotFinite(t *testing.T) {
	line := func(v string) string {
		return collectionJSON(featureJSON(polygonJSON(square)), "\n"+featureJSON(`{"type":"LineString","coordinates":[[1,2],[3,`+v+`]]}`))
	}
	for _, v := range []string{"NaN", "nan", "Infinity", "-Infinity", "-NaN", "inf"} {
		_, err := read(line(v))
		require.Error(t, err, v)
		assert.Contains(t, err.Error(), `north.geojson:2: feature 2 "North", vertex 2: `+columnOf(line(v), v)+v+" is no number in JSON", v)
	}
	checkRefusals(t, []refusal{
		{"overflow", line("1e999"), []string{"feature 2", "vertex 2", "1e999 is too large a number"}},
		{"overflow below", line("-1e400"), []string{"-1e400 is too large a number"}},
		{"plus", line("+5"), []string{"@+5", `"+5" is not expected here`}},
		{"leading zero", line("007"), []string{`"007" is not a number as JSON writes it`}},
		{"point first", line(".5"), []string{`".5" is not expected here`}},
		{"point last", line("5."), []string{`"5." is not a number`}},
		{"two points", line("1.2.3"), []string{`"1.2.3" is not a number`}},
		{"hex", line("0x10"), []string{`"0x10" is not a number`}},
		{"lone minus", line("-"), []string{`"-" is not a number`}},
		{"exponent without digits", line("1e"), []string{`"1e" is not a number`}},
	})
}

func TestTextOfOtherCodePages(t *testing.T) {
	f, err := read("{\"type\":\"Feature\",\"properties\":{\"name\":\"\x8Aed\xE1 mez\",\"note\":\"a\\tb\xE9\"},\"geometry\":" + polygonJSON(square) + "}")
	require.NoError(t, err)
	assert.Equal(t, "Šedá mez", f.Features[0].Name)
	assert.Equal(t, "a\tbé", f.Features[0].Properties["note"])
	assert.InDelta(t, 2, noteOf(t, f, geo.NoteRecoded).Value, 0)
}

func TestByteOrderMarks(t *testing.T) {
	in := `{"type":"Feature","properties":{"name":"Žluťoučký 🌳"},"geometry":` + polygonJSON(square) + `}`
	f, err := read("\xEF\xBB\xBF" + in)
	require.NoError(t, err)
	noteOf(t, f, geo.NoteByteMark)
	want := f.Features
	encode := func(in string, little bool) string {
		var b strings.Builder
		for _, u := range utf16.Encode([]rune(in)) {
			hi, lo := byte(u>>8), byte(u)
			if little {
				hi, lo = lo, hi
			}
			b.WriteByte(hi)
			b.WriteByte(lo)
		}
		return b.String()
	}
	for name, c := range map[string]struct {
		mark   string
		little bool
	}{"little": {"\uFEFF", true}, "big": {"\uFEFF", false}, "little, no mark": {"", true}, "big, no mark": {"", false}} {
		t.Run(name, func(t *testing.T) {
			f, err := read(encode(c.mark+in, c.little))
			require.NoError(t, err)
			noteOf(t, f, geo.NoteRecoded)
			require.Len(t, f.Features, 1)
			assert.Equal(t, "Žluťoučký 🌳", f.Features[0].Name)
			assert.Equal(t, len(want[0].Polygons[0][0]), len(f.Features[0].Polygons[0][0]))
		})
	}
	_, err = read("\xFF\xFE" + "{")
	require.Error(t, err, "half a character")
}

func TestOtherFormats(t *testing.T) {
	checkRefusals(t, []refusal{
		{"zip", "PK\x03\x04\x14\x00\x00\x00", []string{"zip archive", "unpack"}},
		{"gzip", "\x1F\x8B\x08\x00", []string{"compressed"}},
		{"GeoPackage", "SQLite format 3\x00\x10\x00", []string{"GeoPackage", "ogr2ogr -t_srs EPSG:4326 out.geojson in.gpkg"}},
		{"FlatGeobuf", "fgb\x03fgb\x00", []string{"FlatGeobuf", "ogr2ogr -t_srs EPSG:4326 out.geojson in.fgb"}},
		{"shapefile", "\x00\x00\x27\x0A\x00\x00\x00\x00", []string{"shapefile", "in.shp"}},
		{"Parquet", "PAR1\x15\x04", []string{"Parquet"}},
		{"TIFF", "II*\x00\x08\x00\x00\x00", []string{"TIFF"}},
		{"PDF", "%PDF-1.7", []string{"PDF"}},
		{"KML", `<?xml version="1.0"?><kml xmlns="http://www.opengis.net/kml/2.2">`, []string{"KML", "in.kml"}},
		{"KML with a mark", "\uFEFF<?xml version=\"1.0\"?>\n<kml>", []string{"KML"}},
		{"GPX", `<?xml version="1.0"?><gpx version="1.1">`, []string{"GPX", "in.gpx"}},
		{"task file", `<?xml version="1.0"?><ISO11783_TaskData>`, []string{"ISO 11783-10"}},
		{"GML", `<x xmlns:gml="http://www.opengis.net/gml">`, []string{"GML"}},
		{"XML", `<a/>`, []string{"XML"}},
		{"well-known text", `POLYGON ((1 2, 3 4, 5 6, 1 2))`, []string{"well-known text"}},
		{"noise", "\x00\x01\x02\x03", []string{"column 1: character '\\x00'"}},
	})
}

func TestLimits(t *testing.T) {
	deep := strings.Repeat("[", 200) + strings.Repeat("]", 200)
	collections := strings.Repeat(`{"type":"GeometryCollection","geometries":[`, 70) + strings.Repeat(`]}`, 70)
	checkRefusals(t, []refusal{
		{"coordinates", featureJSON(polygonJSON(deep)), []string{"nested more than 128 deep"}},
		{"properties", collectionJSON(`{"type":"Feature","properties":{"a":` + deep + `},"geometry":null}`), []string{"nested more than 128 deep"}},
		{"foreign member", `{"type":"FeatureCollection","x":` + deep + `,"features":[]}`, []string{"nested more than 128 deep"}},
		{"collections", featureJSON(collections), []string{"nested more than 128 deep"}},
		{"line by line", featureJSON(polygonJSON(square)) + "\n" + featureJSON(polygonJSON(deep)), []string{"nested more than 128 deep", "feature 2"}},
		{"open only", featureJSON(polygonJSON(strings.Repeat("[", 1<<20))), []string{"nested more than 128 deep"}},
	})
	long := func(size int) string {
		return featureJSON(polygonJSON(`[[` + strings.Repeat(`[1,2],`, size/len(`[1,2],`)) + `[1,2]]]`))
	}
	checkRefusals(t, []refusal{
		{"one feature", long(65 << 20), []string{"feature is longer than 64 MiB", "thin its vertices"}},
	})
	short := featureJSON(polygonJSON(square))
	for name, in := range map[string]string{
		"in a collection": collectionJSON(short, "\n"+long(2<<20), short), "one line": short + "\n" + long(2<<20) + "\n",
		"sequence": "\x1E" + short + "\n\x1E" + long(2<<20) + "\n",
	} {
		t.Run(name, func(t *testing.T) {
			s := geojson.NewLimitedStream("x", strings.NewReader(in), 1<<20)
			_, err := s.Next()
			require.NoError(t, err)
			raw, err := s.Next()
			if err == nil {
				_, _, err = s.Decode(raw)
				_, end := s.Next()
				assert.Equal(t, io.EOF, end, "what is too long is passed over")
			}
			require.Error(t, err)
			assert.Contains(t, err.Error(), "x:2: feature 2: ")
			assert.Contains(t, err.Error(), "feature is longer than 1 MiB")
		})
	}
}

type failing struct{ n int }

func (f *failing) Read(p []byte) (int, error) {
	if f.n == 0 {
		return 0, errDisk
	}
	n := copy(p, collectionJSON(featureJSON(polygonJSON(square)))[:f.n])
	f.n = 0
	return n, nil
}

var errDisk = errors.New("the disk is gone")

type silent struct{}

func (silent) Read([]byte) (int, error) { return 0, nil }

func TestReaderThatFails(t *testing.T) {
	for _, n := range []int{0, 1, 50, 100, 150} {
		_, err := geojson.Read("north.geojson", &failing{n})
		require.ErrorIs(t, err, errDisk, "%d", n)
		assert.Contains(t, err.Error(), "north.geojson")
	}
	_, err := geojson.Read("north.geojson", silent{})
	require.Error(t, err)
}
