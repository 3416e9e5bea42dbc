package delivery_test

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"errors"
	"testing"
	"testing/fstest"
	"time"
	"unicode/utf16"

	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/format/delivery"
	"hemrow/geo/format/shapefile"
)

// One invented piece of land in every format: four corners of Kestrel Rise,
// all of them with a height where the format has one.
const (
	geoJSON = `{"type":"Feature","properties":{"name":"Long Piece"},"geometry":{"type":"Polygon","coordinates":[[[-2.72,52.03,141],[-2.718,52.03,142],[-2.718,52.031,143],[-2.72,52.031,144],[-2.72,52.03,141]]]}}`
	kmlText = `<?xml version="1.0" encoding="UTF-8"?>
<kml xmlns="http://www.opengis.net/kml/2.2"><Placemark><name>Long Piece</name><Polygon><altitudeMode>absolute</altitudeMode><outerBoundaryIs><LinearRing><coordinates>
-2.72,52.03,141 -2.718,52.03,142 -2.718,52.031,143 -2.72,52.031,144 -2.72,52.03,141
</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></kml>`
	gpxText = `<gpx version="1.1"><trk><name>Long Piece</name><trkseg>
<trkpt lat="52.03" lon="-2.72"><ele>141</ele></trkpt><trkpt lat="52.03" lon="-2.718"><ele>142</ele></trkpt>
<trkpt lat="52.031" lon="-2.718"><ele>143</ele></trkpt><trkpt lat="52.031" lon="-2.72"><ele>144</ele></trkpt>
<trkpt lat="52.03" lon="-2.72"><ele>141</ele></trkpt></trkseg></trk></gpx>`
	taskText = `<ISO11783_TaskData VersionMajor="4" VersionMinor="0" DataTransferOrigin="1"><PFD A="PFD1" C="Long Piece" D="0"><PLN A="1"><LSG A="1">
<PNT A="2" C="52.03" D="-2.72" E="141000"/><PNT A="2" C="52.03" D="-2.718" E="142000"/><PNT A="2" C="52.031" D="-2.718" E="143000"/><PNT A="2" C="52.031" D="-2.72" E="144000"/>
</LSG></PLN></PFD></ISO11783_TaskData>`
	wktText = "POLYGON Z ((-2.72 52.03 141,-2.718 52.03 142,-2.718 52.031 143,-2.72 52.031 144,-2.72 52.03 141))\n"
	csvText = "lon,lat,height\n-2.72,52.03,141\n-2.718,52.03,142\n-2.718,52.031,143\n-2.72,52.031,144\n"

	// A grid of heights of four by three cells, and the same as X Y Z.
	ascText = "ncols 4\nnrows 3\nxllcorner 350000\nyllcorner 236000\ncellsize 10\nNODATA_value -9999\n1 2 3 4\n5 6 7 8\n9 10 11 12\n"
	xyzText = "350005 236025 1\n350015 236025 2\n350025 236025 3\n350035 236025 4\n" +
		"350005 236015 5\n350015 236015 6\n350025 236015 7\n350035 236015 8\n" +
		"350005 236005 9\n350015 236005 10\n350025 236005 11\n350035 236005 12\n"
	prjText = `PROJCS["British_National_Grid",GEOGCS["GCS_OSGB_1936",DATUM["D_OSGB_1936",SPHEROID["Airy_1830",6377563.396,299.3249646]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",400000.0],PARAMETER["False_Northing",-100000.0],PARAMETER["Central_Meridian",-2.0],PARAMETER["Scale_Factor",0.9996012717],PARAMETER["Latitude_Of_Origin",49.0],UNIT["Meter",1.0]]`
)

// shapes is the piece as a shapefile called so.
func shapes(t testing.TB, name string) map[string][]byte {
	t.Helper()
	members, err := shapefile.WriteSet(shapefile.Layer{
		Name: name, Kind: shapefile.Polygons, Heights: true,
		Fields: []shapefile.Field{{Name: "name", Type: shapefile.TextField, Width: 20}},
		Records: []shapefile.Record{{
			Polygons: [][]shapefile.Path{{{
				At: []geo.LonLat{
					{LonDeg: -2.72, LatDeg: 52.03},
					{LonDeg: -2.718, LatDeg: 52.03},
					{LonDeg: -2.718, LatDeg: 52.031},
					{LonDeg: -2.72, LatDeg: 52.031},
					{LonDeg: -2.72, LatDeg: 52.03},
				},
				HeightsM: []float64{141, 142, 143, 144, 141},
			}}},
			Values: []any{"Long Piece"},
		}},
		Date: time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC),
	})
	require.NoError(t, err)
	out := map[string][]byte{}
	for _, m := range members {
		out[m.Name] = m.Data
	}
	return out
}

