package shapefile_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/shapefile"
)

var update = flag.Bool("update", false, "write the golden files anew")

var day = time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)

func path(lonLat ...float64) (p shapefile.Path) {
	for i := 0; i < len(lonLat); i += 2 {
		p.At = append(p.At, geo.LonLat{LonDeg: lonLat[i], LatDeg: lonLat[i+1]})
	}
	return p
}

// sampleLayer is two blocks of Kestrel Rise, one with a pond, rings given the
// wrong way round and open.
func sampleLayer() shapefile.Layer {
	return shapefile.Layer{
		Name: "blocks", Kind: shapefile.Polygons, Date: day,
		Fields: []shapefile.Field{
			{Name: "NAME", Type: shapefile.TextField, Width: 12},
			{Name: "AREA_HA", Type: shapefile.NumberField, Width: 10, Decimals: 4},
			{Name: "ROWS", Type: shapefile.NumberField, Width: 6},
			{Name: "PLANTED", Type: shapefile.DateField},
			{Name: "IRRIGATED", Type: shapefile.FlagField},
		},
		Records: []shapefile.Record{
			{
				Polygons: [][]shapefile.Path{{
					path(-18.4, 47.2, -18.399, 47.2, -18.399, 47.201, -18.4, 47.201),
					path(-18.3996, 47.2004, -18.3996, 47.2006, -18.3994, 47.2006, -18.3994, 47.2004, -18.3996, 47.2004),
				}},
				Values: []any{"Häselkamm und mehr", 0.8384, 12, day, true},
			},
			{
				Polygons: [][]shapefile.Path{{path(-18.39, 47.2, -18.389, 47.2, -18.389, 47.201, -18.39, 47.2)}, {path(-18.38, 47.2, -18.379, 47.2, -18.379, 47.201)}},
				Values:   []any{nil, json.Number("-1.5"), int64(-3), nil, false},
			},
			{Values: []any{"no shape", nil, nil, nil, nil}},
		},
	}
}

func write(t testing.TB, l shapefile.Layer) files {
	t.Helper()
	set, err := shapefile.WriteSet(l)
	require.NoError(t, err)
	f := files{}
	for i, m := range set {
		assert.Equal(t, []string{".shp", ".shx", ".dbf", ".prj", ".cpg"}[i], filepath.Ext(m.Name))
		f[m.Name] = m.Data
	}
	return f
}

func TestGolden(t *testing.T) {
	for name, data := range write(t, sampleLayer()) {
		file := filepath.Join("testdata/golden", name)
		if *update {
			require.NoError(t, os.MkdirAll("testdata/golden", 0o755))
			require.NoError(t, os.WriteFile(file, data, 0o644))
		}
		want, err := os.ReadFile(file)
		require.NoError(t, err)
		assert.True(t, bytes.Equal(want, data), "%s differs from the golden file", name)
	}
}

