package crs

import (
	"fmt"
	"strconv"
	"strings"
)

// Parse reads the name of a system as people and files write it: EPSG:25832,
// epsg 25832, 25832, urn:ogc:def:crs:EPSG::25832,
// http://www.opengis.net/def/crs/EPSG/0/25832, OGC:CRS84, the name of a system
// in EPSG's table with or without its code in brackets behind, or well-known
// text ([ParseWKT]).
func Parse(text string) (Definition, error) {
	s := strings.TrimSpace(strings.TrimPrefix(text, "\ufeff"))
	switch {
	case s == "":
		return Definition{}, fmt.Errorf("the name of the coordinate system is empty; write for example EPSG:25832")
	case strings.Contains(s, "["):
		return ParseWKT(text)
	case strings.HasPrefix(s, "+") || strings.HasPrefix(s, "{"):
		return Definition{}, fmt.Errorf("%q is a form that is not read; give the EPSG code, for example EPSG:25832, or the text of a .prj file", clip(s, 40))
	}
	if d, ok := byName(s); ok {
		return d, nil
	}
	if strings.Contains(s, "(") { // well-known text may have round brackets too
		return ParseWKT(text)
	}
	parts := strings.FieldsFunc(strings.ToUpper(s), func(r rune) bool {
		return r == ':' || r == '/' || r == ' ' || r == '#' || r == '_' || r == '='
	})
	if len(parts) == 0 {
		return Definition{}, notACode(s)
	}
	last := parts[len(parts)-1]
	before := " " + strings.Join(parts[:len(parts)-1], " ") + " "
	switch {
	case last == "CRS84" || last == "CRS84H" || last == "84" && strings.Contains(before, " CRS "):
		d, err := ByCode(4326)
		d.Name, d.NorthFirst = "WGS 84 (CRS84)", false
		return d, err
	case last == "WGS84" && before == "  " || last == "84" && before == " WGS ":
		return ByCode(4326)
	case before != "  " && !strings.Contains(before, " EPSG "):
		return Definition{}, notACode(s)
	}
	code, err := strconv.Atoi(last)
	if err != nil || code <= 0 {
		return Definition{}, notACode(s)
	}
	return ByCode(code)
}

// byName finds a system by its whole name, in any case.
func byName(s string) (Definition, bool) {
	t, err := epsg()
	if err != nil {
		return Definition{}, false
	}
	if i := strings.LastIndex(s, " (EPSG:"); i > 0 && strings.HasSuffix(s, ")") {
		s = s[:i]
	}
	for _, lines := range [...][]string{t.projLines, t.geoLines} {
		for _, line := range lines {
			code, rest, _ := strings.Cut(line, "\t")
			name, _, _ := strings.Cut(rest, "\t")
			if strings.EqualFold(name, s) {
				return t.definition(atoi(code))
			}
		}
	}
	return Definition{}, false
}

func notACode(s string) error {
	return fmt.Errorf("%q names no coordinate system; give the EPSG code, for example EPSG:25832, the EPSG name, or a .prj file", clip(s, 60))
}
