package points_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/points"
)

var nan = math.NaN()

func at(x, y, z float64) format.Coord { return format.Coord{X: x, Y: y, Z: z} }

func read(text string) (format.File, error) {
	return points.Read("rise.csv", strings.NewReader(text), points.Options{})
}

func readWith(columns, text string) (format.File, error) {
	return points.Read("rise.csv", strings.NewReader(text), points.Options{Columns: columns})
}

func noteOf(t *testing.T, f format.File, code geo.Code) geo.Note {
	t.Helper()
	for _, n := range f.Notes {
		if n.Code == code {
			return n
		}
	}
	require.Fail(t, "no note "+string(code), "%v", f.Notes)
	return geo.Note{}
}

// requireOne checks that f is one feature of these points.
func requireOne(t require.TestingT, f format.File, want ...format.Coord) {
	require.Len(t, f.Features, 1)
	require.Equal(t, fmt.Sprint(want), fmt.Sprint(f.Features[0].Points))
}

func golden(t *testing.T, name string) format.File {
	t.Helper()
	in, err := os.Open(filepath.Join("testdata", name))
	require.NoError(t, err)
	defer in.Close()
	f, err := points.Read(name, in, points.Options{})
	require.NoError(t, err)
	return f
}

// One survey in nine dialects. Eastings and northings are from PROJ (cs2cs), see
// testdata/SOURCES.md; angles are compared with the decimal degrees they were
// written from.
func TestDialects(t *testing.T) {
	ground := golden(t, "grid.csv").Features[0]
	degrees := golden(t, "degrees.csv").Features[0]
	require.Len(t, ground.Points, 50)
	assert.Equal(t, at(696775.609, 5230545.590, 208.67), ground.Points[0], "first line, by eye")
	assert.Equal(t, at(-18.40199255, 47.19893293, 208.67), degrees.Points[0], "first line, by eye")
	cases := []struct {
		name  string
		like  format.Feature
		wgs84 bool
		named bool
		coded bool
		codes []geo.Code
	}{
		{"grid.csv", ground, false, false, false, []geo.Code{geo.NoteColumns}},
		{"grid.xyz", ground, false, false, false, []geo.Code{geo.NoteColumns}},
		{"pnezd.txt", ground, false, true, true, []geo.Code{geo.NoteColumns}},
		{"semicolon.csv", ground, false, true, true, []geo.Code{geo.NoteByteMark, geo.NoteColumns}},
		{"semicolon-windows.csv", ground, false, true, true, []geo.Code{geo.NoteColumns, geo.NoteTextGuessed}},
		{"tab-utf16.txt", ground, false, true, true, []geo.Code{geo.NoteRecoded, geo.NoteColumns}},
		{"degrees.csv", degrees, true, true, false, []geo.Code{geo.NoteColumns}},
		{"angles.csv", degrees, true, false, false, []geo.Code{geo.NoteColumns}},
		{"receiver.csv", degrees, true, true, false, []geo.Code{geo.NoteColumns}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			f := golden(t, c.name)
			require.Len(t, f.Features, 1)
			got := f.Features[0]
			require.Len(t, got.Points, 50)
			for i, p := range got.Points {
				want := c.like.Points[i]
				// angles are written to 1e-5 of a second and 1e-7 of a minute
				assert.InDelta(t, want.X, p.X, 3e-9)
				assert.InDelta(t, want.Y, p.Y, 3e-9)
				assert.InDelta(t, want.Z, p.Z, 0)
			}
			assert.Equal(t, c.wgs84, f.Reference.WGS84)
			assert.Equal(t, !c.wgs84, f.Reference.Silent())
			names, _ := got.Properties[points.PropNames].([]string)
			codes, _ := got.Properties[points.PropCodes].([]string)
			if c.named {
				require.Len(t, names, 50)
				assert.Equal(t, "H050", names[49])
			}
			if c.coded {
				require.Len(t, codes, 50)
				assert.Equal(t, "GND", codes[49])
			}
			var have []geo.Code
			for _, n := range f.Notes {
				have = append(have, n.Code)
			}
			assert.Equal(t, c.codes, have)
		})
	}
}

