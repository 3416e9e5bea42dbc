package markup

import (
	"bytes"
	"fmt"
	"strings"

	"hemrow/geo"
)

const (
	htmlPage = "this is an HTML page, not a data file"
	htmlHint = "the download failed or needs a login; fetch the file again and look at it"
)

// foreign names a file that is no XML, by its first bytes.
func foreign(b []byte) (problem, hint string) {
	for _, m := range [...]struct{ magic, problem, hint string }{
		{"PK\x03\x04", "this is a zip archive", ""},
		{"PK\x05\x06", "this is an empty zip archive", ""},
		{"\x1F\x8B", "this file is compressed (gzip)", "unpack it first"},
		{"SQLite format 3\x00", "this is an SQLite database, perhaps a GeoPackage", "convert it first: ogr2ogr -t_srs EPSG:4326 out.geojson in.gpkg"},
		{"fgb\x03", "this is a FlatGeobuf file", "convert it first: ogr2ogr -t_srs EPSG:4326 out.geojson in.fgb"},
		{"\x00\x00\x27\x0A", "this is a shapefile", "name it .shp"},
		{"%PDF", "this is a PDF document", ""},
		{"version https://git-lfs", "this is a pointer to a file kept elsewhere (Git LFS), not the file", "fetch the file itself: git lfs pull"},
	} {
		if bytes.HasPrefix(b, []byte(m.magic)) {
			return m.problem, m.hint
		}
	}
	trimmed := bytes.TrimLeft(b, " \t\r\n")
	switch {
	case len(b) == 0:
		return "the file is empty", ""
	case len(trimmed) == 0:
		return "the file holds nothing but blanks", ""
	case trimmed[0] == '<':
		return "", ""
	case trimmed[0] == '{' || trimmed[0] == '[':
		return "this is JSON, not XML", "if it is GeoJSON, name it .geojson"
	}
	return "this is no XML: it begins with " + Clip(string(trimmed)), ""
}

// Other refuses a file whose root is not that of the format, such as "a KML
// file", and says what it is instead.
func (r *Reader) Other(root Element, format string) error {
	is := map[string]string{
		"kml": "a KML file", "gpx": "a GPX file", "iso11783_taskdata": "an ISO 11783-10 task file",
		"xfc": "a part of an ISO 11783-10 task file", "featurecollection": "a GML file", "svg": "a drawing (SVG)",
	}
	name := strings.ToLower(root.Name)
	at := geo.InputError{Line: root.Line}
	switch {
	case name == "html":
		return r.Fault(at, htmlPage, htmlHint)
	case name == "xfc":
		return r.Fault(at, "this is "+is[name]+", which says little by itself", "give the folder with TASKDATA.XML")
	case is[name] != "":
		return r.Fault(at, fmt.Sprintf("this is %s, not %s", is[name], format), "name it by what it is")
	}
	return r.Fault(at, fmt.Sprintf("this is XML that begins with the element %s, not %s", Clip(root.Name), format), "")
}

// Clip is text of a file in quotes, shortened, for a message.
func Clip(s string) string {
	const most = 40
	if len(s) > most {
		return fmt.Sprintf("%q...", strings.ToValidUTF8(s[:most], ""))
	}
	return fmt.Sprintf("%q", s)
}