// What is written is what GDAL reads: shapes, directions, values, heights.
// Outside value: ogr2ogr and ogrinfo (GDAL, Debian gdal-bin).
func TestWrittenEqualsGDAL(t *testing.T) {
	dir := folder(t, write(t, sampleLayer()))
	got := ogr(t, filepath.Join(dir, "blocks.shp"))
	require.Len(t, got, 3)
	assert.JSONEq(t, `[[[-18.4,47.2],[-18.4,47.201],[-18.399,47.201],[-18.399,47.2],[-18.4,47.2]],
		[[-18.3996,47.2004],[-18.3994,47.2004],[-18.3994,47.2006],[-18.3996,47.2006],[-18.3996,47.2004]]]`,
		string(got[0].Geometry.Coordinates), "outer ring clockwise, hole counter-clockwise")
	assert.Equal(t, "MultiPolygon", got[1].Geometry.Type)
	assert.Nil(t, got[2].Geometry)
	assert.Equal(t, map[string]any{
		"NAME": "Häselkamm u", "AREA_HA": json.Number("0.8384"), "ROWS": json.Number("12"), "PLANTED": "2026/11/25", "IRRIGATED": true,
	}, settled(got[0].Properties))
	assert.Equal(t, map[string]any{"NAME": nil, "AREA_HA": json.Number("-1.5"), "ROWS": json.Number("-3"), "PLANTED": nil, "IRRIGATED": false}, settled(got[1].Properties))

	info, err := exec.Command("ogrinfo", "-al", "-so", filepath.Join(dir, "blocks.shp")).CombinedOutput()
	require.NoError(t, err, "%s; Debian has ogrinfo in gdal-bin", info)
	for _, want := range []string{
		"Geometry: Polygon\n", "Feature Count: 3\n", "Extent: (-18.400000, 47.200000) - (-18.379000, 47.201000)",
		`"WGS 84"`, "DBF_DATE_LAST_UPDATE=2026-11-25",
		"NAME: String (12.0)", "AREA_HA: Real (10.4)", "ROWS: Integer (6.0)", "PLANTED: Date",
	} {
		assert.Contains(t, string(info), want)
	}
	assert.NotContains(t, string(info), "Warning")
}

// settled writes dates and flags in one way, and null for what is absent; GDAL
// has changed its own ways between releases.
func settled(p map[string]any) map[string]any {
	if s, ok := p["PLANTED"].(string); ok {
		p["PLANTED"] = strings.ReplaceAll(s, "-", "/")
	} else {
		p["PLANTED"] = nil
	}
	if s, ok := p["IRRIGATED"].(string); ok {
		p["IRRIGATED"] = map[string]bool{"T": true, "F": false}[s]
	}
	return p
}

func TestWrittenLinesAndPointsEqualGDAL(t *testing.T) {
	line := path(10, 50, 10.001, 50.0005)
	line.HeightsM = []float64{412.3456, 420}
	spot := path(10, 50)
	spot.HeightsM = []float64{412.5}
	for name, c := range map[string]struct {
		layer     shapefile.Layer
		kind, box string
		want      string
	}{
		"lines": {
			shapefile.Layer{Kind: shapefile.Lines, Records: []shapefile.Record{{Lines: []shapefile.Path{line}}}},
			"Line String", "", `[[10,50],[10.001,50.0005]]`,
		},
		"lines with heights": {
			shapefile.Layer{Kind: shapefile.Lines, Heights: true, Records: []shapefile.Record{{Lines: []shapefile.Path{line}}}},
			"3D Line String", "", `[[10,50,412.346],[10.001,50.0005,420]]`,
		},
		"line of two parts": {
			shapefile.Layer{Kind: shapefile.Lines, Records: []shapefile.Record{{Lines: []shapefile.Path{line, path(11, 50, 11, 51)}}}},
			"Line String", "", `[[[10,50],[10.001,50.0005]],[[11,50],[11,51]]]`,
		},
		"points": {
			shapefile.Layer{Kind: shapefile.Points, Records: []shapefile.Record{{Point: spot}}},
			"Point", "", `[10,50]`,
		},
		"points with heights": {
			shapefile.Layer{Kind: shapefile.Points, Heights: true, Records: []shapefile.Record{{Point: spot}}},
			"3D Point", "", `[10,50,412.5]`,
		},
	} {
		t.Run(name, func(t *testing.T) {
			c.layer.Name, c.layer.Date = "x", day
			dir := folder(t, write(t, c.layer))
			got := ogr(t, dir+"/x.shp")
			require.Len(t, got, 1)
			assert.JSONEq(t, c.want, string(got[0].Geometry.Coordinates))
			info, err := exec.Command("ogrinfo", "-al", "-so", dir+"/x.shp").CombinedOutput()
			require.NoError(t, err)
			assert.Contains(t, string(info), "Geometry: "+c.kind+"\n")
			if c.layer.Heights {
				header := write(t, c.layer)["x.shp"][68:84]
				assert.Equal(t, map[string][]byte{
					"lines with heights":  doubles(412.346, 420),
					"points with heights": doubles(412.5, 412.5),
				}[name], header, "range of heights in the header")
			}
			back := mustRead(t, write(t, c.layer), "x.shp")
			assert.Empty(t, back.Notes)
		})
	}
}

