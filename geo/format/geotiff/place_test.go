package geotiff_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/crs"
	"hemrow/geo/format"
)

// vrt wraps the hill in GDAL's XML raster, which can say what gdal_translate
// has no option for: a turned grid, a scale, more bands.
func vrt(t *testing.T, change func(string) string) string {
	t.Helper()
	name := translate(t, hill, "in.vrt", "-of", "VRT")
	text, err := os.ReadFile(name)
	require.NoError(t, err)
	path, err := filepath.Abs(hill)
	require.NoError(t, err)
	s := strings.ReplaceAll(string(text), `relativeToVRT="1"`, `relativeToVRT="0"`)
	from, to := strings.Index(s, "<SourceFilename"), strings.Index(s, "</SourceFilename>")
	require.True(t, from > 0 && to > from)
	s = s[:from] + `<SourceFilename relativeToVRT="0">` + path + s[to:]
	require.NoError(t, os.WriteFile(name, []byte(change(s)), 0o600))
	return name
}

// geoTransform replaces the six numbers that place a raster.
func geoTransform(numbers string) func(string) string {
	return func(s string) string {
		from, to := strings.Index(s, "<GeoTransform>"), strings.Index(s, "</GeoTransform>")
		return s[:from] + "<GeoTransform>" + numbers + s[to:]
	}
}

// requirePlaced compares the layout with gdalinfo's six numbers, which place
// the outer corner of the first cell:
//
//	X = g0 + col g1 + row g2, Y = g3 + col g4 + row g5
//
// The bound is four roundings of the largest coordinate.
func requirePlaced(t *testing.T, name string, l format.Layout) {
	t.Helper()
	in := gdalInfo(t, name)
	assert.Equal(t, in.Size, [2]int{l.Cols, l.Rows})
	g := in.GeoTransform
	slack := 4 * 0x1p-52 * max(math.Abs(g[0]), math.Abs(g[3]))
	for _, c := range [][2]int{{0, 0}, {l.Cols - 1, 0}, {0, l.Rows - 1}, {l.Cols / 2, l.Rows / 3}} {
		col, row := float64(c[0]), float64(c[1])
		x := g[0] + (col+0.5)*g[1] + (row+0.5)*g[2]
		y := g[3] + (col+0.5)*g[4] + (row+0.5)*g[5]
		assert.InDelta(t, x, l.OriginX+col*l.ColX+row*l.RowX, slack, "%v", c)
		assert.InDelta(t, y, l.OriginY+col*l.ColY+row*l.RowY, slack, "%v", c)
	}
}

func TestPlaces(t *testing.T) {
	turned := geoTransform("500000.5, 8.66, 5, 4600000.25, 5, -8.66")
	southUp := geoTransform("500000, 10, 0, 4600000, 0, 10")
	degrees := geoTransform("-65.125, 0.0001, 0, -37.9, 0, -0.00009")
	same := func(s string) string { return s }
	for _, c := range []struct {
		name   string
		change func(string) string
		args   []string
	}{
		{"area", same, []string{"-mo", "AREA_OR_POINT=Area"}},
		{"point", same, []string{"-mo", "AREA_OR_POINT=Point"}},
		{"turned area", turned, nil},
		{"turned point", turned, []string{"-mo", "AREA_OR_POINT=Point"}},
		{"south up", southUp, nil},
		{"degrees", degrees, []string{"-a_srs", "EPSG:4326"}},
		{"degrees point big", degrees, []string{"-a_srs", "EPSG:4326", "-mo", "AREA_OR_POINT=Point", "-co", "BIGTIFF=YES", "-co", "ENDIANNESS=BIG"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			name := translate(t, vrt(t, c.change), "x.tif", c.args...)
			r := mustOpen(t, name)
			requirePlaced(t, name, r.Layout())
			requireSame(t, gdalHeights(t, hill), whole(t, r).Heights)
		})
	}
}

func TestUnplaced(t *testing.T) {
	_, err := openFile(t, translate(t, hill, "x.tif", "-co", "PROFILE=BASELINE"))
	requireProblem(t, err, "does not say where on the earth", "gdal_translate -a_srs")
	_, err = openFile(t, translate(t, hill, "x.tif", "-a_srs", "EPSG:32720", "-gcp", "0", "0", "1", "2", "-gcp", "9", "0", "11", "2", "-gcp", "0", "9", "1", "12"))
	requireProblem(t, err, "placed by 3 control points", "gdalwarp")
}

