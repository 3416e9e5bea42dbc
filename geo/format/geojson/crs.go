package geojson

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// isWGS84 reports whether words name WGS84 longitude and latitude, in the
// spellings met in files. The order of axes that an authority prescribes is of
// no account: files write longitude first (common practice, no source).
func isWGS84(words string) bool {
	w := strings.ToUpper(strings.TrimSpace(words))
	switch w {
	case "", "NULL", "WGS84", "WGS 84", "CRS84", "CRS84H":
		return true
	}
	parts := strings.FieldsFunc(w, func(r rune) bool { return r == ':' || r == '/' })
	if len(parts) < 2 {
		return false
	}
	switch code := parts[len(parts)-1]; {
	case code == "CRS84", code == "CRS84H":
		return strings.Contains(w, "OGC")
	case code == "84":
		return parts[len(parts)-2] == "CRS"
	case code == "4326", code == "4979":
		for _, p := range parts[:len(parts)-1] {
			if p == "EPSG" {
				return true
			}
		}
	}
	return false
}

// epsgCode is the EPSG number that words name, 0 for none.
func epsgCode(words string) int {
	parts := strings.FieldsFunc(strings.ToUpper(strings.TrimSpace(words)), func(r rune) bool { return r == ':' || r == '/' })
	if len(parts) < 2 || !slices.Contains(parts[:len(parts)-1], "EPSG") {
		return 0
	}
	n, err := strconv.Atoi(parts[len(parts)-1])
	if err != nil || n <= 0 {
		return 0
	}
	return n
}

// readCRS reads the value of a crs member (GeoJSON draft of 2008, section 3):
// the words it declares, and a fault when they are neither WGS84 nor named by
// an EPSG number that the caller takes.
func readCRS(value []byte, takes func(code int) bool) (declared string, f *fault) {
	if len(value) > 0 && value[0] == '"' {
		declared, _, f = readText(value, 0)
		if f != nil {
			return "", f
		}
		return declared, refuseCRS(declared, takes)
	}
	if string(value) == "null" {
		return "null", nil
	}
	if value[0] != '{' {
		return "", &fault{problem: fmt.Sprintf(`member "crs" is %s`, kindOf(value[0]))}
	}
	var kind, name, code string
	err := eachMember(value, 0, func(key string, i, end int) *fault {
		switch key {
		case "type":
			kind = plainValue(value[i:end])
		case "properties":
			if value[i] != '{' {
				return nil
			}
			return eachMember(value, i, func(key string, i, end int) *fault {
				switch key {
				case "name", "href":
					name = plainValue(value[i:end])
				case "code":
					code = plainValue(value[i:end])
				}
				return nil
			})
		}
		return nil
	})
	switch {
	case err != nil:
		return "", err
	case strings.EqualFold(kind, "link"):
		return name, &fault{
			problem: fmt.Sprintf("the coordinate system is only a link (%s)", name),
			hint:    "find out which system it is, take the crs member out and name it with --crs, or convert: ogr2ogr -s_srs EPSG:... -t_srs EPSG:4326 out.geojson in.geojson",
		}
	case strings.EqualFold(kind, "EPSG") && code != "":
		name = "EPSG:" + code
	case name == "":
		return "", &fault{
			problem: `member "crs" names no coordinate system`,
			hint:    `take the member out if the coordinates are WGS84 longitude and latitude`,
		}
	}
	return name, refuseCRS(name, takes)
}

func refuseCRS(declared string, takes func(code int) bool) *fault {
	if isWGS84(declared) {
		return nil
	}
	if code := epsgCode(declared); code != 0 && takes(code) {
		return nil
	}
	return &fault{
		problem: fmt.Sprintf("coordinates are in %s, not in WGS84 longitude and latitude", declared),
		hint:    "convert the file first: ogr2ogr -t_srs EPSG:4326 out.geojson in.geojson",
	}
}

// eachMember calls use for each member of the object at b[i], with the place
// of its value.
func eachMember(b []byte, i int, use func(key string, i, end int) *fault) *fault {
	m := members{b: b, i: i + 1}
	for m.next() {
		key := m.key()
		if m.f != nil {
			break
		}
		end, f := skipValue(b, m.value, 0)
		if f != nil {
			return f
		}
		if f := use(key, m.value, end); f != nil {
			return f
		}
		m.i = end
	}
	return m.f
}

// plainValue is text, a number or a word as text; "" for anything longer.
func plainValue(b []byte) string {
	switch b[0] {
	case '"':
		s, _, f := readText(b, 0)
		if f != nil {
			return ""
		}
		return s
	case '{', '[':
		return ""
	}
	return string(b)
}
