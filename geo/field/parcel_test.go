package field_test

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// parcel is an invented piece of land in the shape of an L with a pond, in the
// numbers of one reference system: six corners and the four of the pond, which
// turn the other way.
type parcel [10][3]float64

const cornerCount = 6

func (p parcel) outer() [][3]float64 { return p[:cornerCount] }
func (p parcel) pond() [][3]float64  { return p[cornerCount:] }

// The same parcel in four systems; the one on Kestrel Rise, and one of the
// same shape in California for feet. All but the degrees are by cs2cs of PROJ
// 9.1.1 without grids of datum shifts, from EPSG:4326 (California: EPSG:4269).
var (
	riseDegrees = parcel{
		{-2.7184213, 52.0361847, 141.25},
		{-2.714916628, 52.0361847, 148.5},
		{-2.714916628, 52.036993689, 150.75},
		{-2.716814992, 52.036993689, 146},
		{-2.716814992, 52.037982453, 152.125},
		{-2.7184213, 52.037982453, 149.5},
		{-2.717983216, 52.036454363, 143.25},
		{-2.717983216, 52.036813913, 144.75},
		{-2.717545132, 52.036813913, 146.5},
		{-2.717545132, 52.036454363, 145},
	}
	riseUTM = riseDegrees.in([10][2]float64{ // EPSG:32630
		{519314.92269, 5765100.20899},
		{519555.32558, 5765101.14625},
		{519554.97261, 5765191.12460},
		{519424.75673, 5765190.61548},
		{519424.32819, 5765300.58901},
		{519314.14794, 5765300.16088},
		{519344.85666, 5765130.31830},
		{519344.70147, 5765170.30861},
		{519374.75141, 5765170.42531},
		{519374.90684, 5765130.43500},
	}, 1)
	riseNational = riseDegrees.in([10][2]float64{ // EPSG:27700, such that cs2cs finds the degrees again
		{350815.46774, 237774.94193},
		{351055.87386, 237772.57018},
		{351056.75940, 237862.54975},
		{350926.54176, 237863.83300},
		{350927.62697, 237973.80800},
		{350817.44525, 237974.89648},
		{350845.81495, 237804.63801},
		{350846.21021, 237844.62885},
		{350876.26055, 237844.33193},
		{350875.86553, 237804.34109},
	}, 1)
	coastDegrees = parcel{
		{-118.2431127, 34.0522361, 141.25},
		{-118.240510557, 34.0522361, 148.5},
		{-118.240510557, 34.053045089, 150.75},
		{-118.241920051, 34.053045089, 146},
		{-118.241920051, 34.054033853, 152.125},
		{-118.2431127, 34.054033853, 149.5},
		{-118.242787432, 34.052505763, 143.25},
		{-118.242787432, 34.052865313, 144.75},
		{-118.242462164, 34.052865313, 146.5},
		{-118.242462164, 34.052505763, 145},
	}
	coastFeet = coastDegrees.in([10][2]float64{ // EPSG:2229
		{6488024.93465, 1841480.95842},
		{6488813.15325, 1841479.06222},
		{6488813.85768, 1841773.46823},
		{6488386.91011, 1841774.49280},
		{6488387.77613, 1842134.32222},
		{6488026.51701, 1842135.19383},
		{6488123.69905, 1841578.85562},
		{6488124.01509, 1841709.70248},
		{6488222.54171, 1841709.46466},
		{6488222.22609, 1841578.61779},
	}, 1200.0/3937)
)

// in is the parcel with other numbers, its heights in a unit of unitM metres.
func (p parcel) in(xy [10][2]float64, unitM float64) parcel {
	for i := range p {
		p[i] = [3]float64{xy[i][0], xy[i][1], p[i][2] / unitM}
	}
	return p
}