// The files fit together (ESRI Shapefile Technical Description, 1998): lengths
// in 16-bit words, offsets of the index, sizes of the table, the .prj.
func TestWrittenStructure(t *testing.T) {
	f := write(t, sampleLayer())
	shp, shx, dbf := f["blocks.shp"], f["blocks.shx"], f["blocks.dbf"]
	assert.Equal(t, be32(len(shp)/2), shp[24:28])
	assert.Equal(t, be32(len(shx)/2), shx[24:28])
	at := 100
	for i := range 3 {
		assert.Equal(t, be32(at/2), shx[100+8*i:104+8*i])
		assert.Equal(t, be32(i+1), shp[at:at+4])
		assert.Equal(t, shp[at+4:at+8], shx[104+8*i:108+8*i])
		at += 8 + 2*(int(shp[at+6])<<8+int(shp[at+7]))
	}
	assert.Equal(t, len(shp), at)
	assert.Equal(t, []byte{3, 126, 11, 25, 3, 0, 0, 0, 193, 0, 38, 0}, dbf[:12])
	assert.Len(t, dbf, 193+3*38+1)
	assert.Equal(t, wgs84, string(f["blocks.prj"]))
	assert.Equal(t, "UTF-8", string(f["blocks.cpg"]))
}

func TestFieldNamesAreCutApart(t *testing.T) {
	var l shapefile.Layer
	l.Name, l.Date = "x", day
	for _, n := range []string{"row_length_plan", "row_length_ground", "ROW_LENGTH", "", "", "two words", "größtes_Feld"} {
		l.Fields = append(l.Fields, shapefile.Field{Name: n, Type: shapefile.FlagField})
	}
	l.Records = []shapefile.Record{{Point: path(1, 2), Values: make([]any, len(l.Fields))}}
	got := mustRead(t, write(t, l), "x.shp").Features[0].Properties
	for _, want := range []string{"row_length", "row_leng_1", "ROW_LENG_2", "FIELD", "FIELD_1", "two_words", "größtes_"} {
		assert.Contains(t, got, want)
	}
	assert.Len(t, got, len(l.Fields))
}