func requireProblem(t *testing.T, err error, problem, hint string) {
	t.Helper()
	var e *geo.InputError
	require.ErrorAs(t, err, &e)
	assert.NotEmpty(t, e.File)
	assert.Contains(t, e.Problem, problem)
	assert.Contains(t, e.Hint, hint)
}

// Units of height as GDAL writes them, and the sizes of EPSG 9001, 9002 and
// 9003 (EPSG dataset v10.076, 2022).
func TestHeightUnits(t *testing.T) {
	const metre, foot, surveyFoot = 1, 0.3048, 1200.0 / 3937
	unit := func(u string) func(string) string {
		return func(s string) string {
			return strings.Replace(s, "</VRTRasterBand>", "<UnitType>"+u+"</UnitType></VRTRasterBand>", 1)
		}
	}
	same := func(s string) string { return s }
	for _, c := range []struct {
		name   string
		change func(string) string
		srs    string
		want   float64
		codes  []geo.Code
	}{
		{"silent", same, "EPSG:32617", 0, nil},
		{"NAVD88 metres", same, "EPSG:32617+5703", metre, nil},
		{"NAVD88 feet", same, "EPSG:32617+8228", foot, nil},
		{"NAVD88 survey feet", same, "EPSG:32617+6360", surveyFoot, nil},
		{"EGM2008 metres", same, "EPSG:4326+3855", metre, nil},
		{"band in metres", unit("m"), "EPSG:32617", metre, nil},
		{"band in feet", unit("ft"), "EPSG:32617", foot, nil},
		{"band in survey feet", unit("US survey foot"), "EPSG:32617", surveyFoot, nil},
		{"band in cubits", unit("cubit"), "EPSG:32617", 0, nil},
		{"two tongues", unit("ft"), "EPSG:32617+5703", 0, []geo.Code{geo.NoteHeightUnit}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := mustOpen(t, translate(t, vrt(t, c.change), "x.tif", "-a_srs", c.srs))
			assert.InDelta(t, c.want, r.HeightUnitM(), 1e-15)
			assert.Equal(t, c.codes, codes(r.Head().Notes))
		})
	}
	_, err := openFile(t, translate(t, hill, "x.tif", "-a_srs", "EPSG:32617+5715"))
	requireProblem(t, err, "depths", "heights")
}

// Systems as GDAL writes them. Parameters are those of the text GDAL was given.
func TestReference(t *testing.T) {
	ref := func(t *testing.T, args ...string) format.Reference {
		return mustOpen(t, translate(t, hill, "x.tif", args...)).Head().Reference
	}
	t.Run("codes", func(t *testing.T) {
		for srs, want := range map[string]format.Reference{
			"EPSG:4326":       {WGS84: true, Declared: "EPSG:4326"},
			"EPSG:4258":       {Code: 4258, Declared: "EPSG:4258"},
			"EPSG:2193":       {Code: 2193, Declared: "EPSG:2193"},
			"EPSG:2264":       {Code: 2264, Declared: "EPSG:2264"},
			"EPSG:25832+7837": {Code: 25832, Declared: "EPSG:25832"},
		} {
			assert.Equal(t, want, ref(t, "-a_srs", srs), srs)
		}
	})
	t.Run("silent", func(t *testing.T) {
		mute := func(s string) string {
			from, to := strings.Index(s, "<SRS"), strings.Index(s, "</SRS>")
			return s[:from] + s[to+len("</SRS>"):]
		}
		got := mustOpen(t, translate(t, vrt(t, mute), "x.tif")).Head().Reference
		assert.True(t, got.Silent(), "%+v", got)
		assert.Empty(t, got.Declared)
	})
	t.Run("esri", func(t *testing.T) {
		prj := `PROJCS["Own",GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Cassini"],PARAMETER["False_Easting",1000.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",17.0],PARAMETER["Scale_Factor",1.0],PARAMETER["Latitude_Of_Origin",48.0],UNIT["Meter",1.0]]`
		got := ref(t, "-a_srs", "ESRI::"+prj, "-co", "GEOTIFF_KEYS_FLAVOR=ESRI_PE")
		assert.True(t, strings.HasPrefix(got.WKT, `PROJCS["Own"`), "%+v", got)
		assert.True(t, strings.HasSuffix(got.WKT, `]]`), "%+v", got)
	})
}