// The .prj files are those of gdalsrsinfo -o wkt_esri (GDAL 3.6.2).
const (
	prjUTM      = `PROJCS["WGS_1984_UTM_Zone_30N",GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",500000.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",-3.0],PARAMETER["Scale_Factor",0.9996],PARAMETER["Latitude_Of_Origin",0.0],UNIT["Meter",1.0]]`
	prjNational = `PROJCS["British_National_Grid",GEOGCS["GCS_OSGB_1936",DATUM["D_OSGB_1936",SPHEROID["Airy_1830",6377563.396,299.3249646]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",400000.0],PARAMETER["False_Northing",-100000.0],PARAMETER["Central_Meridian",-2.0],PARAMETER["Scale_Factor",0.9996012717],PARAMETER["Latitude_Of_Origin",49.0],UNIT["Meter",1.0]]`
	prjFeet     = `PROJCS["NAD_1983_StatePlane_California_V_FIPS_0405_Feet",GEOGCS["GCS_North_American_1983",DATUM["D_North_American_1983",SPHEROID["GRS_1980",6378137.0,298.257222101]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Lambert_Conformal_Conic"],PARAMETER["False_Easting",6561666.667],PARAMETER["False_Northing",1640416.667],PARAMETER["Central_Meridian",-118.0],PARAMETER["Standard_Parallel_1",35.4666666666667],PARAMETER["Standard_Parallel_2",34.0333333333333],PARAMETER["Latitude_Of_Origin",33.5],UNIT["US survey foot",0.304800609601219]]`
)

// num writes a number as people do, without powers of ten.
func num(x float64) string {
	return strings.TrimRight(strings.TrimRight(fmt.Sprintf("%.9f", x), "0"), ".")
}

// list writes a ring, closed if asked, a position at a time.
func list(ring [][3]float64, closed bool, between string, one func(c [3]float64) string) string {
	var w []string
	for i := range ring {
		w = append(w, one(ring[i]))
	}
	if closed {
		w = append(w, one(ring[0]))
	}
	return strings.Join(w, between)
}

// comma and blank write a position with its height.
func comma(c [3]float64) string { return num(c[0]) + "," + num(c[1]) + "," + num(c[2]) }
func blank(c [3]float64) string { return strings.ReplaceAll(comma(c), ",", " ") }

// asJSON is GeoJSON (RFC 7946), with the old member for the system if named.
func (p parcel) asJSON(system string) string {
	pos := func(c [3]float64) string { return "[" + comma(c) + "]" }
	if system != "" {
		system = fmt.Sprintf(`"crs":{"type":"name","properties":{"name":%q}},`, system)
	}
	return fmt.Sprintf(`{"type":"FeatureCollection",%s"features":[{"type":"Feature","properties":{"name":"Long Piece"},"geometry":{"type":"Polygon","coordinates":[[%s],[%s]]}}]}`,
		system, list(p.outer(), true, ",", pos), list(p.pond(), true, ",", pos))
}

// asLine is the one feature of GeoJSON alone.
func (p parcel) asLine() string {
	_, s, _ := strings.Cut(p.asJSON(""), `"features":[`)
	return strings.TrimSuffix(s, "]}")
}

// asRings is the JSON of feature services: outer rings clockwise.
func (p parcel) asRings(code int) string {
	pos := func(c [3]float64) string { return "[" + comma(c) + "]" }
	return fmt.Sprintf(`{"geometryType":"esriGeometryPolygon","hasZ":true,"spatialReference":{"wkid":%d},"features":[{"attributes":{"name":"Long Piece"},"geometry":{"hasZ":true,"rings":[[%s],[%s]]}}]}`,
		code, list(turned(p.outer()), true, ",", pos), list(turned(p.pond()), true, ",", pos))
}

func turned(ring [][3]float64) (out [][3]float64) {
	for i := range ring {
		out = append(out, ring[len(ring)-1-i])
	}
	return out
}

func (p parcel) asKML() string {
	ring := func(r [][3]float64) string {
		return "<LinearRing><coordinates>\n" + list(r, true, "\n", comma) + "\n</coordinates></LinearRing>"
	}
	return `<?xml version="1.0" encoding="UTF-8"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document><Placemark><name>Long Piece</name><Polygon><altitudeMode>absolute</altitudeMode>` +
		"<outerBoundaryIs>" + ring(p.outer()) + "</outerBoundaryIs><innerBoundaryIs>" + ring(p.pond()) + "</innerBoundaryIs></Polygon></Placemark></Document></kml>"
}

