package geojson

import (
	"bytes"
	"fmt"

	"hemrow/geo"
	"hemrow/geo/format"
)

// Decode reads one raw feature. A feature without geometry, or with empty
// coordinates only, comes back without shapes and with a note. The result
// holds no part of raw.Bytes.
func (s *Stream) Decode(raw Raw) (format.Feature, geo.Notes, error) {
	f, t, err := s.decode(raw)
	if err != nil {
		return f, nil, err
	}
	return f, t.notes(s.name, f), nil
}

func (s *Stream) decode(raw Raw) (format.Feature, tally, error) {
	d := decoder{b: raw.Bytes, raw: &raw}
	d.f.Number, d.f.Line = raw.Number, raw.Line
	if raw.Err != nil {
		return d.f, d.tally, raw.Err
	}
	if f := d.whole(); f != nil {
		return format.Feature{Number: raw.Number, Line: raw.Line, ID: d.f.ID, Name: d.f.Name}, d.tally, d.fail(s.name, f)
	}
	d.settleHeights()
	if len(d.f.Polygons) == 0 && len(d.f.Lines) == 0 && len(d.f.Points) == 0 {
		d.tally[noteEmpty], d.tally[noteLeft] = 0, 1
	}
	return d.f, d.tally, nil
}

// decoder reads one feature.
type decoder struct {
	b       []byte
	raw     *Raw
	f       format.Feature
	tally   tally
	several bool // inside a GeometryCollection
}

// outermost are the members of the feature object, by the places of their
// values; 0 is none.
type outermost struct {
	kind                               string
	id, geometry, properties           int
	coordinates, geometries, esriShape int
	shape                              parts // of the geometry
	esri                               esriFlags
}

// whole reads all of b, which holds one object and nothing else.
func (d *decoder) whole() *fault {
	if len(d.b) == 0 || d.b[0] != '{' {
		return &fault{problem: "a feature must be an object"}
	}
	o := outermost{esri: d.raw.esri}
	end, f := d.outerMembers(&o)
	if f != nil {
		return f
	}
	if end = skipBlank(d.b, end); end < len(d.b) {
		f := syntaxAt(d.b, end)
		f.problem = "more follows behind the end of the feature: " + f.problem
		return f
	}
	if f := d.describe(o); f != nil {
		return f
	}
	switch {
	case o.kind == "Feature" || o.kind == "" && o.geometry > 0:
		if o.geometry == 0 {
			return nil
		}
		d.raw.esri = o.esri
		return d.geometry(o.geometry, o.shape, 0)
	case isGeometry(o.kind) || o.kind == "" && o.esriShape > 0:
		d.raw.esri = o.esri
		p, f := d.geometryParts(0)
		if f != nil {
			return f
		}
		return d.geometry(0, p, 0)
	case o.kind == "FeatureCollection":
		return &fault{problem: "a FeatureCollection stands where a feature is expected"}
	case o.kind == "" && (o.coordinates > 0 || o.geometries > 0):
		return unknownKind(0, "")
	case o.kind == "":
		return &fault{
			problem: "JSON, but no GeoJSON: the object has no type",
			hint:    `a feature begins with {"type": "Feature", "geometry": ...`,
		}
	}
	return unknownKind(0, o.kind)
}

