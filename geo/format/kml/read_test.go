package kml_test

import (
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/kml"
	"hemrow/geo/format/markup/markuptest"
)

func read(in string) (format.File, error) { return kml.Read("north.kml", strings.NewReader(in)) }

func document(inside ...string) string {
	return `<?xml version="1.0" encoding="UTF-8"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document>` + strings.Join(inside, "\n") + `</Document></kml>`
}

func mark(inside string) string { return "<Placemark><name>North</name>" + inside + "</Placemark>" }

func ringXML(list string) string {
	return "<LinearRing><coordinates>" + list + "</coordinates></LinearRing>"
}

func polygonXML(outer string, holes ...string) string {
	s := "<Polygon><outerBoundaryIs>" + ringXML(outer) + "</outerBoundaryIs>"
	for _, h := range holes {
		s += "<innerBoundaryIs>" + ringXML(h) + "</innerBoundaryIs>"
	}
	return s + "</Polygon>"
}

const square = "15,46 15.1,46 15.1,46.1 15,46.1 15,46"

func lineXML(list string) string {
	return "<LineString><coordinates>" + list + "</coordinates></LineString>"
}

func ExampleRead() {
	in := `<kml><Placemark id="kr-1"><name>Hazel bank</name>
	<Polygon><outerBoundaryIs><LinearRing><coordinates>
	15.45,46.95 15.451,46.95 15.451,46.951 15.45,46.95
	</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></kml>`
	f, err := kml.Read("hazel.kml", strings.NewReader(in))
	fmt.Println(f.Format, f.Reference.WGS84, err)
	for _, one := range f.Features {
		fmt.Println(one.Number, one.ID, one.Name, len(one.Polygons[0][0]), one.Polygons[0][0][1].X)
	}
	// Output:
	// KML true <nil>
	// 1 kr-1 Hazel bank 4 15.451
}

// What the files in testdata say, as a person reads them.
func TestGolden(t *testing.T) {
	in, err := os.ReadFile("testdata/rise.kml")
	require.NoError(t, err)
	f, err := read(string(in))
	require.NoError(t, err)
	assert.Equal(t, "KML", f.Format)
	assert.Equal(t, "north.kml", f.Name)
	assert.Equal(t, format.Reference{WGS84: true, Declared: "WGS84, as every KML file"}, f.Reference)
	require.Len(t, f.Features, 4)
	bank := f.Features[0]
	assert.Equal(t, "kr-1", bank.ID)
	assert.Equal(t, "Hazel bank", bank.Name)
	assert.Equal(t, 6, bank.Line)
	assert.Equal(t, map[string]any{"crop": "hazel", "area_ha": "1.19"}, bank.Properties)
	require.Len(t, bank.Polygons, 1)
	require.Len(t, bank.Polygons[0], 3)
	assert.Len(t, bank.Polygons[0][0], 5)
	assert.InDelta(t, 46.951061439, bank.Polygons[0][0][2].Y, 0)
	plum := f.Features[1]
	assert.Equal(t, 2, plum.Number)
	require.Len(t, plum.Polygons, 2)
	assert.InDelta(t, 412.25, plum.Polygons[1][0][1].Z, 0)
	assert.Equal(t, 30, f.Features[2].Line)
	assert.Equal(t, format.Coord{X: 15, Y: 46, Z: math.NaN()}.X, f.Features[2].Lines[0][2].X)
	assert.Len(t, f.Features[3].Points, 1)
	n := markuptest.NoteOf(t, f, geo.NoteHeightDatum)
	assert.InDelta(t, 8, n.Value, 0)
	assert.Equal(t, "north.kml: feature 2", n.Place)
	assert.Contains(t, n.Text, "EGM96")
	assert.Len(t, f.Notes, 1)
}

// GDAL (drivers LIBKML and KML, gdal-bin of Debian) reads the same shapes.
func TestEqualsGDAL(t *testing.T) {
	for file, layer := range map[string]string{"rise.kml": "Kestrel Rise", "log.kml": "Logs"} {
		t.Run(file, func(t *testing.T) {
			in, err := os.ReadFile("testdata/" + file)
			require.NoError(t, err)
			f, err := read(string(in))
			require.NoError(t, err)
			markuptest.Same(t, f.Features, markuptest.GDAL(t, "testdata/"+file, layer))
		})
	}
}

// Whatever is written is read, to the last bit.
func TestReadsWhatIsWritten(t *testing.T) {
	number := func(t *rapid.T, limit float64) (float64, string) {
		v := rapid.Float64Range(-limit, limit).Draw(t, "v")
		return v, strconv.FormatFloat(v, rapid.SampledFrom([]byte("gf")).Draw(t, "notation"), -1, 64)
	}
	rapid.Check(t, func(t *rapid.T) {
		high := rapid.Bool().Draw(t, "heights")
		path := func() (out []format.Coord, text string) {
			for range rapid.IntRange(1, 6).Draw(t, "n") {
				c := markuptest.Coord(0, 0)
				var x, y, z string
				c.X, x = number(t, 180)
				c.Y, y = number(t, 90)
				text += rapid.SampledFrom([]string{" ", "\n", "\t ", "\r\n"}).Draw(t, "blank") + x + "," + y
				if high {
					c.Z = rapid.Float64Range(1, 9000).Draw(t, "z")
					z = strconv.FormatFloat(c.Z, 'f', -1, 64)
					text += "," + z
				}
				out = append(out, c)
			}
			return out, text
		}
		mode := ""
		if high {
			mode = "<altitudeMode>absolute</altitudeMode>"
		}
		var want format.Feature
		body := ""
		for range rapid.IntRange(1, 4).Draw(t, "shapes") {
			p, text := path()
			switch rapid.IntRange(0, 2).Draw(t, "kind") {
			case 0:
				want.Lines = append(want.Lines, p)
				body += "<LineString>" + mode + "<coordinates>" + text + "</coordinates></LineString>"
			case 1:
				want.Points = append(want.Points, p[0])
				body += "<Point>" + mode + "<coordinates>" + strings.Fields(text)[0] + "</coordinates></Point>"
			case 2:
				hole, holeText := path()
				want.Polygons = append(want.Polygons, format.Polygon{p, hole})
				body += strings.Replace(polygonXML(text, holeText), "<Polygon>", "<Polygon>"+mode, 1)
			}
		}
		f, err := read(document(mark("<MultiGeometry>" + body + "</MultiGeometry>")))
		require.NoError(t, err)
		require.Equal(t, markuptest.Shapes(want), markuptest.Shapes(f.Features[0]))
	})
}
