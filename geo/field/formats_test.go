package field_test

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/field"
	"hemrow/geo/format/delivery"
)

// agreeM is how far a field may lie from the same field in another format.
const agreeM = 0.001

// Areas by Planimeter of GeographicLib 2.1.2 (WGS84, geodesic), outline and
// pond.
var (
	riseM2  = [2]float64{33774.9461, 1202.6802}
	coastM2 = [2]float64{33635.8428, 1197.7209}
)

// rendition is the parcel in one format.
type rendition struct {
	name  string
	truth parcel
	areas [2]float64
	path  string // "." for the folder
	files []string
	opt   delivery.Options
	spec  field.Spec
	plain bool // no heights
	whole bool // no pond: the format knows no holes, or the list has only corners
}

func renditions(t *testing.T) []rendition {
	p, utm, nat, feet := riseDegrees, riseUTM, riseNational, coastFeet
	shp := func(q parcel, z bool) string { return string(q.asShape(z)) }
	grid := field.Spec{CRS: "EPSG:32630"}
	list := []rendition{
		{name: "GeoJSON", path: "a.geojson", files: []string{p.asJSON("")}},
		{name: "20 GeoJSON with an old crs member", path: "a.json", files: []string{nat.asJSON("urn:ogc:def:crs:EPSG::27700")}},
		{name: "14 GeoJSON in metres, the system given", path: "a.json", files: []string{utm.asJSON("")}, spec: grid},
		{name: "45 GeoJSON, a feature a line", path: "a.ndjson", files: []string{p.asLine() + "\n"}},
		{name: "45 Esri rings", path: "a.json", files: []string{utm.asRings(32630)}},
		{name: "45 Esri rings in a national grid", path: "a.json", files: []string{nat.asRings(27700)}},
		{name: "30 shapefile with heights, UTM", path: "a.shp", files: []string{shp(utm, true), "a.prj", prjUTM}},
		{name: "shapefile without heights, UTM", path: "a.shp", files: []string{shp(utm, false), "a.prj", prjUTM}, plain: true},
		{name: "shapefile, national grid", path: "a.shp", files: []string{shp(nat, true), "a.prj", prjNational}},
		{name: "19 shapefile, US survey feet", truth: coastDegrees, areas: coastM2, path: "a.shp", files: []string{shp(feet, true), "a.prj", prjFeet}},
		{name: "17 shapefile without .prj, the system given", path: "a.shp", files: []string{shp(utm, true)}, spec: grid},
		{name: "17 shapefile in degrees without .prj", path: "a.shp", files: []string{shp(p, true)}},
		{name: "shapefile by its folder", path: ".", files: []string{"", "in/a.shp", shp(nat, true), "in/a.prj", prjNational}},
		{name: "22 shapefile zipped", path: "a.zip", files: []string{zipped(t, "in/a.shp", shp(nat, true), "in/a.prj", prjNational, "__MACOSX/._a.shp", "x")}},
		{name: "KML", path: "a.kml", files: []string{p.asKML()}},
		{name: "KMZ", path: "a.kmz", files: []string{zipped(t, "doc.kml", p.asKML())}},
		{name: "56 GPX track", path: "a.gpx", files: []string{p.asGPX(true)}, whole: true},
		{name: "56 GPX route", path: "a.gpx", files: []string{p.asGPX(false)}, whole: true},
		{name: "12 corners, longitude and latitude", path: "a.csv", whole: true, files: []string{p.asList("lon,lat,height\n", func(_ int, c [3]float64) string { return comma(c) })}},
		{name: "12 corners, easting and northing", path: "a.csv", spec: grid, whole: true, files: []string{utm.asList("E,N,Z\n", func(_ int, c [3]float64) string { return comma(c) })}},
		{name: "53 corners, northing first, decimal commas", path: "a.txt", spec: field.Spec{CRS: "27700"}, whole: true, files: []string{
			nat.asList("", func(no int, c [3]float64) string {
				return strings.ReplaceAll(fmt.Sprintf("%d;%.5f;%.5f;%.3f;corner", no, c[1], c[0], c[2]), ".", ",")
			}),
		}},
		{name: "54 corners, columns said", path: "a.txt", spec: grid, opt: delivery.Options{Columns: "NEZ"}, whole: true, files: []string{
			utm.asList("", func(_ int, c [3]float64) string { return fmt.Sprintf("%.5f %.5f %.3f", c[1], c[0], c[2]) }),
		}},
		{name: "52 corners in degrees, minutes, seconds", path: "a.csv", whole: true, files: []string{
			p.asList("lat;lon;height\n", func(_ int, c [3]float64) string {
				return fmt.Sprintf("%s;%s;%.3f", dms(c[1], "N", "S"), dms(c[0], "E", "W"), c[2])
			}),
		}},
		{name: "well-known text", path: "a.wkt", files: []string{p.asWKT()}},
		{name: "well-known text with a number of its system", path: "a.wkt", files: []string{"SRID=27700;" + nat.asWKT()}},
		{name: "well-known text in a column", path: "a.csv", files: []string{"name;wkt\nLong Piece;" + utm.asWKT()}, spec: grid},
		{name: "57 task data, version 3", path: "TASKDATA.XML", files: []string{p.asTask(3)}},
		{name: "57 task data, version 4", path: ".", files: []string{"", "TASKDATA/TASKDATA.XML", p.asTask(4)}},
		{name: "57 task data, zipped", path: "a.zip", files: []string{zipped(t, "TASKDATA/TASKDATA.XML", p.asTask(4))}},
	}
	for i := range list {
		if list[i].areas[0] == 0 {
			list[i].truth, list[i].areas = riseDegrees, riseM2
		}
	}
	return list
}

