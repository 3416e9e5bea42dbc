package delivery_test

import (
	"encoding/binary"
	"io"
	"io/fs"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/delivery"
)

// delivered is one file as somebody hands it over, and what it holds.
type delivered struct {
	name   string
	fsys   fstest.MapFS
	path   string
	opt    delivery.Options
	format string // begins so
	places int    // positions in all
	code   geo.Code
}

func everyFormat(t testing.TB) []delivered {
	lone := func(name, text string) fstest.MapFS { return folder(t, name, text) }
	capitals := fstest.MapFS{}
	for n, f := range loose(t, "", "PIECE") {
		capitals[strings.ToUpper(n)] = f
	}
	mixed := loose(t, "in/", "piece")
	mixed["in/PIECE.DBF"], mixed["in/Piece.PRJ"] = mixed["in/piece.dbf"], mixed["in/piece.prj"]
	delete(mixed, "in/piece.dbf")
	delete(mixed, "in/piece.prj")
	le, be := binary.LittleEndian, binary.BigEndian
	litter := packed(t, "__MACOSX/piece/._piece.shp", "x", "piece/.DS_Store", "x", "piece/._piece.shp", "x",
		"piece/piece.shp", shapes(t, "x")["x.shp"], "piece/piece.dbf", shapes(t, "x")["x.dbf"], "piece/piece.prj", shapes(t, "x")["x.prj"])
	return []delivered{
		{name: "GeoJSON", fsys: lone("a.geojson", geoJSON), path: "a.geojson", format: "GeoJSON", places: 5},
		{name: "GeoJSON in a folder", fsys: lone("in/deep/a.geojson", geoJSON), path: "in/deep/a.geojson", format: "GeoJSON", places: 5},
		{name: "44 GeoJSON in UTF-16", fsys: lone("a.json", string(wide(geoJSON, le))), path: "a.json", format: "GeoJSON", places: 5, code: geo.NoteRecoded},
		{name: "44 GeoJSON with a mark", fsys: lone("a.json", "\xEF\xBB\xBF"+geoJSON), path: "a.json", format: "GeoJSON", places: 5, code: geo.NoteByteMark},
		{name: "45 one feature a line", fsys: lone("a.ndjson", geoJSON+"\n"+geoJSON+"\n"), path: "a.ndjson", format: "GeoJSON", places: 10},
		{name: "shapefile, loose", fsys: loose(t, "", "piece"), path: "piece.shp", format: "Shapefile", places: 5},
		{name: "28 shapefile by its table", fsys: loose(t, "", "piece"), path: "piece.dbf", format: "Shapefile", places: 5, code: geo.NoteMainFile},
		{name: "24 shapefile in capitals", fsys: capitals, path: "PIECE.SHP", format: "Shapefile", places: 5},
		{name: "24 companions in other case", fsys: mixed, path: "in/piece.shp", format: "Shapefile", places: 5, code: geo.NoteNameCase},
		{name: "shapefile by its folder", fsys: loose(t, "in/", "piece"), path: "in", format: "Shapefile", places: 5},
		{name: "shapefile by the folder it lies in", fsys: loose(t, "", "piece"), path: ".", format: "Shapefile", places: 5},
		{name: "22 shapefile zipped with a folder and litter", fsys: folder(t, "a.zip", litter), path: "a.zip", format: "Shapefile", places: 5},
		{name: "22 one of several in a zip", fsys: folder(t, "a.zip", packedSet(t, "x/upper", "x/lower")), path: "a.zip", opt: delivery.Options{Layer: "LOWER"}, format: "Shapefile", places: 5},
		{name: "59 zip called .shp", fsys: folder(t, "a.shp", packedSet(t, "piece")), path: "a.shp", format: "Shapefile", places: 5},
		{name: "59 shapefile without ending", fsys: folder(t, "piece", shapes(t, "x")["x.shp"]), path: "piece", format: "Shapefile", places: 5, code: geo.NoteCompanion},
		{name: "25 .shp without .shx", fsys: without(loose(t, "", "piece"), "piece.shx"), path: "piece.shp", format: "Shapefile", places: 5},
		{name: "26 .shp without .dbf", fsys: without(loose(t, "", "piece"), "piece.dbf"), path: "piece.shp", format: "Shapefile", places: 5, code: geo.NoteCompanion},
		{name: "KML", fsys: lone("a.kml", kmlText), path: "a.kml", format: "KML", places: 5},
		{name: "59 KML called .json", fsys: lone("a.json", kmlText), path: "a.json", format: "KML", places: 5},
		{name: "44 KML in UTF-16", fsys: lone("a.kml", string(wide(strings.Replace(kmlText, "UTF-8", "UTF-16", 1), be))), path: "a.kml", format: "KML", places: 5, code: geo.NoteRecoded},
		{name: "KMZ", fsys: folder(t, "a.kmz", packed(t, "doc.kml", kmlText, "files/icon.png", "x")), path: "a.kmz", format: "KML", places: 5},
		{name: "KML in a zip among other things", fsys: folder(t, "a.zip", packed(t, "readme.txt", "x", "field/piece.kml", kmlText)), path: "a.zip", format: "KML", places: 5},
		{name: "GPX", fsys: lone("a.gpx", gpxText), path: "a.gpx", format: "GPX", places: 5},
		{name: "59 GPX called .kml", fsys: lone("a.kml", gpxText), path: "a.kml", format: "GPX", places: 5},
		{name: "task data", fsys: lone("TASKDATA/TASKDATA.XML", taskText), path: "TASKDATA/TASKDATA.XML", format: "ISO", places: 4},
		{name: "task data by its folder", fsys: lone("TASKDATA/TASKDATA.XML", taskText), path: "TASKDATA", format: "ISO", places: 4},
		{name: "task data by the stick", fsys: lone("TASKDATA/TASKDATA.XML", taskText), path: ".", format: "ISO", places: 4},
		{name: "task data in lower case", fsys: lone("taskdata/taskdata.xml", taskText), path: ".", format: "ISO", places: 4},
		{name: "task data zipped", fsys: folder(t, "a.zip", packed(t, "TASKDATA/", "", "TASKDATA/TASKDATA.XML", taskText)), path: "a.zip", format: "ISO", places: 4},
		{name: "57 task data by another name", fsys: lone("field.xml", taskText), path: "field.xml", format: "ISO", places: 4},
		{name: "well-known text", fsys: lone("a.wkt", wktText), path: "a.wkt", format: "well-known text", places: 5},
		{name: "59 well-known text called .csv", fsys: lone("a.csv", wktText), path: "a.csv", format: "well-known text", places: 5},
		{name: "delimited text", fsys: lone("a.csv", csvText), path: "a.csv", format: "delimited text", places: 4, code: geo.NoteColumns},
		{name: "44 list of points in UTF-16", fsys: lone("a.csv", string(wide(csvText, le))), path: "a.csv", format: "delimited text", places: 4, code: geo.NoteRecoded},
		{name: "columns as said", fsys: lone("a.txt", "1,52.03,-2.72\n2,52.03,-2.718\n3,52.031,-2.718\n"), path: "a.txt", opt: delivery.Options{Columns: "PNE"}, format: "delimited text", places: 3},
		{name: ".asc that is points", fsys: lone("a.asc", "350000.11 236000.12 141.5\n350100.21 236010.42 142.5\n350090.31 236110.82 143.5\n"), path: "a.asc", format: "delimited text", places: 3},
	}
}

