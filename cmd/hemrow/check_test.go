package main

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/format/shapefile"
)

// A piece of Kestrel Rise, invented, in every format that check reads.
const (
	risePolygon = `{"type":"Polygon","coordinates":[[[-2.7184213,52.0361847],[-2.7149166,52.0361847],[-2.7149166,52.0369937],[-2.7184213,52.0379825],[-2.7184213,52.0361847]],[[-2.7179832,52.0364544],[-2.7179832,52.0368139],[-2.7175451,52.0368139],[-2.7179832,52.0364544]]]}`
	riseJSON    = `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"name":"Long Piece"},"geometry":` + risePolygon + `}]}`
	riseKML     = `<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Placemark><name>Long Piece</name><Polygon><outerBoundaryIs><LinearRing><coordinates>
-2.7184213,52.0361847,141 -2.7149166,52.0361847,148 -2.7149166,52.0369937,150 -2.7184213,52.0379825,149 -2.7184213,52.0361847,141
</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></Document></kml>`
	riseGPX = `<gpx version="1.1"><trk><name>Walk round</name><trkseg><trkpt lat="52.0361847" lon="-2.7184213"/><trkpt lat="52.0361847" lon="-2.7149166"/>
<trkpt lat="52.0369937" lon="-2.7149166"/><trkpt lat="52.0379825" lon="-2.7184213"/><trkpt lat="52.0361850" lon="-2.7184211"/></trkseg></trk></gpx>`
	riseTask = `<ISO11783_TaskData VersionMajor="4" VersionMinor="0" DataTransferOrigin="1"><PFD A="PFD1" C="Long Piece" D="0"><PLN A="1"><LSG A="1">
<PNT A="2" C="52.0361847" D="-2.7184213"/><PNT A="2" C="52.0361847" D="-2.7149166"/><PNT A="2" C="52.0369937" D="-2.7149166"/><PNT A="2" C="52.0379825" D="-2.7184213"/></LSG></PLN></PFD></ISO11783_TaskData>`
	riseWKT     = "POLYGON ((-2.7184213 52.0361847, -2.7149166 52.0361847, -2.7149166 52.0369937, -2.7184213 52.0379825, -2.7184213 52.0361847))\n"
	riseCorners = "1;237774,942;350815,468;141,25;gate\n2;237772,570;351055,874;148,50;oak\n3;237862,550;351056,759;150,75;post\n4;237974,896;350817,445;149,50;post\n"
	riseLevels  = "E,N,Z\n350815.47,237774.94,141.25\n351055.87,237772.57,148.5\n350817.45,237974.9,149.5\n351056.76,237862.55,150.75\n350930.11,237805.02,145.1\n"
	riseGrid    = "ncols 4\nnrows 3\nxllcorner 350800\nyllcorner 237700\ncellsize 100\nNODATA_value -9999\n140 142 144 146\n145 147 149 151\n150 152 -9999 156\n"
	risePRJ     = `PROJCS["British_National_Grid",GEOGCS["GCS_OSGB_1936",DATUM["D_OSGB_1936",SPHEROID["Airy_1830",6377563.396,299.3249646]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",400000.0],PARAMETER["False_Northing",-100000.0],PARAMETER["Central_Meridian",-2.0],PARAMETER["Scale_Factor",0.9996012717],PARAMETER["Latitude_Of_Origin",49.0],UNIT["Meter",1.0]]`
)

