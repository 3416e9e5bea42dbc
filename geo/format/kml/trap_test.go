package kml_test

import (
	"archive/zip"
	"bytes"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/kml"
	"hemrow/geo/format/markup/markuptest"
)

// What files from phones and viewers come with, and what the package does about
// each (common practice, no source).

func TestNamespaces(t *testing.T) {
	for name, root := range map[string]string{
		"none": "<kml>", "2.0": `<kml xmlns="http://earth.google.com/kml/2.0">`, "2.1": `<kml xmlns="http://earth.google.com/kml/2.1">`,
		"2.2": `<kml xmlns="http://www.opengis.net/kml/2.2">`, "old 2.2": `<kml xmlns="http://earth.google.com/kml/2.2">`,
		"unbound prefix": "<kml>", "prefix": `<k:kml xmlns:k="http://www.opengis.net/kml/2.2">`,
	} {
		t.Run(name, func(t *testing.T) {
			in := root + mark(polygonXML(square)) + mark("<gx:Track><gx:coord>1 2 3</gx:coord></gx:Track>") + "</kml>"
			if name == "prefix" {
				for _, e := range []string{"kml", "Placemark", "name", "Polygon", "outerBoundaryIs", "LinearRing", "coordinates"} {
					in = strings.NewReplacer("<"+e+">", "<k:"+e+">", "</"+e+">", "</k:"+e+">").Replace(in)
				}
			}
			f, err := read(in)
			require.NoError(t, err)
			require.Len(t, f.Features, 2)
			assert.Equal(t, "North", f.Features[0].Name)
			assert.Len(t, f.Features[0].Polygons[0][0], 5)
			assert.Len(t, f.Features[1].Lines[0], 1)
		})
	}
	for _, part := range []string{"Document", "Folder"} {
		f, err := read("<" + part + ">" + mark(lineXML("1,2 3,4")) + "</" + part + ">")
		require.NoError(t, err)
		assert.Len(t, f.Features, 1)
	}
	f, err := read(mark(lineXML("1,2 3,4")))
	require.NoError(t, err)
	assert.Equal(t, "North", f.Features[0].Name)
}

func TestFoldersAndProperties(t *testing.T) {
	f, err := read(document(
		"<Folder><name> Ponds </name>" + mark(`<ExtendedData><SchemaData schemaUrl="#s"><SimpleData name="depth">2</SimpleData><SimpleArrayData name="x"/></SchemaData>
			<Data name=""><value>x</value></Data><Data name="a"/></ExtendedData>`+polygonXML(square)) +
			"<Folder><name>Old</name>" + mark(lineXML("1,2 3,4")) + "<Folder>" + mark(lineXML("1,2 3,4")) + "</Folder></Folder>" + mark(lineXML("1,2 3,4")) + "</Folder>" +
			mark(`<ExtendedData><Data name="folder"><value>mine</value></Data></ExtendedData>`+lineXML("1,2 3,4"))))
	require.NoError(t, err)
	var folders []any
	for _, one := range f.Features {
		folders = append(folders, one.Properties["folder"])
	}
	assert.Equal(t, []any{"Ponds", "Old", nil, "Ponds", "mine"}, folders)
	assert.Equal(t, map[string]any{"folder": "Ponds", "depth": "2"}, f.Features[0].Properties)
}

func TestGeometries(t *testing.T) {
	f, err := read(document(mark(`<MultiGeometry>` + polygonXML(square, "1,2 3,4 5,6 1,2") + `<MultiGeometry><Point><coordinates>7,8</coordinates></Point></MultiGeometry>` +
		ringXML(square) + lineXML("1,2 3,4") + polygonXML(square) + "<Model/></MultiGeometry>")))
	require.NoError(t, err)
	one := f.Features[0]
	require.Len(t, one.Polygons, 2)
	assert.Len(t, one.Polygons[0], 2)
	assert.Len(t, one.Lines, 2, "a ring that is no polygon is a closed line")
	assert.Len(t, one.Points, 1)
	assert.Contains(t, markuptest.NoteOf(t, f, geo.NoteGeometryLeft).Text, "model")

	f, err = read(document(mark("<Polygon><innerBoundaryIs>" + ringXML("1,2 3,4 5,6 1,2") + ringXML("1,2 3,4 5,6 1,2") + "</innerBoundaryIs><outerBoundaryIs>" + ringXML(square) + "</outerBoundaryIs></Polygon>")))
	require.NoError(t, err)
	require.Len(t, f.Features[0].Polygons[0], 3, "holes first, and two in one boundary")
	assert.Len(t, f.Features[0].Polygons[0][0], 5)
}

