package crs_test

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/crs"
)

// wktTexts reads a fixture of codes and texts.
func wktTexts(t testing.TB, dialect string) (codes []int, texts []string) {
	t.Helper()
	raw, err := os.ReadFile("testdata/wkt/" + dialect + ".tsv")
	require.NoError(t, err)
	for line := range strings.Lines(string(raw)) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		code, text, ok := strings.Cut(strings.TrimSpace(line), "\t")
		require.True(t, ok)
		codes, texts = append(codes, int(number(t, code))), append(texts, text)
	}
	return codes, texts
}

// twins are systems that a text without codes cannot tell apart: they differ
// in the order of axes or in name only.
var twins = map[int]int{
	2036: 2953, // out of date
}

// A text by code and the table's system by the same code are one. Source: PROJ
// 9.1.1, projinfo -o WKT1_GDAL and -o WKT1_ESRI of EPSG codes.
func TestWKTIsTheSystemOfItsCode(t *testing.T) {
	for _, dialect := range []string{"ogc", "esri"} {
		codes, texts := wktTexts(t, dialect)
		require.GreaterOrEqual(t, len(codes), 90)
		for i, text := range texts {
			code := codes[i]
			t.Run(fmt.Sprintf("%s_%d", dialect, code), func(t *testing.T) {
				got, err := crs.ParseWKT(text)
				require.NoError(t, err)
				if twin, ok := twins[code]; ok && dialect == "esri" {
					code = twin
				}
				want, err := crs.ByCode(code)
				require.NoError(t, err)
				assert.Equal(t, want, got)
			})
		}
	}
}

// Read for themselves, without the table, the texts give the same positions.
func TestWKTAloneGivesTheSamePositions(t *testing.T) {
	var worst float64
	for _, dialect := range []string{"ogc", "esri"} {
		codes, texts := wktTexts(t, dialect)
		for i, text := range texts {
			want, err := crs.ByCode(codes[i])
			require.NoError(t, err)
			alone, err := crs.ReadWKTAlone(text)
			require.NoError(t, err)
			alone.Base.Shift = nil
			want.Base.Shift = nil
			a, b := system(t, alone), system(t, want)
			for _, p := range within(*want.Bounds) {
				xy, ok := b.FromBase(p)
				require.True(t, ok, want.Name)
				q, ok := a.ToBase(xy)
				require.True(t, ok, want.Name)
				off := groundM(p, q)
				assert.Less(t, off, agreeM, "%s %s", dialect, want.Name)
				worst = max(worst, off)
			}
		}
	}
	t.Logf("worst %.1e m", worst)
}

// within are places inside a box.
func within(b crs.Bounds) (out []geo.LonLat) {
	east := b.EastDeg
	if east < b.WestDeg {
		east += 360
	}
	south, north := max(b.SouthDeg, -80), min(b.NorthDeg, 80)
	for _, f := range [][2]float64{{0.5, 0.5}, {0.2, 0.7}, {0.8, 0.3}} {
		out = append(out, geo.LonLat{LonDeg: math.Remainder(b.WestDeg+f[0]*(east-b.WestDeg), 360), LatDeg: south + f[1]*(north-south)})
	}
	return out
}

const utm32 = `PROJCS["UTM32",GEOGCS["G",DATUM["D_ETRS_1989",SPHEROID["GRS_1980",6378137.0,298.257222101]],PRIMEM["Greenwich",0.0],` +
	`UNIT["Degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",500000.0],` +
	`PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",9.0],PARAMETER["Scale_Factor",0.9996],` +
	`PARAMETER["Latitude_Of_Origin",0.0],UNIT["Meter",1.0]]`