func without(fsys fstest.MapFS, name string) fstest.MapFS {
	delete(fsys, name)
	return fsys
}

func positions(fs ...format.Feature) (n int) {
	for _, f := range fs {
		for _, p := range f.Polygons {
			for _, r := range p {
				n += len(r)
			}
		}
		for _, l := range f.Lines {
			n += len(l)
		}
		n += len(f.Points)
	}
	return n
}

func TestRead(t *testing.T) {
	for _, c := range everyFormat(t) {
		t.Run(c.name, func(t *testing.T) {
			src := at(c.fsys, c.path)
			src.Name = "handed/over"
			file, err := delivery.Read(src, c.opt)
			require.NoError(t, err)
			assert.True(t, strings.HasPrefix(file.Format, c.format), file.Format)
			assert.Contains(t, file.Name, "handed/over", "named as the user does")
			assert.Equal(t, c.places, positions(file.Features...))
			if c.code != "" {
				assert.True(t, has(file.Notes, c.code), "%s missing in %v", c.code, file.Notes)
			}
		})
	}
}

func has(ns geo.Notes, c geo.Code) bool {
	for _, n := range ns {
		if n.Code == c {
			return true
		}
	}
	return false
}

// Stream and memory hand out what Read does.
func TestOpenStream(t *testing.T) {
	for _, c := range everyFormat(t) {
		t.Run(c.name, func(t *testing.T) {
			want, err := delivery.Read(at(c.fsys, c.path), c.opt)
			require.NoError(t, err)
			s, err := delivery.OpenStream(at(c.fsys, c.path), c.opt)
			require.NoError(t, err)
			defer func() { require.NoError(t, s.Close()) }()
			assert.Equal(t, want.Name, s.Name())
			assert.Equal(t, want.Format, s.Format())
			var got []format.Feature
			for {
				rec, err := s.Next()
				if err == io.EOF {
					break
				}
				require.NoError(t, err)
				assert.Positive(t, rec.Bytes)
				f, _, err := rec.Decode()
				require.NoError(t, err)
				assert.Equal(t, len(got)+1, rec.Number)
				got = append(got, f)
			}
			assert.Equal(t, positions(want.Features...), positions(got...))
			assert.Equal(t, want.Reference, s.Reference())
			_, err = s.Next()
			assert.Equal(t, io.EOF, err, "and once more")
		})
	}
}