// riseSet is a shapefile of two parcels.
func riseSet(t *testing.T) []shapefile.Member {
	t.Helper()
	box := func(west, south float64) [][]shapefile.Path {
		e, n := west+0.002, south+0.001
		return [][]shapefile.Path{{{At: []geo.LonLat{
			{LonDeg: west, LatDeg: south}, {LonDeg: west, LatDeg: n}, {LonDeg: e, LatDeg: n}, {LonDeg: e, LatDeg: south}, {LonDeg: west, LatDeg: south},
		}}}}
	}
	set, err := shapefile.WriteSet(shapefile.Layer{
		Name: "parcels", Kind: shapefile.Polygons, Fields: []shapefile.Field{{Name: "name", Type: shapefile.TextField, Width: 20}},
		Records: []shapefile.Record{
			{Polygons: box(-2.7184, 52.0362), Values: []any{"Upper Piece"}},
			{Polygons: box(-2.7184, 52.0382), Values: []any{"Lower Piece"}},
		},
		Date: time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC),
	})
	require.NoError(t, err)
	return set
}

// packFile writes a zip archive.
func packFile(t *testing.T, dir, name string, members ...shapefile.Member) {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, m := range members {
		w, err := z.Create(m.Name)
		require.NoError(t, err)
		_, err = w.Write(m.Data)
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	write(t, dir, name, b.String())
}

// deliver fills a folder with a file of each format and makes it the current
// one, so that messages name files alone.
func deliver(t *testing.T) {
	t.Helper()
	dir := t.TempDir()
	for name, text := range map[string]string{
		"long-piece.geojson": riseJSON, "long-piece.kml": riseKML, "walk.gpx": riseGPX, "TASKDATA.XML": riseTask, "long-piece.wkt": riseWKT,
		"corners.txt": riseCorners, "levels.csv": riseLevels, "levels.prj": risePRJ, "hill.asc": riseGrid, "hill.prj": risePRJ, "bow.geojson": bowTie,
		"grid.geojson": strings.Replace(strings.Replace(riseJSON, `"features"`, `"crs":{"type":"name","properties":{"name":"EPSG:27700"}},"features"`, 1),
			risePolygon, `{"type":"Polygon","coordinates":[[[350815.468,237774.942],[351055.874,237772.57],[351056.759,237862.55],[350817.445,237974.896],[350815.468,237774.942]]]}`, 1),
		"many.ndjson": strings.Repeat(strings.Replace(bowTie, "\n", "", -1)+"\n", 2),
		"stick.txt":   "0\nSECTION\n2\nHEADER\n", "page.kml": "<!DOCTYPE html><html></html>",
	} {
		write(t, dir, name, text)
	}
	packFile(t, dir, "parcels.zip", riseSet(t)...)
	packFile(t, dir, "long-piece.kmz", shapefile.Member{Name: "doc.kml", Data: []byte(riseKML)})
	t.Chdir(dir)
}

// What check says of one file of each format, as a grower reads it. Rewrite
// with -update and read the diff.
func TestGoldenCheck(t *testing.T) {
	golden, err := filepath.Abs(filepath.Join("testdata", "check"))
	require.NoError(t, err)
	deliver(t)
	for _, c := range []struct {
		name string
		code int
		args []string
	}{
		{"geojson", 0, []string{"long-piece.geojson"}},
		{"geojson-national-grid", 0, []string{"grid.geojson"}},
		{"shapefile", 0, []string{"parcels.zip"}},
		{"kml", 0, []string{"long-piece.kml"}},
		{"kmz", 0, []string{"long-piece.kmz"}},
		{"gpx", 0, []string{"walk.gpx"}},
		{"task-data", 0, []string{"TASKDATA.XML"}},
		{"well-known-text", 0, []string{"long-piece.wkt"}},
		{"corners", 0, []string{"corners.txt", "--crs", "EPSG:27700"}},
		{"levels", 0, []string{"levels.csv"}},
		{"ascii-grid", 0, []string{"hill.asc"}},
		{"bow-tie", 3, []string{"bow.geojson"}},
		{"bow-ties", 3, []string{"many.ndjson"}},
		{"drawing", 3, []string{"stick.txt"}},
		{"web-page", 3, []string{"page.kml"}},
		{"no-file", 3, []string{"none.shp"}},
		{"two-files", 3, []string{"none.shp", "long-piece.wkt"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			code, out, errw := call(t, "", append([]string{"check"}, c.args...)...)
			assert.Equal(t, c.code, code, errw)
			got := fmt.Sprintf("$ hemrow check %s\n%s", strings.Join(c.args, " "), out)
			if errw != "" {
				got += "\n" + errw
			}
			path := filepath.Join(golden, c.name+".txt")
			if *update {
				require.NoError(t, os.MkdirAll(golden, 0o755))
				require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
			}
			want, err := os.ReadFile(path)
			require.NoError(t, err)
			assert.Equal(t, string(want), got)
		})
	}
}

// Corners in metres without a word of their system are refused with what to do.
func TestCheckWithoutSystem(t *testing.T) {
	deliver(t)
	code, out, errw := call(t, "", "check", "corners.txt")
	assert.Equal(t, 3, code)
	assert.Contains(t, out, "coordinates: not known")
	assert.NotContains(t, out, "lies at")
	assert.Contains(t, errw, "does not say in which reference system")
	assert.Contains(t, errw, "--crs EPSG:")
}

// A file is named once at its head, not on each line about it.
func TestCheckNamesTheFileOnce(t *testing.T) {
	deliver(t)
	for _, name := range []string{"long-piece.geojson", "grid.geojson", "parcels.zip", "long-piece.kml", "walk.gpx", "TASKDATA.XML", "levels.csv", "hill.asc"} {
		code, out, errw := call(t, "", "check", name)
		require.Equal(t, 0, code, errw)
		assert.Equal(t, 1, strings.Count(out, name), out)
	}
}

// What outlines writes holds what check found in the file it was made of.
func TestOutlinesRoundTrip(t *testing.T) {
	deliver(t)
	for name, features := range map[string]int{
		"long-piece.geojson": 1, "grid.geojson": 1, "parcels.zip": 2, "long-piece.kml": 1, "long-piece.kmz": 1, "TASKDATA.XML": 1, "long-piece.wkt": 1, "walk.gpx": 1, "levels.csv": 1,
	} {
		t.Run(name, func(t *testing.T) {
			code, out, errw := call(t, "", "outlines", name)
			require.Equal(t, 0, code, errw)
			lines := strings.Split(strings.TrimSpace(out), "\n")
			require.Len(t, lines, features)
			for _, line := range lines {
				assert.True(t, json.Valid([]byte(line)), line)
			}
			code, again, errw := call(t, out, "outlines", "-")
			require.Equal(t, 0, code, errw)
			assert.Equal(t, out, again, "its own output is left as it is")

			_, before, _ := call(t, "", "check", name)
			_, after, _ := call(t, out, "check", "-")
			if name == "walk.gpx" || name == "levels.csv" {
				return // GeoJSON does not say that a track or a list is an outline
			}
			assert.Equal(t, sizes(before), sizes(after))
			assert.NotEmpty(t, sizes(after))
		})
	}
}

// sizes are the lines of check that say how large things are and where.
func sizes(out string) (lines []string) {
	for _, l := range strings.Split(out, "\n") {
		if strings.Contains(l, " ha, ") || strings.Contains(l, "lies at") {
			lines = append(lines, l)
		}
	}
	return lines
}

// outlines names the features it leaves out, and keeps the rest.
func TestOutlinesLeavesOut(t *testing.T) {
	bad := strings.Replace(square, "-18.4,47.2]", "534243.1,5199706.0]", 1)
	code, out, errw := call(t, square+"\n"+`{"type":"Feature","properties":{},"geometry":{"type":"Polygon","coordinates":[[[1,null]]]}}`+"\n"+bad+"\n", "outlines", "-")
	assert.Equal(t, 3, code)
	assert.Contains(t, errw, "feature 2")
	assert.Contains(t, errw, "feature 3")
	assert.Contains(t, errw, "2 features left out")
	assert.Equal(t, 1, strings.Count(out, "\n"))
}