func TestBlanksAfterCommas(t *testing.T) {
	want := []format.Coord{markuptest.Coord(15, 46), markuptest.Coord(15.5, 46.5), markuptest.Coord(16, 47)}
	for name, list := range map[string]string{
		"in pairs": "15, 46 15.5, 46.5 16, 47", "in threes": "15, 46, 0 15.5, 46.5, 0 16, 47, 0", "in some": "15,46,0 15.5, 46.5,0 16,47, 0",
		"before commas": "15 ,46 15.5 ,46.5 16 ,47", "around commas": "15 , 46\n15.5 , 46.5\n16 , 47", "lines": "15,\n46\n15.5,\n46.5 16,\t47",
		"commas between": "15,46,0, 15.5,46.5,0, 16,47,0,",
	} {
		t.Run(name, func(t *testing.T) {
			f, err := read(document(mark(lineXML(list))))
			require.NoError(t, err)
			assert.Equal(t, markuptest.Shapes(format.Feature{Lines: [][]format.Coord{want}}), markuptest.Shapes(f.Features[0]))
			assert.Contains(t, markuptest.NoteOf(t, f, geo.NoteTextNumber).Text, "only one reading")
		})
	}
	f, err := read(document(mark(lineXML("15,46, 15.5,46.5, 16,47,"))))
	require.NoError(t, err)
	assert.Len(t, f.Features[0].Lines[0], 3, "an empty height is none")
	assert.Empty(t, f.Notes)
	line := func(list string) string { return document(mark(lineXML(list))) }
	markuptest.Refusals(t, read, []markuptest.Refusal{
		{"all commas", line("15, 46, 15.5, 46.5"), `vertex 1: "15," is no position`, "without blanks"},
		{"no commas", line("15 46 16 47"), `vertex 1: "15" is no position`},
		{"decimal commas", line("15,45,46,95\n15,46,46,96"), `vertex 1: "15,45,46,95" is no position`, "decimal point"},
		{"mixed", line("15, 46, 7 15.5, 46.5"), "do not tell where positions end"},
		{"lone number", line("15,46\n\n16 17,48"), "north.kml:3", `vertex 2: "16" is no position`},
		{"empty number", line("15,,46 16,47,48"), `vertex 1: the latitude is missing in "15,,46"`},
		{"leading comma", line(",15,46"), `",15,46" is no position`},
	})
}

func TestNumbers(t *testing.T) {
	second := func(v string) string { return document(mark(lineXML("15,46\n" + v))) }
	hole := document(mark(polygonXML(square)), mark("<MultiGeometry>"+polygonXML(square)+polygonXML(square, square, "1,2 3,4 x,6 1,2")+"</MultiGeometry>"))
	markuptest.Refusals(t, read, []markuptest.Refusal{
		{"text", second("15°,46"), "north.kml:2", `feature 1 "North", vertex 2`, `the longitude is the text "15°", which is no plain number in "15°,46"`},
		{"not finite", second("15,NaN"), `the latitude is the text "NaN"`},
		{"infinite", second("Infinity,46"), `the longitude is the text "Infinity"`},
		{"too large", second("15,1e999"), "too large a number"},
		{"hex", second("0x0F,46"), "no plain number"},
		{"height", second("15,46,high"), `the height is the text "high"`},
		{"place", hole, "north.kml:2", `feature 2 "North", part 2, hole 2, vertex 3: the longitude is the text "x"`},
		{"two in a point", document(mark("<Point><coordinates>1,2 3,4</coordinates></Point>")), "vertex 2: a Point has more than one position"},
		{"track", document(mark("<gx:Track><gx:coord>1 2 3</gx:coord>\n<gx:coord>1,2,3</gx:coord></gx:Track>")), "north.kml:2", "vertex 2", `"1,2,3" is no position`},
		{"track number", document(mark("<gx:MultiTrack><gx:Track/><gx:Track><gx:coord>1 2 3</gx:coord></gx:Track><gx:Track><gx:coord>1 z</gx:coord></gx:Track></gx:MultiTrack>")), "part 2, vertex 1", `the text "z"`},
		{"second outer ring", document(mark("<Polygon><outerBoundaryIs>" + ringXML(square) + "</outerBoundaryIs><outerBoundaryIs>" + ringXML(square) + "</outerBoundaryIs></Polygon>")), "second outer ring"},
		{"holes only", document(mark("<Polygon><innerBoundaryIs>" + ringXML(square) + "</innerBoundaryIs></Polygon>")), "holes but no outer ring"},
		{"empty outer ring", document(mark(polygonXML(" ", square))), "holes but no outer ring"},
	})
}