// A lone file reads from memory as it does from a folder.
func TestBytes(t *testing.T) {
	lone := 0
	for _, c := range everyFormat(t) {
		f, ok := c.fsys[c.path]
		if !ok || len(c.fsys) > 1 {
			continue // a folder, or a file with companions
		}
		lone++
		t.Run(c.name, func(t *testing.T) {
			want, err := delivery.Read(at(c.fsys, c.path), c.opt)
			require.NoError(t, err)
			got, err := delivery.Read(delivery.Bytes("standard input", f.Data), c.opt)
			require.NoError(t, err)
			assert.Equal(t, want.Format, got.Format)
			assert.Equal(t, "standard input", strings.Split(got.Name, ",")[0])
			assert.Equal(t, positions(want.Features...), positions(got.Features...))
		})
	}
	assert.Greater(t, lone, 15)
}

// The .prj beside a file that says nothing says it, in any case; a file that
// says it is not overruled.
func TestReadSystemBeside(t *testing.T) {
	metres := "E,N,Z\n350000,236000,141\n350100,236000,142\n350100,236100,143\n"
	for _, c := range []struct {
		name, path, text, beside string
		declared                 string
	}{
		{"delimited text", "a.csv", metres, "a.prj", "British_National_Grid"},
		{"24 in capitals", "a.csv", metres, "A.PRJ", "British_National_Grid"},
		{"well-known text", "a.wkt", "POLYGON ((350000 236000,350100 236000,350100 236100,350000 236000))", "a.prj", "British_National_Grid"},
		{"of another file", "a.csv", metres, "b.prj", ""},
		{"points that say it", "a.csv", csvText, "a.prj", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			file, err := delivery.Read(at(folder(t, "in/"+c.path, c.text, "in/"+c.beside, prjText), "in/"+c.path), delivery.Options{})
			require.NoError(t, err)
			if c.declared == "" {
				assert.Empty(t, file.Reference.WKT)
				return
			}
			assert.Equal(t, c.declared, file.Reference.Declared)
			assert.Equal(t, prjText, file.Reference.WKT)
		})
	}
}

