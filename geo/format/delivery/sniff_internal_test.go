package delivery

import (
	"encoding/binary"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
)

func wide(text string, order binary.AppendByteOrder) string {
	out := order.AppendUint16(nil, 0xFEFF)
	for _, u := range utf16.Encode([]rune(text)) {
		out = order.AppendUint16(out, u)
	}
	return string(out)
}

// The bytes decide; the name only where they say nothing.
func TestSniff(t *testing.T) {
	const kml, gpx, task = "<kml xmlns='x'/>", "<gpx/>", "<ISO11783_TaskData/>"
	le, be := binary.LittleEndian, binary.BigEndian
	for _, c := range []struct {
		name, file, head string
		want             kind
	}{
		{"GeoJSON", "a.geojson", `{"type":"Feature"`, kindJSON},
		{"GeoJSON after a mark and blanks", "a.json", "\xEF\xBB\xBF \r\n\t{", kindJSON},
		{"a list", "a.json", "[{", kindJSON},
		{"record separators", "a", "\x1e{", kindJSON},
		{"44 GeoJSON in UTF-16", "a.geojson", wide("{", le), kindJSON},
		{"44 GeoJSON in UTF-16, big end first", "a.geojson", wide("{", be), kindJSON},
		{"zip", "a.zip", "PK\x03\x04....", kindZip},
		{"59 zip called .shp", "a.shp", "PK\x03\x04....", kindZip},
		{"59 zip called .json", "a.json", "PK\x03\x04....", kindZip},
		{"59 KMZ", "a.kmz", "PK\x03\x04....", kindZip},
		{"empty zip", "a.zip", "PK\x05\x06", kindOther},
		{"shapefile", "a.shp", "\x00\x00\x27\x0A", kindShapefile},
		{"59 shapefile without ending", "a", "\x00\x00\x27\x0A", kindShapefile},
		{"24 shapefile, capitals", "A.SHP", "\x00\x00\x27\x0A", kindShapefile},
		{"29 .shp of other bytes", "a.shp", "\x01\x02\x03", kindShapefile},
		{"29 .shp of nothing", "a.shp", "", kindShapefile},
		{"28 index of a shapefile", "a.shx", "\x00\x00\x27\x0A", kindShapePart},
		{"28 table", "a.DBF", "\x03\x1a", kindShapePart},
		{"28 .prj", "a.prj", `PROJCS["x"`, kindShapePart},
		{"28 .cpg", "a.cpg", "UTF-8", kindShapePart},
		{"29 web page called .shp", "a.shp", "<!DOCTYPE html>", kindOther},
		{"29 web page called .shp, blanks first", "a.shp", "\r\n  <html>", kindOther},
		{"29 web page called .shp, mark first", "a.shp", "\xEF\xBB\xBF<html>", kindOther},
		{"29 pointer called .shp", "a.shp", "version https://git-lfs.github.com/spec/v1", kindOther},
		{"29 pointer called .csv", "a.csv", "version https://git-lfs.github.com/spec/v1", kindOther},
		{"29 pointer called .kml", "a.kml", "version https://git-lfs.github.com/spec/v1\noid sha256:12\nsize 7\n", kindOther},
		{"KML", "a.kml", kml, kindKML},
		{"59 KML called .json", "a.json", kml, kindKML},
		{"59 KML called .csv", "a.csv", "<?xml version='1.0'?>\n<!-- x <gpx> -->\n" + kml, kindKML},
		{"55 KML with a prefix", "a.kml", "<kml:kml>", kindKML},
		{"55 KML from its Document on", "a.kml", "<Document>", kindKML},
		{"44 KML in UTF-16", "a.kml", wide(kml, le), kindKML},
		{"44 KML in UTF-16, big end first", "a.kml", wide(kml, be), kindKML},
		{"60 KML with a document type", "a.kml", `<!DOCTYPE kml [<!ENTITY a "b">]>` + kml, kindKML},
		{"GPX", "a.gpx", gpx, kindGPX},
		{"59 GPX called .xml", "a.xml", gpx, kindGPX},
		{"task data", "TASKDATA.XML", task, kindTask},
		{"59 task data called .txt", "a.txt", task, kindTask},
		{"59 web page called .geojson", "a.geojson", "<html>", kindOther},
		{"59 GML", "a.gml", "<gml:FeatureCollection>", kindOther},
		{"XML cut short", "a.xml", "<?xml version", kindOther},
		{"a lone bracket", "a.xml", "<", kindOther},
		{"TIFF", "a.tif", "II*\x00", kindTIFF},
		{"TIFF, big end first", "a.tif", "MM\x00*", kindTIFF},
		{"BigTIFF", "a.tif", "II+\x00", kindTIFF},
		{"59 TIFF called .asc", "a.asc", "II*\x00", kindTIFF},
		{"59 TIFF called .shp", "a.shp", "II*\x00", kindTIFF},
		{"ASCII grid", "a.asc", "ncols 4\nnrows 3\n", kindASCIIGrid},
		{"ASCII grid, capitals, other order", "a.txt", "NODATA_value -9999\nNROWS 3\nNCOLS 4\n", kindASCIIGrid},
		{"ASCII grid called .csv", "a.csv", "ncols 4\nnrows 3\n", kindASCIIGrid},
		{".asc that is points", "a.asc", "1 2 3\n4 5 6\n", kindPoints},
		{"well-known text", "a.wkt", "POLYGON ((", kindWKT},
		{"well-known text, tag joined", "a.txt", "multipolygonzm(", kindWKT},
		{"well-known text, empty", "a", "POINT EMPTY", kindWKT},
		{"with a number of its system", "a", "SRID=25832;POINT(", kindWKT},
		{"points whose first column is called so", "a.csv", "point,northing,easting\n1,2,3\n", kindPoints},
		{"a system as text", "a.txt", `PROJCS["x"`, kindPRJ},
		{"a system as text, second form", "a.txt", `PROJCRS["x"`, kindPRJ},
		{"CSV", "a.csv", "e,n\n1,2\n", kindPoints},
		{"44 CSV in UTF-16", "a.csv", wide("e;n\n1;2\n", le), kindPoints},
		{"44 CSV in UTF-16, big end first, no ending", "a", wide("e;n\n1;2\n", be), kindPoints},
		{"CSV without ending", "a", "e;n\n1,5;2,5\n", kindPoints},
		{"blanks between", "a.out", "500000.1 5200000.2 311.0", kindPoints},
		{"45 a comment first", "a.csv", "# survey\ne,n\n1,2\n", kindPoints},
		{"CSV with the end mark of old systems", "a.csv", "e,n\n1,2\n\x1a", kindPoints},
		{"words", "a.md", "Dear all,\nplease find attached\n", kindUnknown},
		{"picture", "a.jpg", "\xff\xd8\xff\xe0\x00\x10JFIF", kindUnknown},
		{"58 DXF", "a.dxf", "  0\r\nSECTION\r\n  2\r\nHEADER\r\n", kindDrawing},
		{"58 DXF called .txt", "a.txt", "0\nSECTION\n2\nHEADER\n", kindDrawing},
		{"58 DXF with a comment", "a.dxf", "999\nsurvey\n0\nSECTION\n", kindDrawing},
		{"58 DXF, binary", "a.dxf", "AutoCAD Binary DXF\r\n\x1a\x00", kindDrawing},
		{"58 DWG", "a.dwg", "AC1027\x00\x00", kindDrawing},
		{"points that begin with a zero", "a.txt", "0\n1 2 3\n", kindPoints},
		{"59 GeoPackage", "a.gpkg", "SQLite format 3\x00", kindOther},
		{"59 GeoPackage called .json", "a.json", "SQLite format 3\x00\x10\x00\x01\x01", kindOther},
		{"59 GeoPackage called .csv", "a.csv", "SQLite format 3\x00", kindOther},
		{"59 FlatGeobuf", "a.fgb", "fgb\x03fgb\x00", kindOther},
		{"59 FlatGeobuf called .csv", "a.csv", "fgb\x03fgb\x00", kindOther},
		{"59 Parquet", "a.parquet", "PAR1\x15\x04\x15", kindOther},
		{"59 Parquet called .txt", "a.txt", "PAR1\x15\x04\x15", kindOther},
		{"59 PDF", "a.pdf", "%PDF-1.7\n%\xe2\xe3\n1 0 obj\n", kindOther},
		{"59 PDF called .csv", "a.csv", "%PDF-1.7\n1 0 obj\n", kindOther},
		{"59 gzip", "a.geojson.gz", "\x1f\x8b\x08\x00", kindOther},
		{"59 gzip called .csv", "a.csv", "\x1f\x8b\x08\x08abc.csv\x00", kindOther},
		{"empty", "a.geojson", "", kindOther},
		{"empty .csv", "a.csv", "", kindOther},
		{"blanks", "a.csv", " \r\n\t", kindOther},
	} {
		t.Run(c.name, func(t *testing.T) {
			assert.Equal(t, c.want, sniff(c.file, []byte(c.head)))
		})
	}
}