func TestWKTSpellings(t *testing.T) {
	round := strings.NewReplacer("[", " ( ", "]", " )\r\n", ",", " , ").Replace(utm32)
	swap := func(pairs ...string) string { return strings.NewReplacer(pairs...).Replace(utm32) }
	for name, c := range map[string]struct {
		text  string
		code  int
		check func(t *testing.T, d crs.Definition)
	}{
		"plain":             {text: utm32, code: 25832},
		"round brackets":    {text: round, code: 25832},
		"byte order mark":   {text: "\ufeff" + utm32 + "\r\n\x00\x00", code: 25832},
		"small letters":     {text: strings.ToLower(utm32), code: 25832},
		"spaces in names":   {text: swap("Transverse_Mercator", "Transverse Mercator", "False_Easting", "false easting"), code: 25832},
		"Gauss Krueger":     {text: swap("Transverse_Mercator", "Gauss_Kruger"), code: 25832},
		"short degree":      {text: swap("0.0174532925199433", "0.01745329252"), code: 25832},
		"cut degree":        {text: swap("0.0174532925199433", "0.0174532925199432"), code: 25832},
		"datum by WGS name": {text: swap("D_ETRS_1989", "D_WGS_1984", "298.257222101", "298.257223563"), code: 32632},
		"a datum that only its name makes British": {
			text: swap("D_ETRS_1989", "D_OSGB_1936"), code: 0,
			check: func(t *testing.T, d crs.Definition) {
				assert.True(t, d.Base.Shift.Null, "GRS 1980 is no figure of OSGB 1936")
			},
		},
		"other parameters": {text: swap(`"Central_Meridian",9.0`, `"Central_Meridian",9.5`), code: 0, check: func(t *testing.T, d crs.Definition) {
			assert.Equal(t, 4258, d.Base.Code)
			assert.True(t, d.Base.Shift.Null)
			assert.Equal(t, 9.5, d.Params.LonOriginDeg)
		}},
		"a code that is not its own": {
			text: strings.TrimSuffix(utm32, "]") + `,AUTHORITY["EPSG","25833"]]`, code: 25832,
		},
		"heights": {
			text: `COMPD_CS["both",` + utm32 + `,VERT_CS["h",VERT_DATUM["v",2005],UNIT["foot",0.3048]]]`, code: 25832,
			check: func(t *testing.T, d crs.Definition) { assert.Equal(t, 0.3048, d.VerticalUnitM) },
		},
		"heights behind": {
			text: utm32 + `,VERTCS["h",VDATUM["v"],PARAMETER["Direction",1.0],UNIT["Meter",1.0]]`, code: 25832,
			check: func(t *testing.T, d crs.Definition) { assert.Equal(t, 1.0, d.VerticalUnitM) },
		},
		"feet, and false easting in feet": {
			text: swap(`UNIT["Meter",1.0]`, `UNIT["Foot_US",0.3048006096012192]`, "500000.0", "1640416.6666666667"),
			check: func(t *testing.T, d crs.Definition) {
				assert.InDelta(t, 500000, d.Params.FalseEastM, 1e-6)
				assert.Equal(t, 0.3048006096012192, d.UnitM)
			},
		},
		"axes turned by a negative scale": {
			text: swap("0.9996", "-1.0", "500000.0", "0.0", `"Central_Meridian",9.0`, `"Central_Meridian",19.0`,
				"D_ETRS_1989", "D_Hartebeesthoek_1994", "298.257222101", "298.257223563"), code: 2048,
		},
		"shift of the file": {
			text: strings.Replace(utm32, "298.257222101]", "298.257222101],TOWGS84[1,2,3,0.1,0.2,0.3,4]", 1),
			code: 25832,
			check: func(t *testing.T, d crs.Definition) {
				assert.Equal(t, crs.Helmert{1, 2, 3, 0.1, 0.2, 0.3, 4}, d.Base.Shift.Helmert)
				assert.Equal(t, "TOWGS84 of the file", d.Base.Shift.Source)
			},
		},
		"zero shift of the file": {
			text: strings.Replace(utm32, "298.257222101]", "298.257222101],TOWGS84[0,0,0]", 1), code: 25832,
			check: func(t *testing.T, d crs.Definition) { assert.True(t, d.Base.Shift.Null) },
		},
	} {
		t.Run(name, func(t *testing.T) {
			d, err := crs.ParseWKT(c.text)
			require.NoError(t, err)
			assert.Equal(t, c.code, d.Code)
			if c.check != nil {
				c.check(t, d)
			}
			_, err = crs.New(d)
			require.NoError(t, err)
		})
	}
}

// Lambert zone II counts from Paris, in grads, and so do its parameters; some
// write the meridian in degrees, some in grads (2.5969213).
func TestWKTGrads(t *testing.T) {
	const text = `PROJCS["z",GEOGCS["x",DATUM["D_NTF",SPHEROID["Clarke_1880_IGN",6378249.2,293.4660213]],PRIMEM["Paris",%s],` +
		`UNIT["Grad",0.01570796326794897]],PROJECTION["Lambert_Conformal_Conic"],PARAMETER["False_Easting",600000.0],` +
		`PARAMETER["False_Northing",2200000.0],PARAMETER["Central_Meridian",0.0],PARAMETER["Standard_Parallel_1",52.0],` +
		`PARAMETER["Scale_Factor",0.99987742],PARAMETER["Latitude_Of_Origin",52.0],UNIT["Meter",1.0]]`
	for _, lon := range []string{"2.33722917", "2.337229166666667", "2.5969213"} {
		d, err := crs.ParseWKT(fmt.Sprintf(text, lon))
		require.NoError(t, err, lon)
		assert.Equal(t, 27572, d.Code, lon)
		assert.InDelta(t, 46.8, d.Params.LatOriginDeg, 1e-12)
	}
}

