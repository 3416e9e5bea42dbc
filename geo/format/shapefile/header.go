package shapefile

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"strings"

	"hemrow/geo"
)

// The main file header (ESRI Shapefile Technical Description, 1998, table 1).
const (
	headerBytes = 100
	fileCode    = 9994
	frameBytes  = 8     // before each record (table 2)
	noDataBelow = -1e38 // a measure below is none (1998, page 2)
)

// The shape types (1998, page 4).
const (
	typeNull       = 0
	typePoint      = 1
	typeLine       = 3
	typePolygon    = 5
	typeMultiPoint = 8
	typePointZ     = 11
	typeLineZ      = 13
	typePolygonZ   = 15
	typePointsZ    = 18
	typePointM     = 21
	typeLineM      = 23
	typePolygonM   = 25
	typePointsM    = 28
	typePatch      = 31
)

// family is the plain type of a type with heights or measures, -1 if unknown.
func family(kind int32) int32 {
	switch kind {
	case typeNull, typePoint, typeLine, typePolygon, typeMultiPoint, typePatch:
		return kind
	case typePointZ, typeLineZ, typePolygonZ, typePointsZ:
		return kind - 10
	case typePointM, typeLineM, typePolygonM, typePointsM:
		return kind - 20
	}
	return -1
}

func hasZ(kind int32) bool { return kind >= typePointZ && kind <= typePointsZ }

// kindWord names a type.
func kindWord(kind int32) string {
	words := map[int32]string{
		typeNull: "Null", typePoint: "Point", typeLine: "PolyLine", typePolygon: "Polygon",
		typeMultiPoint: "MultiPoint", typePatch: "MultiPatch",
	}
	f := family(kind)
	switch {
	case f < 0:
		return fmt.Sprintf("unknown type %d", kind)
	case hasZ(kind):
		return words[f] + "Z"
	case kind >= typePointM && kind <= typePointsM:
		return words[f] + "M"
	}
	return words[f]
}

// mainHeader is what matters in the header of a .shp or .shx.
type mainHeader struct {
	kind  int32
	bytes int64 // length of the file as the header states it
}

// readHeader reads the header and says what else the file may be.
func readHeader(s *source) (h mainHeader, err error) {
	b, err := s.peek(int(min(headerBytes*5, max(s.size, headerBytes))))
	if e := sniff(b); e != nil {
		e.File = s.label
		return h, e
	}
	if err != nil && len(b) >= headerBytes {
		err = nil // the folder states more bytes than there are; found out later
	}
	if err != nil {
		return h, err
	}
	if code := int32(binary.BigEndian.Uint32(b)); code != fileCode {
		return h, &geo.InputError{
			File:    s.label,
			Problem: fmt.Sprintf("this is no shapefile: it begins with code %d where %d is due", code, fileCode),
		}
	}
	s.pos += headerBytes
	h.kind = int32(binary.LittleEndian.Uint32(b[32:]))
	h.bytes = 2 * int64(int32(binary.BigEndian.Uint32(b[24:])))
	return h, nil
}

// sniff recognises what is sometimes found under the name of a shapefile.
func sniff(b []byte) *geo.InputError {
	text := strings.ToLower(string(bytes.TrimLeft(bytes.TrimPrefix(b, []byte("\xEF\xBB\xBF")), " \t\r\n")))
	switch {
	case len(b) == 0:
		return &geo.InputError{Problem: "the file is empty (0 bytes)", Hint: "fetch or copy it again"}
	case strings.HasPrefix(text, "version https://git-lfs"):
		return &geo.InputError{Problem: "this is a pointer of Git LFS, not the file itself", Hint: "fetch it with git lfs pull"}
	case strings.HasPrefix(text, "<!doctype html"), strings.HasPrefix(text, "<html"):
		return &geo.InputError{Problem: "this is an HTML page, not a shapefile", Hint: "the download went wrong; fetch the file again"}
	case strings.HasPrefix(text, "<"):
		return &geo.InputError{Problem: "this is an XML file, not a shapefile"}
	case strings.HasPrefix(text, "{"), strings.HasPrefix(text, "["):
		return &geo.InputError{Problem: "this is a JSON file, not a shapefile", Hint: "give it the ending .geojson if it is one"}
	case bytes.HasPrefix(b, []byte("PK\x03\x04")):
		return &geo.InputError{Problem: "this is a zip archive, not a shapefile", Hint: "give it the ending .zip"}
	case bytes.HasPrefix(b, []byte("SQLite format 3\x00")):
		return &geo.InputError{Problem: "this is a GeoPackage or another database, not a shapefile", Hint: "convert it with ogr2ogr out.geojson in.gpkg"}
	}
	return nil
}