func TestRefusedToWrite(t *testing.T) {
	number := []shapefile.Field{{Name: "N", Type: shapefile.NumberField, Width: 4, Decimals: 1}}
	flag := []shapefile.Field{{Name: "N", Type: shapefile.FlagField}}
	at := path(1, 2)
	for name, c := range map[string]struct {
		l    shapefile.Layer
		want string
	}{
		"no name":           {shapefile.Layer{}, "needs a name"},
		"path as name":      {shapefile.Layer{Name: "a/b"}, "cannot be the name"},
		"no date":           {shapefile.Layer{Name: "a"}, "must be between 1900"},
		"too wide":          {shapefile.Layer{Name: "a", Fields: number, Records: []shapefile.Record{{Point: at, Values: []any{123.4}}}}, `record 1: field "N": 123.4 needs 5 characters, the field has 4`},
		"NaN":               {shapefile.Layer{Name: "a", Fields: number, Records: []shapefile.Record{{Point: at, Values: []any{math.NaN()}}}}, "NaN cannot be written"},
		"text in a number":  {shapefile.Layer{Name: "a", Fields: number, Records: []shapefile.Record{{Point: at, Values: []any{"x"}}}}, "string x cannot be written"},
		"number in a flag":  {shapefile.Layer{Name: "a", Fields: flag, Records: []shapefile.Record{{Point: at, Values: []any{1}}}}, "1 cannot be written"},
		"values missing":    {shapefile.Layer{Name: "a", Fields: flag, Records: []shapefile.Record{{Point: at}}}, "0 values for 1 fields"},
		"width":             {shapefile.Layer{Name: "a", Fields: []shapefile.Field{{Name: "N", Type: shapefile.TextField, Width: 300}}}, "width 300"},
		"too many fields":   {shapefile.Layer{Name: "a", Fields: bigFields()}, "at most 128"},
		"two points":        {shapefile.Layer{Name: "a", Records: []shapefile.Record{{Point: path(1, 2, 3, 4)}}}, "2 places, where a point has one"},
		"off the earth":     {shapefile.Layer{Name: "a", Records: []shapefile.Record{{Point: path(1, 95)}}}, "1, 95 is no longitude and latitude"},
		"not finite":        {shapefile.Layer{Name: "a", Records: []shapefile.Record{{Point: path(math.NaN(), 5)}}}, "NaN, 5 is no longitude"},
		"line of one place": {shapefile.Layer{Name: "a", Kind: shapefile.Lines, Records: []shapefile.Record{{Lines: []shapefile.Path{at}}}}, "1 place, where 2 are needed"},
		"ring of two":       {shapefile.Layer{Name: "a", Kind: shapefile.Polygons, Records: []shapefile.Record{{Polygons: [][]shapefile.Path{{path(1, 2, 3, 4)}}}}}, "part 1, ring 1: 2 places, where 3"},
		"height missing":    {shapefile.Layer{Name: "a", Heights: true, Records: []shapefile.Record{{Point: at}}}, "0 heights for 1 place"},
		"height NaN":        {shapefile.Layer{Name: "a", Heights: true, Records: []shapefile.Record{{Point: shapefile.Path{At: at.At, HeightsM: []float64{math.NaN()}}}}}, "vertex 1 has no height"},
		"kind":              {shapefile.Layer{Name: "a", Kind: 9, Records: []shapefile.Record{{Point: at}}}, "kind 9"},
	} {
		t.Run(name, func(t *testing.T) {
			if name != "no date" {
				c.l.Date = day
			}
			set, err := shapefile.WriteSet(c.l)
			require.ErrorContains(t, err, c.want)
			assert.Nil(t, set)
		})
	}
}

func bigFields() (out []shapefile.Field) {
	for range 129 {
		out = append(out, shapefile.Field{Name: "f", Type: shapefile.FlagField})
	}
	return out
}

func TestPackIsDeterministic(t *testing.T) {
	set, err := shapefile.WriteSet(sampleLayer())
	require.NoError(t, err)
	var one, two bytes.Buffer
	require.NoError(t, shapefile.Pack(&one, set, day))
	require.NoError(t, shapefile.Pack(&two, set, day))
	assert.Equal(t, one.Bytes(), two.Bytes())
	got := mustRead(t, files{"all.zip": one.Bytes()}, "all.zip")
	require.Len(t, got.Features, 2)
	assert.Equal(t, "Häselkamm u", got.Features[0].Name)
}

// drawPath draws places on a grid of 1e-9 degrees, with heights in
// millimetres.
func drawPath(t *rapid.T, least int, heights bool) (p shapefile.Path) {
	for range rapid.IntRange(least, 8).Draw(t, "vertices") {
		p.At = append(p.At, geo.LonLat{
			LonDeg: float64(rapid.IntRange(-180e9, 180e9).Draw(t, "lon")) / 1e9,
			LatDeg: float64(rapid.IntRange(-90e9, 90e9).Draw(t, "lat")) / 1e9,
		})
		if heights {
			p.HeightsM = append(p.HeightsM, float64(rapid.IntRange(1, 9e6).Draw(t, "height"))/1e3)
		}
	}
	return p
}

