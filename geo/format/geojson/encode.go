package geojson

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"unicode/utf8"

	"hemrow/geo"
)

// Path is positions one after another: a line, a ring, or loose points.
// HeightsM is as long as At, with NaN where there is none, or nil.
type Path struct {
	At       []geo.LonLat
	HeightsM []float64
}

// OutPolygon is an outer ring followed by its holes. Rings may be open and
// may run either way.
type OutPolygon []Path

// OutGeometry is the shapes of one feature. A single shape is written as
// Polygon, LineString or Point, several of a kind as MultiPolygon and so on,
// several kinds as a GeometryCollection, none as null.
type OutGeometry struct {
	Polygons []OutPolygon
	Lines    []Path
	Points   Path
}

// Property is one member of a feature's properties. Value may be text, a
// number, json.Number, bool, nil, or anything else that encoding/json writes.
type Property struct {
	Key   string
	Value any
}

// OutFeature is a feature to write. Properties keep their order. ID "" writes
// no id; with IDNumber an ID that is one is written as a number.
type OutFeature struct {
	ID         string
	IDNumber   bool
	Geometry   OutGeometry
	Properties []Property
}

// Write writes the features as one FeatureCollection (RFC 7946, 2016), one
// feature on each line. Longitude and latitude get 9 decimals (0.11 mm),
// heights 3, without trailing zeros and never with an exponent. Outer rings are
// turned counter-clockwise and holes clockwise, and rings are closed. A shape
// that crosses the antimeridian is cut there in two (section 3.1.9); on the way
// longitudes beyond 180 are brought back.
//
// Write refuses coordinates that are not finite or beyond the poles, rings of
// fewer than three corners or around the earth, lines of one point, and
// properties that JSON cannot hold, before anything is written.
func Write(w io.Writer, features []OutFeature) error {
	for i := range features {
		if err := features[i].Check(); err != nil {
			return fmt.Errorf("feature %d: %w", i+1, err)
		}
	}
	out := bufio.NewWriterSize(w, 64<<10)
	b := []byte(`{"type":"FeatureCollection","features":[`)
	for i, f := range features {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(b, '\n')
		b = AppendFeature(b, f)
		if _, err := out.Write(b); err != nil {
			return err
		}
		b = b[:0]
	}
	b = append(b, "\n]}\n"...)
	if _, err := out.Write(b); err != nil {
		return err
	}
	return out.Flush()
}

// AppendFeature appends f as [Write] writes it, on one line without an end of
// line. A feature that [OutFeature.Check] refuses is appended with what can be
// written: null for a geometry or for a property that is wrong, so that the
// line stays valid JSON.
func AppendFeature(b []byte, f OutFeature) []byte {
	b = append(b, `{"type":"Feature"`...)
	if f.ID != "" {
		b = append(b, `,"id":`...)
		if f.IDNumber && json.Valid([]byte(f.ID)) && f.ID[0] <= '9' {
			b = append(b, f.ID...)
		} else {
			b = appendText(b, f.ID)
		}
	}
	b = append(b, `,"properties":{`...)
	for i, p := range f.Properties {
		if i > 0 {
			b = append(b, ',')
		}
		b = appendText(b, p.Key)
		b = append(b, ':')
		b = appendValue(b, p.Value)
	}
	b = append(b, `},"geometry":`...)
	if f.Geometry.check() != nil {
		b = append(b, "null"...)
	} else {
		b = f.Geometry.append(b)
	}
	return append(b, '}')
}

// Check says whether f can be written.
func (f OutFeature) Check() error {
	for _, p := range f.Properties {
		if v, ok := p.Value.(float64); ok && (math.IsNaN(v) || math.IsInf(v, 0)) {
			return fmt.Errorf("property %q is %v, which JSON cannot hold", p.Key, v)
		}
		if _, err := json.Marshal(p.Value); err != nil {
			return fmt.Errorf("property %q: %w", p.Key, err)
		}
	}
	return f.Geometry.check()
}

func (g OutGeometry) check() error {
	for i, p := range g.Polygons {
		for k, r := range p {
			if err := r.check(3); err != nil {
				return fmt.Errorf("polygon %d, ring %d: %w", i+1, k+1, err)
			}
		}
		if len(p) == 0 {
			return fmt.Errorf("polygon %d has no ring", i+1)
		}
	}
	for i, l := range g.Lines {
		if err := l.check(2); err != nil {
			return fmt.Errorf("line %d: %w", i+1, err)
		}
	}
	return g.Points.check(0)
}

// check refuses wrong numbers and fewer than least corners, a closing one not
// counted.
func (p Path) check(least int) error {
	if p.HeightsM != nil && len(p.HeightsM) != len(p.At) {
		return fmt.Errorf("%d heights for %d positions", len(p.HeightsM), len(p.At))
	}
	for i, at := range p.At {
		if !at.Valid() { // false for NaN too
			return fmt.Errorf("vertex %d (%v) is no longitude and latitude", i+1, at)
		}
	}
	for i, z := range p.HeightsM {
		if math.IsInf(z, 0) {
			return fmt.Errorf("the height of vertex %d is infinite", i+1)
		}
	}
	n := len(p.At)
	if least > 2 && n > 1 && p.At[0] == p.At[n-1] {
		n--
	}
	if n < least {
		return fmt.Errorf("%d corners, at least %d are needed", n, least)
	}
	if least > 2 && p.winds() {
		return errors.New("the ring runs around the earth")
	}
	return nil
}