func TestHeights(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name, mode, list string
		want             []float64
		code             geo.Code
		count            float64
		severity         geo.Severity
	}{
		{"flat", "", "1,2 3,4", []float64{nan, nan}, "", 0, 0},
		{"zero by default", "", "1,2,0 3,4,0", []float64{nan, nan}, "", 0, 0},
		{"clamped", "clampToGround", "1,2,411 3,4,0", []float64{nan, nan}, geo.NoteHeightMissing, 1, geo.Info},
		{"default", "", "1,2,411 3,4,412", []float64{nan, nan}, geo.NoteHeightMissing, 2, geo.Info},
		{"relative", "relativeToGround", "1,2,7 3,4,8", []float64{nan, nan}, geo.NoteHeightMissing, 2, geo.Info},
		{"sea floor", "clampToSeaFloor", "1,2,7 3,4,8", []float64{nan, nan}, geo.NoteHeightMissing, 2, geo.Info},
		{"absolute", "absolute", "1,2,411.5 3,4,-2", []float64{411.5, -2}, geo.NoteHeightDatum, 2, geo.Info},
		{"absolute zero", "absolute", "1,2,0 3,4,0", []float64{nan, nan}, geo.NoteHeightMissing, 2, geo.Info},
		{"absolute -9999", "absolute", "1,2,-9999 3,4,NaN", []float64{nan, nan}, geo.NoteHeightMissing, 1, geo.Caution},
	} {
		t.Run(c.name, func(t *testing.T) {
			for _, order := range []string{"<LineString>MODE<coordinates>LIST</coordinates></LineString>", "<LineString><coordinates>LIST</coordinates>MODE</LineString>"} {
				mode := ""
				if c.mode != "" {
					mode = "<gx:altitudeMode>" + c.mode + "</gx:altitudeMode>"
				}
				f, err := read(document(mark(strings.NewReplacer("MODE", mode, "LIST", c.list).Replace(order))))
				require.NoError(t, err)
				for i, want := range c.want {
					got := f.Features[0].Lines[0][i].Z
					assert.True(t, got == want || math.IsNaN(got) && math.IsNaN(want), "vertex %d: %g", i+1, got)
				}
				if c.code == "" {
					assert.Empty(t, f.Notes)
					continue
				}
				n := markuptest.NoteOf(t, f, c.code)
				assert.InDelta(t, c.count, n.Value, 0)
				assert.Equal(t, c.severity, n.Severity)
			}
		})
	}
}

func TestLeftOut(t *testing.T) {
	f, err := read(document(mark(""), mark(lineXML(" ")), mark(polygonXML(square, "")), "<NetworkLink><Link><href>x</href></Link></NetworkLink>",
		"<GroundOverlay/><ScreenOverlay/>", mark("<gx:Track><gx:coord>1 2 0</gx:coord><gx:coord> </gx:coord></gx:Track>")))
	require.NoError(t, err)
	require.Len(t, f.Features, 2)
	assert.Equal(t, 3, f.Features[0].Number)
	texts := map[string]geo.Note{}
	for _, n := range f.Notes {
		texts[n.Text] = n
	}
	for text, place := range map[string]string{
		"2 placemarks without geometry were left out":    "north.kml: features 1, 2",
		"2 empty shapes were left out":                   "north.kml: features 2, 3",
		"1 link to another file was not followed":        "north.kml",
		"2 pictures laid over the map were left out":     "north.kml",
		"1 position of a track is empty and was dropped": "north.kml: feature 4",
	} {
		assert.Equal(t, place, texts[text].Place, "%s in %v", text, f.Notes)
	}
	markuptest.Refusals(t, read, []markuptest.Refusal{
		{"nothing", document(), "the file holds no placemark", "draw the outline"},
		{"no geometry", document(mark(""), mark("")), "2 placemarks, and none has a geometry"},
		{"link only", document("<NetworkLink><Url><href>http://x/field.kml</href></Url></NetworkLink>"), `only links to another one, "http://x/field.kml"`, "save the places"},
		{"link without address", document("<NetworkLink/>"), "only links to another one"},
		{"picture only", document("<GroundOverlay/>"), "no placemark"},
		{"other XML", "<gpx/>", "this is a GPX file, not a KML file"},
		{"HTML", "<html><body/></html>", "HTML page"},
		{"JSON", "{}", "this is JSON"},
		{"folders in folders", "<kml>" + strings.Repeat("<Folder>", 100), "nested more than 64 deep"},
		{"entities", `<!DOCTYPE kml [<!ENTITY a "1,2">]><kml/>`, "document type"},
		{"cut short", document(mark(polygonXML(square)))[:200], "the file ends inside"},
	})
}