// What is written is read again: every place, height and value.
func TestWrittenIsReadAgain(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		l := shapefile.Layer{
			Name: "x", Date: day, Kind: shapefile.Kind(rapid.IntRange(0, 2).Draw(rt, "kind")), Heights: rapid.Bool().Draw(rt, "heights"),
			Fields: []shapefile.Field{
				{Name: "T", Type: shapefile.TextField, Width: 40},
				{Name: "I", Type: shapefile.NumberField, Width: 18},
				{Name: "L", Type: shapefile.FlagField},
			},
		}
		for range rapid.IntRange(1, 5).Draw(rt, "records") {
			r := shapefile.Record{Values: []any{
				rapid.StringMatching(`[a-zäöß]{1,20}`).Draw(rt, "text"),
				rapid.Int64Range(-1e16, 1e17).Draw(rt, "number"),
				rapid.Bool().Draw(rt, "flag"),
			}}
			switch l.Kind {
			case shapefile.Points:
				for len(r.Point.At) != 1 {
					r.Point = drawPath(rt, 1, l.Heights)
					r.Point.At = r.Point.At[:1]
					if l.Heights {
						r.Point.HeightsM = r.Point.HeightsM[:1]
					}
				}
			case shapefile.Lines:
				for range rapid.IntRange(1, 3).Draw(rt, "parts") {
					r.Lines = append(r.Lines, drawPath(rt, 2, l.Heights))
				}
			case shapefile.Polygons:
				r.Polygons = [][]shapefile.Path{{drawPath(rt, 3, l.Heights)}}
			}
			l.Records = append(l.Records, r)
		}
		set, err := shapefile.WriteSet(l)
		if err != nil {
			rt.Fatal(err)
		}
		var packed bytes.Buffer
		if err := shapefile.Pack(&packed, set, day); err != nil {
			rt.Fatal(err)
		}
		got, err := read(files{"all.zip": packed.Bytes()}, "all.zip")
		if err != nil {
			rt.Fatal(err)
		}
		for i, f := range got.Features {
			r := l.Records[i]
			want := [][]format.Coord{}
			for _, p := range append([]shapefile.Path{r.Point}, r.Lines...) {
				if len(p.At) > 0 {
					want = append(want, coordsOf(p))
				}
			}
			have := f.Lines
			if f.Points != nil {
				have = [][]format.Coord{f.Points}
			}
			if len(r.Polygons) > 0 {
				have = nil
				if !sameLoop(coordsOf(r.Polygons[0][0]), f.Polygons[0][0]) {
					rt.Fatalf("%v came back as %v", r.Polygons[0][0], f.Polygons[0][0])
				}
			}
			if fmt.Sprint(have) != fmt.Sprint(want) && len(r.Polygons) == 0 {
				rt.Fatalf("%v came back as %v", want, have)
			}
			values := []any{f.Properties["T"], f.Properties["I"], f.Properties["L"]}
			if fmt.Sprint(values) != fmt.Sprint(r.Values) {
				rt.Fatalf("%v came back as %v", r.Values, values)
			}
		}
	})
}

func coordsOf(p shapefile.Path) (out []format.Coord) {
	for i, at := range p.At {
		c := format.Coord{X: at.LonDeg, Y: at.LatDeg, Z: math.NaN()}
		if p.HeightsM != nil {
			c.Z = p.HeightsM[i]
		}
		out = append(out, c)
	}
	return out
}

// sameLoop reports whether b is a, closed, in either direction.
func sameLoop(a []format.Coord, b format.Ring) bool {
	if n := len(a); a[0].X != a[n-1].X || a[0].Y != a[n-1].Y {
		a = append(a, a[0])
	}
	back := make([]format.Coord, len(a))
	for i, c := range a {
		back[len(a)-1-i] = c
	}
	got := fmt.Sprint([]format.Coord(b))
	return got == fmt.Sprint(a) || got == fmt.Sprint(back)
}