// outerMembers finds the members and returns the place behind the object.
// Geometry and properties are read strictly later, everything else here.
func (d *decoder) outerMembers(o *outermost) (end int, f *fault) {
	m := members{b: d.b, i: 1}
	for m.next() {
		var place *int
		long := false
		key := d.b[m.keyAt+1 : m.keyTo-1]
		switch string(key) {
		case "type":
			if o.kind != "" {
				return 0, twice(m.keyAt, "type")
			}
			if m.value >= len(d.b) || d.b[m.value] != '"' {
				return 0, &fault{at: m.value, problem: "the type is not text"}
			}
			if o.kind, m.i, m.f = d.word(m.value); m.f != nil {
				return 0, m.f
			}
			continue
		case "id":
			place = &o.id
		case "geometry":
			if o.geometry != 0 {
				return 0, twice(m.keyAt, "geometry")
			}
			o.geometry = m.value
			if o.shape, m.f = d.geometryParts(m.value); m.f != nil {
				return 0, m.f
			}
			m.i = o.shape.end
			continue
		case "properties":
			place, long = &o.properties, true
		case "attributes":
			if o.properties == 0 {
				o.properties = m.value
			}
		case "coordinates":
			place, long = &o.coordinates, true
		case "geometries":
			place, long = &o.geometries, true
		case "rings", "paths":
			o.esriShape = m.value
		case "crs":
			end, f := d.crs(m.value)
			if f != nil {
				return 0, f
			}
			m.i = end
			continue
		}
		if place != nil {
			if *place != 0 {
				return 0, twice(m.keyAt, string(key))
			}
			*place = m.value
		}
		if long {
			m.i, m.f = skipNested(d.b, m.value)
			continue
		}
		if m.i, m.f = skipValue(d.b, m.value, 0); m.f == nil && place == nil {
			m.f = o.esri.read(string(key), d.b[m.value:m.i])
		}
	}
	return m.i, m.f
}

// word is the text at b[at] without a copy when it is a type of the format.
func (d *decoder) word(at int) (string, int, *fault) {
	end, _, f := skipText(d.b, at)
	if f != nil {
		return "", 0, f
	}
	w := d.b[at+1 : end-1]
	for _, k := range [...]string{"Feature", polygon, multiPolygon, lineString, multiLineString, point, multiPoint, geometryCollection} {
		if string(w) == k {
			return k, end, nil
		}
	}
	return readText(d.b, at)
}

// crs reads the crs member of a feature or geometry.
func (d *decoder) crs(at int) (end int, f *fault) {
	if end, f = skipValue(d.b, at, 0); f != nil {
		return 0, f
	}
	if _, f := readCRS(d.b[at:end], d.takes); f != nil {
		f.at += at
		return 0, f
	}
	d.tally[noteCRS] = 1
	return end, nil
}

// takes reports whether a system is that of the whole input.
func (d *decoder) takes(code int) bool { return d.raw.code == code }

// describe reads id and properties, and guesses the name.
func (d *decoder) describe(o outermost) *fault {
	if o.id > 0 {
		switch c := d.b[o.id]; {
		case c == '"' || c == '-' || c >= '0' && c <= '9':
			end, f := skipValue(d.b, o.id, 0)
			if f != nil {
				return f
			}
			d.f.ID, d.f.IDNumber = plainValue(d.b[o.id:end]), c != '"'
		case c != 'n':
			return &fault{at: o.id, problem: fmt.Sprintf("the id is %s; it must be text or a number", kindOf(c))}
		}
	}
	if o.properties > 0 {
		if f := d.properties(o.properties); f != nil {
			return f
		}
	}
	if d.f.Name == "" {
		d.f.Name = d.f.ID
	}
	return nil
}

// fail places a fault of the feature in the file.
func (d *decoder) fail(file string, f *fault) error {
	at := min(f.at, len(d.b))
	e := &geo.InputError{
		File: file, Line: d.raw.Line, Feature: d.raw.Number, Name: d.f.Name,
		Part: f.part, Hole: f.hole, Vertex: f.vertex, Problem: f.problem, Hint: f.hint,
	}
	col := d.raw.col + at
	if n := bytes.Count(d.b[:at], []byte{'\n'}); n > 0 {
		e.Line += n
		col = at - bytes.LastIndexByte(d.b[:at], '\n')
	}
	switch {
	case f.ended:
		e.Problem = fmt.Sprintf("column %d: the record ends inside the feature", col)
		e.Hint = "it was cut short; fetch or copy the file again"
	case f.syntax:
		e.Problem = fmt.Sprintf("column %d: %s", col, f.problem)
	}
	return e
}