func TestReadRefuses(t *testing.T) {
	const pointer = "version https://git-lfs.github.com/spec/v1\noid sha256:4d7a\nsize 12345\n"
	const page = "<!DOCTYPE html><html><body>Please log in</body></html>"
	set := func() fstest.MapFS { return loose(t, "", "piece") }
	cut := set()
	cut["piece.shp"].Data = cut["piece.shp"].Data[:150]
	hollow := set()
	hollow["piece.shp"].Data = nil
	paged := set()
	paged["piece.shp"].Data = []byte(page)
	pointed := set()
	pointed["piece.shp"].Data = []byte(pointer)
	rows := set()
	rows["piece.dbf"].Data = append([]byte(nil), rows["piece.dbf"].Data...)
	binary.LittleEndian.PutUint32(rows["piece.dbf"].Data[4:], 3)
	locked := packedSet(t, "piece")
	for _, sig := range []struct {
		mark string
		at   int
	}{{"PK\x03\x04", 6}, {"PK\x01\x02", 8}} { // the flag of encryption: APPNOTE 4.4.4
		for i := 0; ; {
			k := strings.Index(string(locked[i:]), sig.mark)
			if k < 0 {
				break
			}
			locked[i+k+sig.at] |= 1
			i += k + 4
		}
	}
	both := loose(t, "in/", "upper")
	for n, f := range loose(t, "in/", "lower") {
		both[n] = f
	}
	lone := func(name, text string) fstest.MapFS { return folder(t, name, text) }
	for _, c := range []struct {
		name, path string
		fsys       fstest.MapFS
		say        []string
		hint       string
	}{
		{"no such file", "none.geojson", fstest.MapFS{}, []string{"none.geojson: ", "does not exist"}, ""},
		{"folder of nothing", "in", folder(t, "in/readme.txt", "x"), []string{"in: ", "neither a shapefile nor task data"}, "name the file itself"},
		{"29 empty", "a.geojson", lone("a.geojson", ""), []string{"the file is empty"}, ""},
		{"29 empty list", "a.csv", lone("a.csv", ""), []string{"the file is empty"}, ""},
		{"29 blanks", "a.kml", lone("a.kml", " \n\n"), []string{"nothing but blanks"}, ""},
		{"29 web page", "a.geojson", lone("a.geojson", page), []string{"HTML page"}, "needs a login"},
		{"29 web page called .kml", "a.kml", lone("a.kml", page), []string{"HTML page"}, "needs a login"},
		{"29 web page called .shp", "piece.shp", paged, []string{"HTML page"}, "needs a login"},
		{"29 web page called .zip", "a.zip", lone("a.zip", page), []string{"HTML page"}, "needs a login"},
		{"29 pointer", "a.geojson", lone("a.geojson", pointer), []string{"Git LFS"}, "git lfs pull"},
		{"29 pointer called .csv", "a.csv", lone("a.csv", pointer), []string{"Git LFS"}, "git lfs pull"},
		{"29 pointer called .shp", "piece.shp", pointed, []string{"Git LFS"}, "git lfs pull"},
		{"29 .shp cut short", "piece.shp", cut, []string{"piece.shp", "byte"}, ""},
		{"29 .shp of nothing", "piece.shp", hollow, []string{"piece.shp"}, ""},
		{"27 fewer shapes than rows", "piece.shp", rows, []string{"piece.dbf"}, ""},
		{"28 table alone", "piece.dbf", without(set(), "piece.shp"), []string{"piece.shp"}, ""},
		{"28 index alone", "piece.shx", folder(t, "piece.shx", shapes(t, "x")["x.shx"]), []string{"piece.shp"}, ""},
		{"28 .prj alone", "piece.prj", lone("piece.prj", prjText), []string{"piece.shp"}, ""},
		{"28 a system as text", "a.txt", lone("a.txt", prjText), []string{"describes a reference system"}, "the outline itself"},
		{"22 several in a zip", "a.zip", folder(t, "a.zip", packedSet(t, "x/upper", "x/lower")), []string{"upper", "lower"}, "layer"},
		{"22 several in a folder", "in", both, []string{"upper", "lower"}, "layer"},
		{"22 only litter in a zip", "a.zip", folder(t, "a.zip", packed(t, "__MACOSX/._a.shp", "x", ".DS_Store", "x", "x/", "")), []string{"zip archive is empty"}, ""},
		{"23 zip in a zip", "a.zip", folder(t, "a.zip", packed(t, "b.zip", packedSet(t, "piece"))), []string{"no shapefile, KML or task data, but b.zip"}, "unpack it"},
		{"23 zip with a password", "a.zip", folder(t, "a.zip", locked), []string{"a.zip", "encrypted"}, "password"},
		{"23 path out of a zip", "a.zip", folder(t, "a.zip", packed(t, "../piece.shp", shapes(t, "x")["x.shp"])), []string{"../piece.shp"}, ""},
		{"zip of other things", "a.zip", folder(t, "a.zip", packed(t, "a.txt", "", "b.txt", "", "c.txt", "", "d.txt", "", "e.txt", "", "f.txt", "", "g.txt", "")), []string{"but a.txt, b.txt, c.txt, d.txt, e.txt, f.txt, …"}, "unpack it"},
		{"zip cut short", "a.zip", folder(t, "a.zip", packedSet(t, "piece")[:300]), []string{"a.zip", "damaged"}, "again"},
		{"empty zip", "a.zip", folder(t, "a.zip", packed(t)), []string{"empty zip archive"}, ""},
		{"TIFF as an outline", "a.tif", folder(t, "a.tif", tiff()), []string{"TIFF", "no outline"}, "terrain"},
		{"ASCII grid as an outline", "a.asc", lone("a.asc", ascText), []string{"grid of heights, no outline"}, "terrain"},
		{"58 drawing", "a.dxf", lone("a.dxf", "  0\r\nSECTION\r\n"), []string{"CAD drawing, which is not read"}, "shapefile"},
		{"letter", "a.md", lone("a.md", "Dear all,\nplease find attached\n"), []string{"none of the formats"}, "list of points"},
		{"photograph", "a.jpg", lone("a.jpg", "\xff\xd8\xff\xe0\x00\x10JFIF"), []string{"none of the formats"}, "export"},
		{"59 GeoPackage", "a.gpkg", lone("a.gpkg", "SQLite format 3\x00"), []string{"SQLite", "GeoPackage"}, "ogr2ogr"},
		{"59 GeoPackage called .csv", "a.csv", lone("a.csv", "SQLite format 3\x00\x10\x00"), []string{"GeoPackage"}, "ogr2ogr"},
		{"59 FlatGeobuf", "a.fgb", lone("a.fgb", "fgb\x03fgb\x00"), []string{"FlatGeobuf"}, "ogr2ogr"},
		{"59 Parquet", "a.csv", lone("a.csv", "PAR1\x15\x04\x15"), []string{"Parquet"}, "ogr2ogr"},
		{"59 PDF", "plan.pdf", lone("plan.pdf", "%PDF-1.7\n1 0 obj\n2 3 4\n"), []string{"PDF"}, ""},
		{"59 gzip", "a.geojson.gz", lone("a.geojson.gz", "\x1f\x8b\x08\x00\x00\x00\x00\x00"), []string{"gzip"}, "gunzip"},
		{"59 gzip called .csv", "a.csv", lone("a.csv", "\x1f\x8b\x08\x08\x01\x01\x01\x01\x02\x03a.csv"), []string{"gzip"}, "gunzip"},
		{"59 GML", "a.gml", lone("a.gml", `<gml:FeatureCollection xmlns:gml="http://www.opengis.net/gml"/>`), []string{"GML"}, "ogr2ogr"},
		{"45 trailing comma", "a.json", lone("a.json", strings.Replace(geoJSON, "143],", "143],,", 1)), []string{"a.json:1"}, ""},
		{"60 document type", "a.kml", lone("a.kml", `<!DOCTYPE kml [<!ENTITY a "b">]>`+kmlText[38:]), []string{"document type"}, ""},
		{"60 elements without end", "a.gpx", lone("a.gpx", "<gpx>"+strings.Repeat("<trk>", 500)), []string{"deep"}, ""},
		{"60 lists without end", "a.json", lone("a.json", strings.Repeat("[", 5000)), []string{"a.json"}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			for way, read := range map[string]func(delivery.Source) error{
				"Read":       func(s delivery.Source) error { _, err := delivery.Read(s, delivery.Options{}); return err },
				"OpenStream": drain,
			} {
				e := refused(t, read(at(c.fsys, c.path)))
				for _, s := range c.say {
					assert.Contains(t, e.Error(), s, way)
				}
				assert.Contains(t, e.Hint, c.hint, way)
			}
		})
	}
}