func TestColumns(t *testing.T) {
	want := []format.Coord{at(1, 2.5, 3), at(4, 5.5, 6)}
	flat := []format.Coord{at(1, 2.5, nan), at(4, 5.5, nan)}
	cases := []struct {
		name, text string
		want       []format.Coord
		wgs84      bool
	}{
		{"E, N, Z", "E,N,Z\n1,2.5,3\n4,5.5,6\n", want, false},
		{"N, E, Z", "N,E,Z\n2.5,1,3\n5.5,4,6", want, false},
		{"x, y", "x;y\n1;2.5\n4;5.5", flat, false},
		{"lon, lat", "lon,lat,h\n1,2.5,3\n4,5.5,6", want, true},
		{"lat, long", "Latitude\tLongitude\tElevation\n2.5\t1\t3\n5.5\t4\t6", want, true},
		{"longitud, latitud", "Latitud;Longitud;Cota\n2,5;1;3\n5,5;4;6", want, true},
		{"Breite, Länge", "Breite;Länge;Höhe\n2,5;1;3\n5,5;4;6", want, true},
		{"Rechtswert, Hochwert", "Pkt|Hochwert|Rechtswert|Hoehe\na|2.5|1|3\nb|5.5|4|6", want, false},
		{"est, nord, quota", "punto est nord quota\na 1 2.5 3\nb 4 5.5 6", want, false},
		{"x_coord", "coord_x,coord_y,z\n1,2.5,3\n4,5.5,6", want, false},
		{"POINT_X", "POINT_X,POINT_Y,Z\n1,2.5,3\n4,5.5,6", want, false},
		{"units", "Easting (m),Northing [m],Elev (ft)\n1,2.5,3\n4,5.5,6", want, false},
		{"others around", "fix,id,e,hrms,n,h,time\n4,a,1,0.01,2.5,3,10:00\n4,b,4,0.02,5.5,6,10:01", want, false},
		{"degrees before metres", "name,lat,lon,e,n,h\na,2.5,1,600,700,3\nb,5.5,4,601,701,6", want, true},
		{"n as number", "n,x,y\n1,1,2.5\n2,4,5.5", flat, false},
		{"header in a comment", "# survey of the rise\n# N E Z\n2.5 1 3\n5.5 4 6", want, false},
		{"empty column at the end", "E,N,Z,\n1,2.5,3,\n4,5.5,6,\n", want, false},
		{"empty rows", "E,N,Z\n,,\n1,2.5,3\n\n,,\n4,5.5,6\n,,", want, false},
		{"comments between", "E,N,Z\n# gate\n1,2.5,3\n  # corner\n4,5.5,6", want, false},
		{"quotation marks", "\"E\",\"N\",\"Z\"\n\"1\",\"2.5\",\"3\"\n\"4\", \"5.5\" ,\"6\"", want, false},
		{"quoted decimal comma", "E,N,Z\n\"1\",\"2,5\",3\n\"4\",\"5,50\",\"6\"", want, false},
		{"blanks around", "E , N , Z \n 1 , 2.5 , 3 \n 4 ,5.5,6", want, false},
		{"lines end in CR", "E,N,Z\r1,2.5,3\r4,5.5,6\r", want, false},
		{"three numbers", "1.0 2.5 3.0\n4.0 5.5 6.0", want, false},
		{"two numbers", "1.0,2.5\n4.0,5.5", flat, false},
		{"tabs and blanks", "1.0 \t 2.5 \t3.0\n4.0\t5.5\t\t6.0", want, false},
		{"decimal comma, semicolon", "1,0;2,5;3,0\n4,0;5,5;6,0", want, false},
		{"decimal comma, blanks", "1,0 2,5 3,0\n4,0 5,5 6,0", want, false},
		{"number and code behind", "1.0,2.5,3.0,GND\n4.0,5.5,6.0,GND", want, false},
		{"intensity behind", "1.0 2.5 3.0 17\n4.0 5.5 6.0 18", want, false},
		{"PNEZD", "1,2.5,1.0,3,GND\n2,5.5,4.0,6,\n", want, false},
		{"PNEZD by name", "A1,2.5,1.0,3,GATE 1\nB2,5.5,4.0,6,\"a, b\"", want, false},
		{"powers of ten", "E,N,Z\n1e0,25E-1,0.3e+1\n4,5.5,6", want, false},
		{"degrees in the title", "lat_deg,lon_deg,h_m\n2.5,1,3\n5.5,4,6", want, true},
		{"nr beside seq", "seq,no,e,n,z\n1,a,1,2.5,3\n2,b,4,5.5,6", want, false},
		{"year as a title", "E,N,Z,2026\n1,2.5,3,a\n4,5.5,6,b", want, false},
		{"plus signs", "E,N,Z\n+1,+2.5,+3\n4,5.5,6", want, false},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			f, err := read(c.text)
			require.NoError(t, err)
			requireOne(t, f, c.want...)
			assert.Equal(t, c.wgs84, f.Reference.WGS84)
			noteOf(t, f, geo.NoteColumns)
		})
	}
}

