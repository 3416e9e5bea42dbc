package delivery

import (
	"bytes"
	"encoding/binary"
	"path"
	"slices"
	"strings"
	"unicode/utf16"
)

// kind is a format as the first bytes tell it.
type kind int

const (
	kindOther kind = iota // left to the GeoJSON reader, which names what it refuses
	kindJSON
	kindZip
	kindShapefile
	kindShapePart // .dbf, .shx, .prj or .cpg of a shapefile
	kindKML
	kindGPX
	kindTask
	kindTIFF
	kindASCIIGrid
	kindWKT
	kindPoints
	kindPRJ
	kindDrawing
	kindUnknown
)

// sniff tells a format by the beginning of the file, and by the extension
// where bytes alone cannot.
func sniff(name string, head []byte) kind {
	ext := strings.ToLower(path.Ext(name))
	switch {
	case bytes.HasPrefix(head, []byte("PK\x03\x04")):
		return kindZip
	case bytes.HasPrefix(head, []byte{0, 0, 0x27, 0x0A}):
		if ext == ".shx" {
			return kindShapePart
		}
		return kindShapefile
	case isTIFF(head):
		return kindTIFF
	}
	switch ext {
	case ".shp", ".shx", ".dbf", ".cpg", ".prj", ".qpj":
		if markupOrPointer(head) {
			return kindOther
		}
		if ext == ".shp" {
			return kindShapefile
		}
		return kindShapePart
	}
	text := strings.TrimLeft(decoded(head), "\ufeff \t\r\n")
	switch {
	case text == "":
		return kindOther
	case text[0] == '<':
		return xmlKind(text)
	case text[0] == '{' || text[0] == '[' || text[0] == 0x1E:
		return kindJSON
	case isASCIIGrid(text):
		return kindASCIIGrid
	case isWKT(text):
		return kindWKT
	case isPRJ(text):
		return kindPRJ
	case isDrawing(text):
		return kindDrawing
	case isPoints(ext, text):
		return kindPoints
	case slices.ContainsFunc(named[:], func(magic string) bool { return bytes.HasPrefix(head, []byte(magic)) }):
		return kindOther
	}
	return kindUnknown
}

// named are beginnings of files that the GeoJSON reader refuses by name.
var named = [...]string{"PK\x05\x06", "\x1F\x8B", "SQLite format 3\x00", "fgb\x03", "PAR1", "%PDF", "version https://git-lfs"}

// isDrawing reports a CAD drawing: DXF as text begins with the group code 0 and
// SECTION, or with a comment of code 999 (DXF reference, ASCII DXF files; from
// memory), the binary forms with their names.
func isDrawing(text string) bool {
	if strings.HasPrefix(text, "AutoCAD Binary DXF") || strings.HasPrefix(text, "AC10") {
		return true
	}
	code, rest, _ := strings.Cut(text, "\n")
	value, _, _ := strings.Cut(rest, "\n")
	switch strings.TrimSpace(code) {
	case "0":
		return strings.TrimSpace(value) == "SECTION"
	case "999":
		return strings.Contains(text, "SECTION")
	}
	return false
}

func isTIFF(b []byte) bool {
	return len(b) >= 4 && (b[0] == 'I' && b[1] == 'I' && (b[2] == 42 || b[2] == 43) && b[3] == 0 ||
		b[0] == 'M' && b[1] == 'M' && b[2] == 0 && (b[3] == 42 || b[3] == 43))
}

// markupOrPointer reports a web page or a pointer in place of the file.
func markupOrPointer(head []byte) bool {
	t := bytes.TrimLeft(head, "\ufeff \t\r\n")
	return bytes.HasPrefix(t, []byte("<")) || bytes.HasPrefix(t, []byte("version https://git-lfs"))
}

// decoded is the head as UTF-8, from UTF-16 if a byte order mark says so.
func decoded(b []byte) string {
	var order binary.ByteOrder
	switch {
	case bytes.HasPrefix(b, []byte{0xFF, 0xFE}):
		order = binary.LittleEndian
	case bytes.HasPrefix(b, []byte{0xFE, 0xFF}):
		order = binary.BigEndian
	default:
		return string(b)
	}
	u := make([]uint16, len(b)/2)
	for i := range u {
		u[i] = order.Uint16(b[2*i:])
	}
	return string(utf16.Decode(u))
}