// drain reads a stream to its end and returns what stopped it.
func drain(src delivery.Source) error {
	s, err := delivery.OpenStream(src, delivery.Options{})
	if err != nil {
		return err
	}
	defer s.Close()
	for n := 0; n < 10; n++ {
		rec, err := s.Next()
		if err == nil {
			_, _, err = rec.Decode()
		}
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// What is neither file nor folder is not waited for.
func TestReadOddFiles(t *testing.T) {
	pipe := fstest.MapFS{"a.csv": &fstest.MapFile{Mode: fs.ModeNamedPipe}}
	_, err := delivery.Read(at(pipe, "a.csv"), delivery.Options{})
	assert.Contains(t, refused(t, err).Problem, "no regular file")
	_, err = delivery.OpenStream(at(pipe, "a.csv"), delivery.Options{})
	assert.Contains(t, refused(t, err).Problem, "no regular file")
	_, err = delivery.Heights(at(pipe, "a.csv"), delivery.Options{})
	assert.Contains(t, refused(t, err).Problem, "no regular file")
	assert.False(t, delivery.IsRaster(at(pipe, "a.csv")))
	_, err = delivery.Bytes("x", nil).FS.Open("another")
	assert.ErrorIs(t, err, fs.ErrNotExist)
}

// Heights come as written, and no height as NaN.
func TestReadHeights(t *testing.T) {
	for _, c := range everyFormat(t)[:1] {
		file, err := delivery.Read(at(c.fsys, c.path), c.opt)
		require.NoError(t, err)
		assert.Equal(t, 141.0, file.Features[0].Polygons[0][0][0].Z)
	}
	file, err := delivery.Read(delivery.Bytes("x", []byte("lon,lat\n1,2\n3,4\n")), delivery.Options{})
	require.NoError(t, err)
	assert.True(t, math.IsNaN(file.Features[0].Points[0].Z))
}