// A file may count in metres what its system counts in feet: GDAL keeps the
// false origin and changes the unit.
func TestOtherUnit(t *testing.T) {
	keys := func(unit uint16) []byte {
		return small(field{34735, []uint16{1, 1, 0, 3, 1024, 0, 1, 1, 3072, 0, 1, 2264, 3076, 0, 1, unit}}).bytes(t)
	}
	name := filepath.Join(t.TempDir(), "x.tif")
	require.NoError(t, os.WriteFile(name, keys(9001), 0o600))
	wkt := string(gdal(t, "gdalinfo", "-wkt_format", "wkt1", name))
	require.Contains(t, wkt, `PARAMETER["false_easting",609601.219202438]`)
	require.Contains(t, wkt, `UNIT["metre",1`)
	ref := mustOpen(t, name).Head().Reference
	require.NotNil(t, ref.Definition)
	assert.InDelta(t, 609601.219202438, ref.Definition.Params.FalseEastM, 1e-8)
	assert.InDelta(t, 1, ref.Definition.UnitM, 1e-15)
	assert.Zero(t, ref.Code)
	assert.Equal(t, "EPSG:2264 with coordinates in units of 1 m", ref.Declared)

	r, err := openBytes(keys(9003))
	require.NoError(t, err)
	assert.Equal(t, format.Reference{Declared: "EPSG:2264", Code: 2264}, r.Head().Reference)
}

// The datum of a system without a code is found by the code of its longitude
// and latitude, or by that of the datum.
func TestOwnSystemKnownDatum(t *testing.T) {
	name := translate(t, hill, "x.tif", "-a_srs", "+proj=tmerc +lat_0=48 +lon_0=17.25 +k=0.9999 +datum=NAD83 +no_defs")
	d := mustOpen(t, name).Head().Reference.Definition
	require.NotNil(t, d)
	assert.Equal(t, 4269, d.Base.Code)
	assert.Equal(t, grs80, d.Base.Ellipsoid)
	require.NotNil(t, d.Base.Shift)
	assert.True(t, d.Base.Shift.Null)

	// 16133 is the projection of UTM zone 33 south (EPSG dataset).
	r, err := openBytes(small(field{34735, []uint16{
		1, 1, 0, 5, 1024, 0, 1, 1, 2048, 0, 1, 32767, 2050, 0, 1, 6326, 3072, 0, 1, 32767, 3074, 0, 1, 16133,
	}}).bytes(t))
	require.NoError(t, err)
	d = r.Head().Reference.Definition
	require.NotNil(t, d)
	assert.Equal(t, 4326, d.Base.Code)
	assert.Equal(t, crs.Params{LonOriginDeg: 15, ScaleFactor: 0.9996, FalseEastM: 500000, FalseNorthM: 10000000}, d.Params)
}

// grs80 is from EPSG:7019.
var grs80 = crs.Ellipsoid{SemiMajorM: 6378137, InvFlatteningRatio: 298.257222101}