// source is the rendition as it is handed over.
func (r rendition) source() delivery.Source {
	fsys := fstest.MapFS{}
	if r.path != "." {
		fsys["in/"+r.path] = &fstest.MapFile{Data: []byte(r.files[0])}
	}
	for i := 1; i < len(r.files); i += 2 {
		fsys["in/"+strings.TrimPrefix(r.files[i], "in/")] = &fstest.MapFile{Data: []byte(r.files[i+1])}
	}
	if r.path == "." {
		return delivery.Source{FS: fsys, Path: "in"}
	}
	return delivery.Source{FS: fsys, Path: "in/" + r.path}
}

// The same parcel through every format is the same field within 1 mm: corners
// from the nearest, areas by as much as the outline may shift, mean heights.
func TestFormatsAgree(t *testing.T) {
	for _, r := range renditions(t) {
		t.Run(r.name, func(t *testing.T) {
			file, err := delivery.Read(r.source(), r.opt)
			require.NoError(t, err)
			f, _, err := field.Build(context.Background(), file, nil, r.spec)
			require.NoError(t, err)
			require.Len(t, f.Blocks, 1)
			got := f.Blocks[0].Outline
			rings := [][][3]float64{r.truth.outer(), r.truth.pond()}
			m2 := r.areas[0] - r.areas[1]
			if r.whole {
				rings, m2 = rings[:1], r.areas[0]
			}
			require.Len(t, got, len(rings))
			worst, aroundM, meanM, n := 0.0, 0.0, 0.0, 0.0
			for k, ring := range rings {
				worst = max(worst, betweenM(f.Frame, ring, got[k]))
				aroundM += f.Frame.AroundM(got[k])
				for _, c := range ring {
					meanM, n = meanM+c[2], n+1
				}
			}
			assert.Less(t, worst, agreeM)
			assert.InDelta(t, m2, f.Frame.AreaM2(got), agreeM*aroundM)
			h, known := f.Frame.Height()
			assert.Equal(t, !r.plain, known)
			if known {
				assert.InDelta(t, meanM/n, h, agreeM)
			}
		})
	}
}

// betweenM is the Hausdorff distance between corners in degrees and a closed
// ring of a frame; both have as many.
func betweenM(f geo.Frame, corners [][3]float64, ring orb.Ring) float64 {
	if len(ring) != len(corners)+1 {
		return math.Inf(1)
	}
	var want []orb.Point
	for _, c := range corners {
		want = append(want, f.ToLocal(geo.LonLat{LonDeg: c[0], LatDeg: c[1]}))
	}
	return max(oneWayM(want, ring), oneWayM(ring, want))
}

// oneWayM is how far the farthest of a lies from the nearest of b.
func oneWayM(a, b []orb.Point) float64 {
	worst := 0.0
	for _, p := range a {
		least := math.Inf(1)
		for _, q := range b {
			least = min(least, math.Hypot(p[0]-q[0], p[1]-q[1]))
		}
		worst = max(worst, least)
	}
	return worst
}