func TestWKTRefused(t *testing.T) {
	for name, c := range map[string]struct{ text, want string }{
		"nothing":           {"", "character 1: the text ends"},
		"page":              {"<html>", "begins no coordinate system"},
		"second edition":    {`PROJCRS["a",BASEGEOGCRS["b"]]`, "second edition"},
		"bound":             {`BOUNDCRS[SOURCECRS[GEOGCRS["b"]]]`, "second edition"},
		"local":             {`LOCAL_CS["site grid",UNIT["m",1]]`, `LOCAL_CS "site grid" is a grid of its own`},
		"engineering":       {`ENGCRS["site"]`, "tied to nowhere"},
		"geocentric":        {`GEOCCS["c"]`, "centre of the earth"},
		"heights alone":     {`VERT_CS["h",UNIT["m",1]]`, "heights alone"},
		"unknown method":    {strings.Replace(utm32, "Transverse_Mercator", "Bonne", 1), `the projection "Bonne" cannot be computed here; convert the file first: ogr2ogr`},
		"unknown parameter": {strings.Replace(utm32, "Latitude_Of_Origin\",0", "Wobble\",2", 1), `the parameter "Wobble" is not understood`},
		"no unit":           {strings.Replace(utm32, `,UNIT["Meter",1.0]`, "", 1), "PROJCS has no UNIT"},
		"zero unit":         {strings.Replace(utm32, `"Meter",1.0`, `"Meter",0`, 1), "UNIT is 0"},
		"no datum":          {`GEOGCS["a",UNIT["Degree",0.01745]]`, "GEOGCS has no DATUM"},
		"no spheroid":       {`GEOGCS["a",DATUM["b"]]`, "DATUM has no SPHEROID"},
		"word for a number": {strings.Replace(utm32, "500000.0", "far", 1), `"FAR" is no number`},
		"not a number":      {strings.Replace(utm32, "500000.0", "NaN", 1), `"NAN" is no number`},
		"twice":             {strings.Replace(utm32, "Latitude_Of_Origin\",0.0", "Central_Meridian\",8", 1), "given twice"},
		"two numbers":       {strings.Replace(utm32, "298.257222101]", "298.257222101],TOWGS84[1,2]", 1), "TOWGS84 has 2 numbers"},
		"never closed":      {utm32[:len(utm32)-1], "character 7: this bracket is never closed"},
		"quotation open":    {`GEOGCS["a`, "character 8: this quotation is never closed"},
		"more behind":       {utm32 + "x", `"x" follows the end`},
		"deep":              {strings.Repeat("A[", 40), "nested deeper than 16"},
		"long":              {strings.Repeat(" ", 1<<20) + "x", "1024 kB"},
		"wrong bracket":     {`GEOGCS["a")`, "is due"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := crs.ParseWKT(c.text)
			require.ErrorContains(t, err, c.want)
		})
	}
}

// Nothing a text says makes a panic, or a system that answers with no number.
func FuzzParseWKT(f *testing.F) {
	for _, dialect := range []string{"ogc", "esri"} {
		_, texts := wktTexts(f, dialect)
		for i := 0; i < len(texts); i += 9 {
			f.Add(texts[i])
		}
	}
	f.Add(utm32 + `,VERTCS["h",UNIT["Meter",1.0]]`)
	f.Add(`LOCAL_CS["a"]`)
	f.Fuzz(func(t *testing.T, text string) {
		d, err := crs.ParseWKT(text)
		if err != nil {
			return
		}
		d.DatumNotes("x")
		s, err := crs.New(d)
		if err != nil {
			return
		}
		for _, p := range []crs.XY{{}, {X: 500000, Y: 5000000}, {X: 9, Y: 50}} {
			if ll, ok := s.ToWGS84(p); ok && !ll.Valid() {
				t.Fatalf("%v from %v", ll, p)
			}
		}
	})
}

func BenchmarkParseWKT(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := crs.ParseWKT(utm32); err != nil {
			b.Fatal(err)
		}
	}
}