func TestColumnsNote(t *testing.T) {
	f, err := read("1,2.5,1.0,3,GND\n2,5.5,4.0,6,GND")
	require.NoError(t, err)
	n := noteOf(t, f, geo.NoteColumns)
	assert.Equal(t, geo.Caution, n.Severity)
	assert.Contains(t, n.Text, "1 point, 2 northing, 3 easting, 4 height, 5 code; set apart by commas")
	assert.Contains(t, n.Hint, "PENZD")
	f, err = read("Nord;Est;fix\n1,5;2,5;4\n3,5;4,5;4")
	require.NoError(t, err)
	n = noteOf(t, f, geo.NoteColumns)
	assert.Equal(t, geo.Info, n.Severity)
	assert.Equal(t, `columns: "Nord" northing, "Est" easting; not used: "fix"; set apart by semicolons, with decimal commas`, n.Text)
}

func TestOptionColumns(t *testing.T) {
	want := []format.Coord{at(1, 2.5, 3), at(4, 5.5, 6)}
	for columns, text := range map[string]string{
		"PNEZD":     "1,2.5,1.0,3,GND\n2,5.5,4.0,6,GND",
		"PENZD":     "1,1.0,2.5,3,GND\n2,4.0,5.5,6,GND",
		"nez":       "2.5 1 3\n5.5 4 6",
		"XYH":       "1;2,5;3\n4;5,5;6",
		"-EN-Z":     "9,1,2.5,x,3\n9,4,5.5,y,6",
		"ENZ":       "1,2.5,3,9,9\n4,5.5,6,9,9",
		"n, e, z":   "foo;bar;baz\n2.5;1;3\n5.5;4;6",
		"E N H":     "lon,lat,h\n1,2.5,3\n4,5.5,6",
		"seq e n z": "2,4,5.5,6\n1,1,2.5,3",
		"lon lat h": "x,y,z\n1,2.5,3\n4,5.5,6",
	} {
		t.Run(columns, func(t *testing.T) {
			f, err := readWith(columns, text)
			require.NoError(t, err)
			requireOne(t, f, want...)
			assert.Equal(t, columns == "lon lat h", f.Reference.WGS84)
		})
	}
	for columns, words := range map[string]string{
		"PNZ":       "names no column for the easting",
		"NN":        "names 2 columns for the northing",
		"QE":        `the word "QE", which is not known`,
		"lon n":     "mixes degrees with eastings",
		"PNEZDD-EN": "names 2 columns",
		"PNEZD----": "names 9, the table has 3: 1 | 2 | 3",
	} {
		t.Run(columns, func(t *testing.T) {
			_, err := readWith(columns, "1,2,3\n")
			require.Error(t, err)
			assert.Contains(t, err.Error(), words)
		})
	}
}

// Trap 19: the unit of heights and that of eastings may differ; only the header
// says so.
func TestProperties(t *testing.T) {
	f, err := read("pt;e (ft);n (ft);elev (US ft);desc\nÄ1;1;2;3;Zaun\n;4;5;6;Tor\n")
	require.NoError(t, err)
	assert.Equal(t, map[string]any{
		points.PropNames: []string{"Ä1", ""}, points.PropCodes: []string{"Zaun", "Tor"},
		points.PropUnit: "ft", points.PropHeightUnit: "us-ft",
	}, f.Features[0].Properties)
	for title, unit := range map[string]string{
		"z_ft": "ft", "elev (ft)": "ft", "height_m": "m", "Height [feet]": "ft", "h US survey ft": "us-ft", "Z_usft": "us-ft", "z (intl ft)": "ft", "z": "",
	} {
		t.Run(title, func(t *testing.T) {
			f, err := read("e,n," + title + "\n1,2,3\n4,5,6")
			require.NoError(t, err)
			requireOne(t, f, at(1, 2, 3), at(4, 5, 6))
			got, _ := f.Features[0].Properties[points.PropHeightUnit].(string)
			assert.Equal(t, unit, got)
		})
	}
}