// append writes the geometry object.
func (g OutGeometry) append(b []byte) []byte {
	polygons, lines := g.cut()
	kinds := 0
	for _, n := range [...]int{len(polygons), len(lines), len(g.Points.At)} {
		if n > 0 {
			kinds++
		}
	}
	if kinds == 0 {
		return append(b, "null"...)
	}
	if kinds > 1 {
		b = append(b, `{"type":"GeometryCollection","geometries":[`...)
	}
	begin := len(b)
	next := func() {
		if len(b) > begin {
			b = append(b, ',')
		}
	}
	if len(polygons) > 0 {
		b = appendPolygons(b, polygons)
	}
	if len(lines) > 0 {
		next()
		b = appendPaths(b, lines, lineString)
	}
	if n := len(g.Points.At); n > 0 {
		next()
		points := fold(g.Points)
		kind := multiPoint
		if n == 1 {
			kind = point
		}
		b = append(append(append(b, `{"type":"`...), kind...), `","coordinates":`...)
		if n == 1 {
			b = points.appendPosition(b, 0)
		} else {
			b = points.append(b)
		}
		b = append(b, '}')
	}
	if kinds > 1 {
		b = append(b, "]}"...)
	}
	return b
}

func appendPolygons(b []byte, polygons []OutPolygon) []byte {
	if len(polygons) == 1 {
		b = append(b, `{"type":"Polygon","coordinates":`...)
		return append(polygons[0].append(b), '}')
	}
	b = append(b, `{"type":"MultiPolygon","coordinates":[`...)
	for i, p := range polygons {
		if i > 0 {
			b = append(b, ',')
		}
		b = p.append(b)
	}
	return append(b, "]}"...)
}

func appendPaths(b []byte, paths []Path, kind string) []byte {
	if len(paths) == 1 {
		b = append(append(append(b, `{"type":"`...), kind...), `","coordinates":`...)
		return append(paths[0].append(b), '}')
	}
	b = append(append(append(b, `{"type":"Multi`...), kind...), `","coordinates":[`...)
	for i, p := range paths {
		if i > 0 {
			b = append(b, ',')
		}
		b = p.append(b)
	}
	return append(b, "]}"...)
}

func (p OutPolygon) append(b []byte) []byte {
	b = append(b, '[')
	for i, r := range p {
		if i > 0 {
			b = append(b, ',')
		}
		b = r.append(b)
	}
	return append(b, ']')
}

func (p Path) append(b []byte) []byte {
	b = append(b, '[')
	for i := range p.At {
		if i > 0 {
			b = append(b, ',')
		}
		b = p.appendPosition(b, i)
	}
	return append(b, ']')
}

func (p Path) appendPosition(b []byte, i int) []byte {
	b = append(b, '[')
	b = appendFixed(b, p.At[i].LonDeg, 9)
	b = append(b, ',')
	b = appendFixed(b, p.At[i].LatDeg, 9)
	if p.HeightsM != nil && !math.IsNaN(p.HeightsM[i]) {
		b = append(b, ',')
		b = appendFixed(b, p.HeightsM[i], 3)
	}
	return append(b, ']')
}

// appendFixed appends v with so many decimals, trailing zeros left out. Below
// 2^53 units of the last decimal it rounds v times a power of ten, which is
// within 3e-5 of a unit of the exact product for |v| up to 360 and 9 decimals.
func appendFixed(b []byte, v float64, decimals int) []byte {
	scaled := math.Round(v * tens[decimals])
	if math.Abs(scaled) >= exactInt {
		return trimZeros(strconv.AppendFloat(b, v, 'f', decimals, 64), len(b))
	}
	n := int64(scaled)
	if n < 0 {
		b = append(b, '-')
		n = -n
	}
	unit := int64(tens[decimals])
	b = strconv.AppendInt(b, n/unit, 10)
	rest := n % unit
	if rest == 0 {
		return b
	}
	b = append(b, '.')
	for rest > 0 {
		unit /= 10
		b = append(b, byte('0'+rest/unit))
		rest %= unit
	}
	return b
}

// trimZeros takes zeros off the end of the decimal number at b[from:].
func trimZeros(b []byte, from int) []byte {
	if bytes.IndexByte(b[from:], '.') < 0 {
		return b
	}
	return bytes.TrimRight(bytes.TrimRight(b, "0"), ".")
}

// appendText appends s as a JSON text; bytes that are no UTF-8 become U+FFFD.
func appendText(b []byte, s string) []byte {
	const hexDigits = "0123456789abcdef"
	b = append(b, '"')
	for i := 0; i < len(s); {
		c := s[i]
		if c < utf8.RuneSelf {
			switch {
			case c == '"' || c == '\\':
				b = append(b, '\\', c)
			case c == '\n':
				b = append(b, '\\', 'n')
			case c == '\t':
				b = append(b, '\\', 't')
			case c < ' ' || c == 0x7F:
				b = append(b, '\\', 'u', '0', '0', hexDigits[c>>4], hexDigits[c&15])
			default:
				b = append(b, c)
			}
			i++
			continue
		}
		r, n := utf8.DecodeRuneInString(s[i:])
		b = utf8.AppendRune(b, r)
		i += n
	}
	return append(b, '"')
}

// appendValue appends the value of a property, null if JSON cannot hold it.
func appendValue(b []byte, v any) []byte {
	switch v := v.(type) {
	case nil:
		return append(b, "null"...)
	case string:
		return appendText(b, v)
	case bool:
		return strconv.AppendBool(b, v)
	case int:
		return strconv.AppendInt(b, int64(v), 10)
	case float64:
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return append(b, "null"...)
		}
		if v == 0 {
			return append(b, '0') // never minus zero
		}
	}
	var buf bytes.Buffer
	e := json.NewEncoder(&buf)
	e.SetEscapeHTML(false)
	if e.Encode(v) != nil {
		return append(b, "null"...)
	}
	return append(b, bytes.TrimRight(buf.Bytes(), "\n")...)
}