// Systems without a code: the parameters read are those given to GDAL, with
// lengths in metres and angles in degrees.
func TestOwnSystems(t *testing.T) {
	const usFoot = 1200.0 / 3937
	for _, c := range []struct {
		proj   string
		method crs.Method
		params crs.Params
		unitM  float64
	}{
		{
			"+proj=tmerc +lat_0=48 +lon_0=17.25 +k=0.9999 +x_0=1000 +y_0=2000", crs.TransverseMercator,
			crs.Params{LatOriginDeg: 48, LonOriginDeg: 17.25, ScaleFactor: 0.9999, FalseEastM: 1000, FalseNorthM: 2000},
			1,
		},
		{
			"+proj=tmerc +lat_0=34 +lon_0=-80 +k=1 +x_0=600000 +y_0=0 +units=us-ft", crs.TransverseMercator,
			crs.Params{LatOriginDeg: 34, LonOriginDeg: -80, ScaleFactor: 1, FalseEastM: 600000},
			usFoot,
		},
		{
			"+proj=lcc +lat_1=46 +lat_2=49 +lat_0=47.5 +lon_0=13.3 +x_0=400000 +y_0=400000", crs.LambertConic2SP,
			crs.Params{LatOriginDeg: 47.5, LonOriginDeg: 13.3, Parallel1Deg: 46, Parallel2Deg: 49, FalseEastM: 400000, FalseNorthM: 400000},
			1,
		},
		{
			"+proj=lcc +lat_1=46.8 +lat_0=46.8 +lon_0=2.3 +k_0=0.9998 +x_0=600000 +y_0=200000", crs.LambertConic1SP,
			crs.Params{LatOriginDeg: 46.8, LonOriginDeg: 2.3, ScaleFactor: 0.9998, FalseEastM: 600000, FalseNorthM: 200000},
			1,
		},
		{
			"+proj=aea +lat_1=29.5 +lat_2=45.5 +lat_0=23 +lon_0=-96 +x_0=10 +y_0=20", crs.AlbersEqualArea,
			crs.Params{LatOriginDeg: 23, LonOriginDeg: -96, Parallel1Deg: 29.5, Parallel2Deg: 45.5, FalseEastM: 10, FalseNorthM: 20},
			1,
		},
		{
			"+proj=laea +lat_0=52 +lon_0=10 +x_0=4321000 +y_0=3210000", crs.LambertAzimuthal,
			crs.Params{LatOriginDeg: 52, LonOriginDeg: 10, FalseEastM: 4321000, FalseNorthM: 3210000},
			1,
		},
		{
			"+proj=sterea +lat_0=52 +lon_0=5.4 +k=0.9999 +x_0=155000 +y_0=463000", crs.ObliqueStereographic,
			crs.Params{LatOriginDeg: 52, LonOriginDeg: 5.4, ScaleFactor: 0.9999, FalseEastM: 155000, FalseNorthM: 463000},
			1,
		},
		{
			"+proj=merc +lon_0=110 +k=0.997 +x_0=3900000 +y_0=900000", crs.MercatorA,
			crs.Params{LonOriginDeg: 110, ScaleFactor: 0.997, FalseEastM: 3900000, FalseNorthM: 900000},
			1,
		},
		{
			"+proj=merc +lat_ts=42 +lon_0=51 +x_0=1 +y_0=2", crs.MercatorB,
			crs.Params{LonOriginDeg: 51, Parallel1Deg: 42, FalseEastM: 1, FalseNorthM: 2},
			1,
		},
		{
			"+proj=cass +lat_0=10.4 +lon_0=-61.3 +x_0=86501 +y_0=65379", crs.CassiniSoldner,
			crs.Params{LatOriginDeg: 10.4, LonOriginDeg: -61.3, FalseEastM: 86501, FalseNorthM: 65379},
			1,
		},
		{
			"+proj=stere +lat_0=90 +lat_ts=71 +lon_0=0.5 +x_0=3 +y_0=4", crs.PolarStereographicB,
			crs.Params{LonOriginDeg: 0.5, Parallel1Deg: 71, FalseEastM: 3, FalseNorthM: 4},
			1,
		},
		{
			"+proj=omerc +lat_0=46.9 +lonc=7.4 +alpha=80 +gamma=80 +k=0.9999 +x_0=600000 +y_0=200000", crs.HotineB,
			crs.Params{LatOriginDeg: 46.9, LonOriginDeg: 7.4, AzimuthDeg: 80, SkewDeg: 80, ScaleFactor: 0.9999, FalseEastM: 600000, FalseNorthM: 200000},
			1,
		},
	} {
		t.Run(c.proj, func(t *testing.T) {
			t.Parallel()
			name := translate(t, hill, "x.tif", "-a_srs", c.proj+" +ellps=GRS80 +towgs84=1,2,3,0.25,0.5,0.75,7 +no_defs")
			ref := mustOpen(t, name).Head().Reference
			require.NotNil(t, ref.Definition, "%+v\n%s", ref, gdal(t, "gdalinfo", name))
			d := *ref.Definition
			assert.Equal(t, c.method, d.Method)
			assert.InDelta(t, c.unitM, d.UnitM, 1e-12)
			assert.InDelta(t, grs80.SemiMajorM, d.Base.Ellipsoid.SemiMajorM, 1e-6)
			assert.InDelta(t, grs80.InvFlatteningRatio, d.Base.Ellipsoid.InvFlatteningRatio, 1e-6)
			require.NotNil(t, d.Base.Shift)
			assert.Equal(t, crs.Helmert{DXM: 1, DYM: 2, DZM: 3, RXSec: 0.25, RYSec: 0.5, RZSec: 0.75, ScalePPM: 7}, d.Base.Shift.Helmert)
			want, got := c.params, d.Params
			for _, pair := range [][2]float64{
				{want.LatOriginDeg, got.LatOriginDeg},
				{want.LonOriginDeg, got.LonOriginDeg},
				{want.Parallel1Deg, got.Parallel1Deg},
				{want.Parallel2Deg, got.Parallel2Deg},
				{want.FalseEastM, got.FalseEastM},
				{want.FalseNorthM, got.FalseNorthM},
				{want.AzimuthDeg, got.AzimuthDeg},
				{want.SkewDeg, got.SkewDeg},
			} {
				assert.InDelta(t, pair[0], pair[1], 1e-6, "%+v", got)
			}
			if want.ScaleFactor != 0 {
				assert.InDelta(t, want.ScaleFactor, got.ScaleFactor, 1e-12)
			}
			_, err := crs.New(d)
			assert.NoError(t, err)
		})
	}
}