// asGPX is the outer ring as a track or a route.
func (p parcel) asGPX(track bool) string {
	point, open, end := "rtept", "<rte><name>Long Piece</name>", "</rte>"
	if track {
		point, open, end = "trkpt", "<trk><name>Long Piece</name><trkseg>", "</trkseg></trk>"
	}
	return `<gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1">` + open +
		list(p.outer(), true, "\n", func(c [3]float64) string {
			return fmt.Sprintf(`<%s lat="%s" lon="%s"><ele>%s</ele></%s>`, point, num(c[1]), num(c[0]), num(c[2]), point)
		}) + end + "</gpx>"
}

func (p parcel) asWKT() string {
	return "POLYGON Z ((" + list(p.outer(), true, ", ", blank) + "), (" + list(p.pond(), true, ", ", blank) + "))\n"
}

// asTask is ISO 11783-10: version 3 has all rings in one PLN, version 4 may
// leave them open; heights are in millimetres.
func (p parcel) asTask(version int) string {
	ring := func(kind int, r [][3]float64) string {
		return fmt.Sprintf(`<LSG A="%d">`, kind) + list(r, version < 4, "", func(c [3]float64) string {
			return fmt.Sprintf(`<PNT A="2" C="%s" D="%s" E="%.0f"/>`, num(c[1]), num(c[0]), c[2]*1000)
		}) + "</LSG>"
	}
	return fmt.Sprintf(`<?xml version="1.0" encoding="UTF-8"?><ISO11783_TaskData VersionMajor="%d" VersionMinor="0" DataTransferOrigin="1"><PFD A="PFD1" C="Long Piece" D="36000"><PLN A="1">`, version) +
		ring(1, p.outer()) + ring(2, p.pond()) + "</PLN></PFD></ISO11783_TaskData>"
}

// asList is a list of the corners, line by line.
func (p parcel) asList(header string, one func(no int, c [3]float64) string) string {
	no := 0
	return header + list(p.outer(), false, "\n", func(c [3]float64) string { no++; return one(no, c) }) + "\n"
}

// dms writes an angle in degrees, minutes and seconds to 0.3 mm.
func dms(deg float64, plus, minus string) string {
	if deg < 0 {
		deg, plus = -deg, minus
	}
	s := math.Round(deg*3600*1e5) / 1e5
	d, m := math.Floor(s/3600), math.Floor(math.Mod(s, 3600)/60)
	return fmt.Sprintf(`%.0f°%02.0f'%08.5f"%s`, d, m, s-3600*d-60*m, plus)
}

// asShape is a .shp of one polygon, with heights or without (ESRI Shapefile
// Technical Description, 1998, pages 4 to 8 and 20).
func (p parcel) asShape(heights bool) []byte {
	le, kind := binary.LittleEndian, int32(5)
	if heights {
		kind = 15
	}
	outer, pond := turned(p.outer()), turned(p.pond())
	points := append(append(outer, outer[0]), append(pond, pond[0])...)
	box := []float64{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	var xy, z []float64
	low, high := math.Inf(1), math.Inf(-1)
	for _, c := range points {
		xy, z = append(xy, c[0], c[1]), append(z, c[2])
		box = []float64{min(box[0], c[0]), min(box[1], c[1]), max(box[2], c[0]), max(box[3], c[1])}
		low, high = min(low, c[2]), max(high, c[2])
	}
	rec, _ := binary.Append(nil, le, kind)
	for _, v := range []any{box, int32(2), int32(len(points)), int32(0), int32(len(outer) + 1), xy} {
		rec, _ = binary.Append(rec, le, v)
	}
	if heights {
		rec, _ = binary.Append(rec, le, append([]float64{low, high}, z...))
	}
	head := make([]byte, 24)
	binary.BigEndian.PutUint32(head, 9994)
	head, _ = binary.Append(head, binary.BigEndian, int32(100+8+len(rec))/2)
	head, _ = binary.Append(head, le, []int32{1000, kind})
	head, _ = binary.Append(head, le, append(box, low, high, 0, 0))
	head, _ = binary.Append(head, binary.BigEndian, []int32{1, int32(len(rec) / 2)})
	return append(head, rec...)
}

// zipped is a zip archive of names and contents in turn.
func zipped(t *testing.T, members ...string) string {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i := 0; i < len(members); i += 2 {
		w, err := z.Create(members[i])
		require.NoError(t, err)
		_, err = w.Write([]byte(members[i+1]))
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return b.String()
}
