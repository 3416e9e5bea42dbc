package geojson

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"

	"hemrow/geo/format"
)

// The geometry types of RFC 7946 section 1.4, and the two of Esri JSON.
const (
	point              = "Point"
	multiPoint         = "MultiPoint"
	lineString         = "LineString"
	multiLineString    = "MultiLineString"
	polygon            = "Polygon"
	multiPolygon       = "MultiPolygon"
	geometryCollection = "GeometryCollection"
	esriRings          = "ring list of Esri JSON"
	esriPaths          = "path list of Esri JSON"
)

// around is how many brackets of the coordinates stand around a position.
func around(kind string) int {
	switch kind {
	case point:
		return 0
	case multiPoint, lineString:
		return 1
	case multiPolygon:
		return 3
	}
	return 2
}

func isGeometry(kind string) bool {
	switch kind {
	case point, multiPoint, lineString, multiLineString, polygon, multiPolygon, geometryCollection:
		return true
	}
	return false
}

// parts are the members of a geometry object that matter, by their places; 0
// is none, since nothing can begin at 0.
type parts struct {
	kind                           string
	coordinates, geometries, rings int
	coordinatesEnd, end            int // behind the coordinates, behind the object
}

// geometryParts finds the members of the geometry at b[at], an object or null.
func (d *decoder) geometryParts(at int) (p parts, f *fault) {
	if at < len(d.b) && d.b[at] == '{' {
		f = d.geometryMembers(at, &p)
		return p, f
	}
	if p.end, f = skipValue(d.b, at, 0); f == nil && d.b[at] != 'n' {
		f = &fault{at: at, problem: fmt.Sprintf("the geometry is %s, not an object", kindOf(d.b[at]))}
	}
	return p, f
}

// geometry reads the geometry at b[at] with the members p.
func (d *decoder) geometry(at int, p parts, depth int) *fault {
	if depth > maxDepth {
		return &fault{at: at, problem: fmt.Sprintf("geometry collections are nested more than %d deep", maxDepth)}
	}
	switch {
	case d.b[at] == 'n':
		return nil
	case p.kind == "" && p.rings > 0:
		return d.esriGeometry(at, d.raw.esri)
	case p.kind == geometryCollection:
		return d.collection(at, p.geometries, depth)
	case !isGeometry(p.kind):
		return unknownKind(at, p.kind)
	case p.coordinates == 0:
		return &fault{at: at, problem: fmt.Sprintf("%s without coordinates", p.kind)}
	}
	return d.shape(p.kind, p.coordinates, p.coordinatesEnd, false)
}

// geometryMembers finds the members of the geometry at b[at].
func (d *decoder) geometryMembers(at int, p *parts) *fault {
	m := members{b: d.b, i: at + 1}
	for m.next() {
		var place *int
		key := d.b[m.keyAt+1 : m.keyTo-1]
		switch string(key) {
		case "coordinates":
			place = &p.coordinates
		case "geometries":
			place = &p.geometries
		case "rings", "paths", "x", "points":
			if p.rings == 0 {
				p.rings = m.value
			}
		case "type":
			if p.kind != "" {
				return twice(m.keyAt, "type")
			}
			if m.value >= len(d.b) || d.b[m.value] != '"' {
				return &fault{at: m.value, problem: "the geometry's type is not text"}
			}
			var f *fault
			if p.kind, m.i, f = d.word(m.value); f != nil {
				return f
			}
			continue
		case "crs":
			end, f := d.crs(m.value)
			if f != nil {
				return f
			}
			m.i = end
			continue
		}
		if place == nil {
			if m.i, m.f = skipValue(d.b, m.value, 0); m.f != nil {
				break
			}
			continue
		}
		if *place != 0 {
			return twice(m.keyAt, string(key))
		}
		*place = m.value
		if m.i, m.f = skipNested(d.b, m.value); place == &p.coordinates {
			p.coordinatesEnd = m.i
		}
	}
	p.end = m.i
	return m.f
}

func twice(at int, key string) *fault {
	return &fault{at: at, problem: fmt.Sprintf("member %q stands twice", key), syntax: true}
}

func unknownKind(at int, kind string) *fault {
	f := &fault{at: at, problem: "geometry without its type"}
	if kind == "" {
		return f
	}
	f.problem = fmt.Sprintf("type %q is unknown", kind)
	f.hint = "hemrow reads Polygon, MultiPolygon, LineString, MultiLineString, Point, MultiPoint and GeometryCollection"
	for _, k := range [...]string{"Feature", "FeatureCollection", point, multiPoint, lineString, multiLineString, polygon, multiPolygon, geometryCollection} {
		if strings.EqualFold(k, kind) {
			f.hint = fmt.Sprintf("write %q", k)
		}
	}
	return f
}