func TestGroups(t *testing.T) {
	f, err := read("block,line,e,n,code\nA,1,1,2,c\nB,1,3,4,d\nA,1,5,6,e\nA,2,7,8,f\n")
	require.NoError(t, err)
	require.Len(t, f.Features, 3)
	for i, want := range []struct {
		name   string
		line   int
		points []format.Coord
		codes  []string
	}{
		{"A 1", 2, []format.Coord{at(1, 2, nan), at(5, 6, nan)}, []string{"c", "e"}},
		{"B 1", 3, []format.Coord{at(3, 4, nan)}, []string{"d"}},
		{"A 2", 5, []format.Coord{at(7, 8, nan)}, []string{"f"}},
	} {
		got := f.Features[i]
		assert.Equal(t, i+1, got.Number)
		assert.Equal(t, want.name, got.Name)
		assert.Equal(t, want.line, got.Line)
		assert.Equal(t, fmt.Sprint(want.points), fmt.Sprint(got.Points))
		assert.Equal(t, want.codes, got.Properties[points.PropCodes])
	}
}

func TestOrder(t *testing.T) {
	f, err := read("seq,name,e,n,code\n3,c,5,6,z\n1,a,1,2,x\n2,b,3,4,y\n")
	require.NoError(t, err)
	requireOne(t, f, at(1, 2, nan), at(3, 4, nan), at(5, 6, nan))
	assert.Equal(t, []string{"a", "b", "c"}, f.Features[0].Properties[points.PropNames])
	assert.Equal(t, []string{"x", "y", "z"}, f.Features[0].Properties[points.PropCodes])
	assert.Contains(t, f.Notes[1].Text, `order of column 1 "seq"`)
	f, err = read("nr;e;n\n1;1;2\n2;3;4")
	require.NoError(t, err)
	require.Len(t, f.Notes, 1, "nothing moved")
	f, err = read("nr;e;n\nA1;1;2\nA0;3;4")
	require.NoError(t, err)
	assert.Equal(t, []string{"A1", "A0"}, f.Features[0].Properties[points.PropNames], "no order")
	checkRefusals(t, []refusal{
		{"twice", "seq,e,n\n1,1,2\n2,3,4\n1,5,6", []string{":4:", "order 1 stands in line 2 as well"}, ""},
		{"no number", "seq,e,n\n1,1,2\nx,3,4", []string{":3:", `column 1 "seq": the order "x" is no number`}, ""},
	})
	f, err = read("line,seq,e,n\nA,2,1,2\nB,1,3,4\nA,1,5,6")
	require.NoError(t, err)
	require.Len(t, f.Features, 2)
	assert.Equal(t, fmt.Sprint([]format.Coord{at(5, 6, nan), at(1, 2, nan)}), fmt.Sprint(f.Features[0].Points))
}

func TestHeights(t *testing.T) {
	cases := []struct {
		name, z string
		want    []float64
		notes   int
	}{
		{"all", "1 2", []float64{1, 2}, 0},
		{"a zero", "0 2", []float64{0, 2}, 0},
		{"zeros only", "0 0.0", []float64{nan, nan}, 2},
		{"-9999", "-9999 2", []float64{nan, 2}, 1},
		{"far below", "-3.4028e38 2", []float64{nan, 2}, 1},
		{"NaN", "NaN 2", []float64{nan, 2}, 1},
		{"n/a", "n/a 2", []float64{nan, 2}, 1},
		{"none at all", "- -", []float64{nan, nan}, 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			z := strings.Fields(c.z)
			f, err := read("e,n,z\n1,2," + z[0] + "\n3,4," + z[1])
			require.NoError(t, err)
			requireOne(t, f, at(1, 2, c.want[0]), at(3, 4, c.want[1]))
			if c.notes > 0 {
				assert.InDelta(t, c.notes, noteOf(t, f, geo.NoteHeightMissing).Value, 0)
			} else {
				assert.Len(t, f.Notes, 1)
			}
		})
	}
	f, err := read("e,n,z\n1,2,\n3,4,5")
	require.NoError(t, err)
	assert.InDelta(t, 1, noteOf(t, f, geo.NoteHeightMissing).Value, 0)
}
