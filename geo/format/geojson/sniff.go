package geojson

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"hemrow/geo"
	"hemrow/geo/format/encoded"
)

// sniffed is how much of the beginning is looked at to tell what a file is.
const sniffed = 1024

// open looks at the beginning: removes a byte order mark, recodes UTF-16,
// refuses what is no JSON, and finds out how values are set apart.
func (s *Stream) open() error {
	src := s.src
	for len(src.buf) < sniffed && src.fill() {
	}
	if src.err != nil {
		return fmt.Errorf("%s: %w", s.name, src.err)
	}
	if little, ok := encoded.IsUTF16(src.buf); ok {
		whole := io.MultiReader(bytes.NewReader(src.buf), src.r)
		*src = *newSource(encoded.UTF16(whole, little))
		s.note(noteFor(noteUTF16, 1, s.name))
		for len(src.buf) < sniffed && src.fill() {
		}
		if src.err != nil {
			return fmt.Errorf("%s: %w", s.name, src.err)
		}
	}
	if bytes.HasPrefix(src.buf, []byte("\xEF\xBB\xBF")) {
		src.pos, src.mark, src.lineStart = 3, 3, 3
		s.note(noteFor(noteBOM, 1, s.name))
	}
	if src.peek() == 0 && src.ended() {
		problem := "the file is empty"
		if src.base+int64(len(src.buf)) > 0 {
			problem = "the file holds nothing but blanks"
		}
		return &geo.InputError{File: s.name, Problem: problem}
	}
	if problem, hint := foreign(src.buf[src.pos:]); problem != "" {
		return &geo.InputError{File: s.name, Problem: problem, Hint: hint}
	}
	if src.buf[src.pos] == recordMark {
		s.way = byRecord
	} else if s.looksByLine() {
		s.way = byLine
	}
	return nil
}

// looksByLine reports whether the input has one value on each line: the first
// line that is not blank is a whole value, or one cut short and followed by a
// line that begins another, and a second line follows. A first line longer than
// a block is left to the cutter, which finds out when its value has ended.
func (s *Stream) looksByLine() bool {
	src := s.src
	var first, second []byte
	for {
		rest := src.buf[src.pos:]
		if k := bytes.IndexByte(rest, '\n'); k >= 0 {
			first, second = rest[:k], bytes.TrimLeft(rest[k:], " \t\r\n\x1E")
			if len(second) > 0 {
				break
			}
		}
		if len(rest) >= blockSize || !src.fill() {
			return false
		}
	}
	first = bytes.TrimRight(first, " \t\r")
	if len(first) == 0 || first[0] != '{' {
		return false
	}
	var n nest
	used, done, problem := n.scan(first)
	if done && problem == "" {
		return used == len(first)
	}
	return second[0] == '{' && !strings.ContainsRune("[{,:", rune(first[len(first)-1]))
}

// conversion is the hint for files that a general converter turns into GeoJSON.
func conversion(extension string) string {
	return "convert it first: ogr2ogr -t_srs EPSG:4326 out.geojson in." + extension
}

// foreign names a file that is something else, by its first bytes.
func foreign(b []byte) (problem, hint string) {
	b = b[:min(len(b), sniffed)]
	head := string(b)
	for _, m := range [...]struct{ magic, problem, hint string }{
		{"PK\x03\x04", "this is a zip archive", "unpack it; a shapefile inside is converted by: ogr2ogr -t_srs EPSG:4326 out.geojson in.shp"},
		{"PK\x05\x06", "this is an empty zip archive", ""},
		{"\x1F\x8B", "this file is compressed (gzip)", "unpack it first: gunzip in.geojson.gz"},
		{"SQLite format 3\x00", "this is an SQLite database, perhaps a GeoPackage", conversion("gpkg")},
		{"fgb\x03", "this is a FlatGeobuf file", conversion("fgb")},
		{"\x00\x00\x27\x0A", "this is a shapefile", conversion("shp")},
		{"PAR1", "this is a Parquet file", conversion("parquet")},
		{"II*\x00", "this is a TIFF picture or grid", ""},
		{"MM\x00*", "this is a TIFF picture or grid", ""},
		{"%PDF", "this is a PDF document", ""},
		{"version https://git-lfs", "this is a pointer to a file kept elsewhere (Git LFS), not the file", "fetch the file itself: git lfs pull"},
	} {
		if strings.HasPrefix(head, m.magic) {
			return m.problem, m.hint
		}
	}
	switch c := b[0]; {
	case c == '<':
		return markup(strings.ToLower(head))
	case c == '{' || c == '[' || c == recordMark || byteClass[c] == quoteByte:
		return "", ""
	case c >= 'A' && c <= 'Z':
		return wellKnownText(b)
	}
	return "", ""
}

// markup tells kinds of XML apart by their beginning in lower case.
func markup(head string) (problem, hint string) {
	has := func(s string) bool { return strings.Contains(head, s) }
	switch {
	case has("<!doctype html") || has("<html"):
		return "this is an HTML page, not a data file", "the download failed or needs a login; fetch the file again and look at it"
	case has("<kml"):
		return "this is a KML file", conversion("kml")
	case has("<gpx"):
		return "this is a GPX file", conversion("gpx")
	case has("<iso11783_taskdata"):
		return "this is an ISO 11783-10 task file", ""
	case has("opengis.net/gml"):
		return "this is a GML file", conversion("gml")
	}
	return "this is an XML file", "hemrow reads GeoJSON here; export the outline as GeoJSON"
}

// wellKnownText recognises geometry written as text.
func wellKnownText(b []byte) (problem, hint string) {
	word := strings.ToUpper(token(b, 0))
	for _, w := range [...]string{"POLYGON", "MULTIPOLYGON", "LINESTRING", "MULTILINESTRING", "POINT", "GEOMETRYCOLLECTION", "SRID"} {
		if strings.HasPrefix(word, w) {
			return "this is geometry as well-known text, not GeoJSON", "export the outline as GeoJSON"
		}
	}
	return "", ""
}