// collection reads the geometries of a GeometryCollection one after another.
func (d *decoder) collection(at, list, depth int) *fault {
	if list == 0 {
		return &fault{at: at, problem: `GeometryCollection without its list "geometries"`}
	}
	if d.b[list] != '[' {
		return &fault{at: list, problem: fmt.Sprintf(`"geometries" is %s, not a list`, kindOf(d.b[list]))}
	}
	d.several = true
	i := skipBlank(d.b, list+1)
	if i < len(d.b) && d.b[i] == ']' {
		return nil
	}
	for {
		p, f := d.geometryParts(i)
		if f != nil {
			return f
		}
		if f := d.geometry(i, p, depth+1); f != nil {
			return f
		}
		i = skipBlank(d.b, p.end)
		more, f := separator(d.b, i, ']')
		if !more || f != nil {
			return f
		}
		i = skipBlank(d.b, i+1)
	}
}

// coords prepares to read the coordinates at b[at].
func (d *decoder) coords(kind string, at int, dropThird bool) *coords {
	return &coords{b: d.b, i: at, kind: kind, depth: around(kind), dropThird: dropThird, tally: &d.tally}
}

// shape reads the coordinates at b[at:end] into the feature.
func (d *decoder) shape(kind string, at, end int, dropThird bool) (f *fault) {
	c := d.coords(kind, at, dropThird)
	if kind != point {
		// as many positions as there are brackets, bounded by the bytes
		n := min(bytes.Count(d.b[at:end], []byte{'['}), (end-at)/bytesOfPosition+1)
		c.arena = make([]format.Coord, 0, n)
	}
	switch kind {
	case point:
		return d.point(c)
	case multiPoint:
		list, f := c.path()
		d.f.Points = append(d.f.Points, list...)
		return f
	case lineString:
		c.part = d.partOf(len(d.f.Lines), d.several)
		line, f := c.path()
		d.addLine(line)
		return f
	case multiLineString, esriPaths:
		c.part = len(d.f.Lines) + 1
		lines, f := c.lines()
		for _, l := range lines {
			d.addLine(l)
		}
		return f
	case polygon:
		c.part = d.partOf(len(d.f.Polygons), d.several)
		p, f := c.polygon()
		if f != nil {
			return f
		}
		return d.addPolygon(p, at, c.part)
	}
	c.part = len(d.f.Polygons) + 1
	list, f := c.polygons()
	if f != nil {
		return f
	}
	for i, p := range list {
		if f := d.addPolygon(p, at, i+1); f != nil {
			return f
		}
	}
	return nil
}

// partOf numbers a single shape among several of its kind; 0 when it is alone.
func (d *decoder) partOf(have int, several bool) int {
	if !several {
		return 0
	}
	return have + 1
}

func (d *decoder) point(c *coords) *fault {
	if c.cur() == '[' {
		if i := skipBlank(c.b, c.i+1); i < len(c.b) && c.b[i] == ']' {
			d.tally[noteEmpty]++
			return nil
		}
	}
	p, f := c.position()
	if f == nil {
		d.f.Points = append(d.f.Points, p)
	}
	return f
}

func (d *decoder) addLine(l []format.Coord) {
	if len(l) == 0 {
		d.tally[noteEmpty]++
		return
	}
	d.f.Lines = append(d.f.Lines, l)
}

// addPolygon adds p without its empty holes, or leaves it out when it is empty.
func (d *decoder) addPolygon(p format.Polygon, at, part int) *fault {
	empty := func(r format.Ring) bool { return len(r) == 0 }
	if len(p) > 0 && empty(p[0]) && slices.ContainsFunc(p, func(r format.Ring) bool { return len(r) > 0 }) {
		return &fault{at: at, part: part, problem: "the outer ring is empty but holes follow"}
	}
	kept := p
	if slices.ContainsFunc(p, empty) {
		kept = slices.DeleteFunc(p, empty)
		d.tally[noteEmpty]++
	}
	if len(kept) > 0 {
		d.f.Polygons = append(d.f.Polygons, kept)
	} else if len(p) == 0 {
		d.tally[noteEmpty]++
	}
	return nil
}

// settleHeights counts positions without height among others with one, and
// takes out heights that are all 0.
func (d *decoder) settleHeights() {
	t := &d.tally
	if t[seenHeight] == 0 && t[seenZero] > 0 {
		t[noteZero] = t[seenZero]
		d.eachCoord(func(c *format.Coord) { c.Z = math.NaN() })
		t[seenZero] = 0
	}
	if t[seenHeight] > 0 {
		t[noteHeight] += t[seenFlat]
	}
}

func (d *decoder) eachCoord(use func(*format.Coord)) {
	for _, p := range d.f.Polygons {
		for _, r := range p {
			for i := range r {
				use(&r[i])
			}
		}
	}
	for _, l := range d.f.Lines {
		for i := range l {
			use(&l[i])
		}
	}
	for i := range d.f.Points {
		use(&d.f.Points[i])
	}
}