// xmlKind tells kinds of XML apart by their root element.
func xmlKind(text string) kind {
	for {
		i := strings.IndexByte(text, '<')
		if i < 0 || i+1 >= len(text) {
			return kindOther
		}
		text = text[i+1:]
		var end string
		switch {
		case strings.HasPrefix(text, "!--"):
			end = "-->"
		case text[0] == '?', text[0] == '!':
			end = ">"
		default:
			return root(text)
		}
		j := strings.Index(text, end)
		if j < 0 {
			return kindOther
		}
		text = text[j+len(end):]
	}
}

func root(text string) kind {
	name := text
	if i := strings.IndexAny(name, " \t\r\n/>"); i >= 0 {
		name = name[:i]
	}
	if i := strings.IndexByte(name, ':'); i >= 0 {
		name = name[i+1:]
	}
	switch strings.ToLower(name) {
	case "kml", "document", "folder", "placemark":
		return kindKML
	case "gpx":
		return kindGPX
	case "iso11783_taskdata":
		return kindTask
	}
	return kindOther
}

func isASCIIGrid(text string) bool {
	word := strings.ToLower(firstWord(text))
	switch word {
	case "ncols", "nrows", "xllcorner", "xllcenter", "yllcorner", "yllcenter", "cellsize", "dx", "dy", "nodata_value":
		return strings.Contains(strings.ToLower(text), "nrows")
	}
	return false
}

func isWKT(text string) bool {
	up := strings.ToUpper(text[:min(len(text), 32)])
	if strings.HasPrefix(up, "SRID=") {
		return true
	}
	for _, w := range [...]string{"POINT", "LINESTRING", "POLYGON", "MULTIPOINT", "MULTILINESTRING", "MULTIPOLYGON", "GEOMETRYCOLLECTION"} {
		rest, ok := strings.CutPrefix(up, w)
		if !ok {
			continue
		}
		rest = strings.TrimLeft(rest, " \t\r\n")
		for _, mod := range [...]string{"ZM", "Z", "M"} {
			rest = strings.TrimPrefix(rest, mod)
		}
		rest = strings.TrimLeft(rest, " \t\r\n")
		if strings.HasPrefix(rest, "(") || strings.HasPrefix(rest, "EMPTY") {
			return true
		}
	}
	return false
}

func isPRJ(text string) bool {
	for _, w := range [...]string{"PROJCS[", "GEOGCS[", "PROJCRS[", "GEOGCRS[", "COMPD_CS["} {
		if strings.HasPrefix(strings.ToUpper(text[:min(len(text), 16)]), w) {
			return true
		}
	}
	return false
}

// isPoints reports delimited text: named so, or with lines of several fields
// that hold numbers.
func isPoints(ext, text string) bool {
	if strings.ContainsFunc(text, noText) || strings.HasPrefix(text, "version https://git-lfs") || strings.HasPrefix(text, "%PDF") {
		return false
	}
	switch ext {
	case ".csv", ".txt", ".xyz", ".pts", ".tsv", ".asc", ".pnezd", ".dat":
		return true
	}
	lines := strings.Split(text, "\n")
	if len(lines) > 1 {
		lines = lines[1:] // the first may be a header
	}
	fields := strings.FieldsFunc(lines[0], func(r rune) bool { return r == ',' || r == ';' || r == '\t' || r == ' ' })
	numbers := 0
	for _, f := range fields {
		if strings.ContainsAny(f[:1], "0123456789-+.") {
			numbers++
		}
	}
	return numbers >= 2
}

// noText reports a character that no text holds, but every archive and database
// within its first bytes. The last of text from old systems may be 0x1A.
func noText(r rune) bool { return r < ' ' && !strings.ContainsRune("\t\n\v\f\r\x1A", r) }

func firstWord(s string) string {
	if i := strings.IndexAny(s, " \t\r\n="); i >= 0 {
		return s[:i]
	}
	return s
}