func TestReaderThatFails(t *testing.T) {
	_, err := kml.Read("north.kml", &markuptest.Failing{Text: document(mark(polygonXML(square)))[:150]})
	require.ErrorIs(t, err, markuptest.ErrDisk)
}

// pack makes a zip archive of names and contents, in that order.
func pack(t testing.TB, members ...string) []byte {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for i := 0; i < len(members); i += 2 {
		m, err := w.Create(members[i])
		require.NoError(t, err)
		_, err = m.Write([]byte(members[i+1]))
		require.NoError(t, err)
	}
	require.NoError(t, w.Close())
	return b.Bytes()
}

func archive(in []byte) (format.File, error) {
	return kml.ReadArchive("field.kmz", bytes.NewReader(in), int64(len(in)))
}

func TestArchive(t *testing.T) {
	named := func(name string) string {
		return document("<Placemark><name>" + name + "</name>" + polygonXML(square) + "</Placemark>")
	}
	for name, c := range map[string]struct {
		members []string
		want    string
		left    float64
	}{
		"doc.kml":         {[]string{"files/icon.png", "x", "doc.kml", named("A")}, "A", 0},
		"other name":      {[]string{"Hazel.KML", named("A")}, "A", 0},
		"in a folder":     {[]string{"x/doc.kml", named("A")}, "A", 0},
		"doc after other": {[]string{"b.kml", named("B"), "doc.kml", named("A")}, "A", 1},
		"root first":      {[]string{"x/doc.kml", named("B"), "c.kml", named("A"), "d.kml", named("C")}, "A", 2},
		"litter":          {[]string{"__MACOSX/._doc.kml", "x", "._a.kml", "x", "doc.kml", named("A")}, "A", 0},
	} {
		t.Run(name, func(t *testing.T) {
			in := pack(t, c.members...)
			f, err := archive(in)
			require.NoError(t, err)
			require.Len(t, f.Features, 1)
			assert.Equal(t, c.want, f.Features[0].Name)
			assert.Equal(t, "field.kmz", f.Name)
			if c.left > 0 {
				assert.InDelta(t, c.left, markuptest.NoteOf(t, f, geo.NoteMemberLeft).Value, 0)
			} else {
				assert.Empty(t, f.Notes)
			}
			again, err := kml.Read("field.kml", bytes.NewReader(in))
			require.NoError(t, err, "an archive by the wrong name")
			assert.Equal(t, c.want, again.Features[0].Name)
		})
	}
	broken := pack(t, "doc.kml", named(strings.Repeat("A tree and a tree. ", 400)))
	broken[len(broken)/3] ^= 0x55
	read := func(in string) (format.File, error) { return archive([]byte(in)) }
	markuptest.Refusals(t, read, []markuptest.Refusal{
		{"nothing", string(pack(t)), "field.kmz", "none of the 0 members"},
		{"no KML", string(pack(t, "a.shp", "x")), "none of the 1 member in the archive is a KML file"},
		{"fault inside", string(pack(t, "doc.kml", document(mark(lineXML("1,2 x,3"))))), "field.kmz, doc.kml:1: ", "vertex 2"},
		{"path", string(pack(t, "../doc.kml", named("A"))), "leaves the archive"},
		{"damaged", string(broken), "field.kmz, doc.kml"},
		{"cut short", string(broken[:100]), "cannot be read", "cut short"},
		{"no zip", "<kml/>", "cannot be read"},
	})
}