// tiff is a grid of 4 by 3 floats at the same place, written by hand: TIFF 6.0
// (Aldus, 1992) sections 2 and 8, GeoTIFF 1.1 (OGC 19-008r4) tags 33550, 33922
// and 34735.
func tiff() []byte {
	le := binary.LittleEndian
	var extra []byte // behind the directory
	const entries = 12
	at := uint32(8 + 2 + 12*entries + 4)
	put := func(v any) uint32 {
		here := at + uint32(len(extra))
		extra, _ = binary.Append(extra, le, v)
		return here
	}
	strip := put([]float32{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12})
	scale := put([]float64{10, 10, 0})
	tie := put([]float64{0, 0, 0, 350000, 236030, 0})
	keys := put([]uint16{1, 1, 0, 3, 1024, 0, 1, 1, 1025, 0, 1, 1, 3072, 0, 1, 27700})
	b := []byte{'I', 'I', 42, 0, 8, 0, 0, 0, entries, 0}
	tag := func(id, kind uint16, count, value uint32) {
		b, _ = binary.Append(b, le, struct {
			ID, Kind     uint16
			Count, Value uint32
		}{id, kind, count, value})
	}
	const short, long, double = 3, 4, 12
	tag(256, short, 1, 4) // width
	tag(257, short, 1, 3)
	tag(258, short, 1, 32) // bits
	tag(259, short, 1, 1)  // not compressed
	tag(262, short, 1, 1)
	tag(273, long, 1, strip)
	tag(278, short, 1, 3) // rows in the strip
	tag(279, long, 1, 48)
	tag(339, short, 1, 3) // floats
	tag(33550, double, 3, scale)
	tag(33922, double, 6, tie)
	tag(34735, short, 16, keys)
	return append(append(b, 0, 0, 0, 0), extra...)
}

// packed is a zip archive of names and contents in turn.
func packed(t testing.TB, members ...any) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i := 0; i < len(members); i += 2 {
		w, err := z.Create(members[i].(string))
		require.NoError(t, err)
		data, ok := members[i+1].([]byte)
		if !ok {
			data = []byte(members[i+1].(string))
		}
		_, err = w.Write(data)
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return b.Bytes()
}

// packedSet is a zip archive of shapefiles, each under a folder and a name.
func packedSet(t testing.TB, paths ...string) []byte {
	t.Helper()
	var members []any
	for _, p := range paths {
		for _, ext := range []string{".shp", ".shx", ".dbf", ".prj", ".cpg"} {
			members = append(members, p+ext, shapes(t, "x")["x"+ext])
		}
	}
	return packed(t, members...)
}

func wide(text string, order binary.AppendByteOrder) []byte {
	out := order.AppendUint16(nil, 0xFEFF)
	for _, u := range utf16.Encode([]rune(text)) {
		out = order.AppendUint16(out, u)
	}
	return out
}

// folder is a file system of names and contents in turn.
func folder(t testing.TB, members ...any) fstest.MapFS {
	t.Helper()
	out := fstest.MapFS{}
	for i := 0; i < len(members); i += 2 {
		data, ok := members[i+1].([]byte)
		if !ok {
			data = []byte(members[i+1].(string))
		}
		out[members[i].(string)] = &fstest.MapFile{Data: data}
	}
	return out
}

func loose(t testing.TB, dir, name string) fstest.MapFS {
	t.Helper()
	out := fstest.MapFS{}
	for n, b := range shapes(t, name) {
		out[dir+n] = &fstest.MapFile{Data: b}
	}
	return out
}

func at(fsys fstest.MapFS, path string) delivery.Source {
	return delivery.Source{FS: fsys, Path: path}
}

// refused is the error as one of the input.
func refused(t testing.TB, err error) *geo.InputError {
	t.Helper()
	var e *geo.InputError
	require.ErrorAs(t, err, &e)
	require.NotEmpty(t, e.File, "no file named")
	require.False(t, errors.Is(err, errors.ErrUnsupported))
	return e
}
