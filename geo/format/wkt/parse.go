package wkt

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"hemrow/geo"
	"hemrow/geo/format"
)

// maxDepth is how deep collections may be nested.
const maxDepth = 32

// Parse reads one geometry, with or without SRID. The feature has neither
// number nor name. An empty geometry gives a feature without shapes. A fault is
// a *[geo.InputError] whose Line counts inside text.
func Parse(text string) (format.Feature, error) {
	f, _, err := ParseFound(text)
	return f, err
}

// ParseFound is [Parse] that also says what was found beside the shapes.
func ParseFound(text string) (format.Feature, Found, error) {
	p := parser{s: text}
	p.gap()
	if p.i == len(p.s) {
		return format.Feature{}, Found{}, &geo.InputError{Line: 1, Problem: "no geometry: the text is empty"}
	}
	f, err := p.whole()
	if err != nil {
		return format.Feature{}, Found{}, err
	}
	if p.skipBetween(); p.i < len(p.s) {
		p.at = place{}
		return format.Feature{}, Found{}, p.failAt(p.i, "%s follows after the end of the geometry", p.shown(p.i))
	}
	return f, p.found, nil
}

// parser reads geometries from s, one after another.
type parser struct {
	s     string
	i     int
	f     format.Feature
	found Found
	at    place
	seen  heights
}

// place is where in a geometry the parser is, from 1; 0 is nowhere.
type place struct{ part, hole, vertex int }

// whole reads one geometry from its first letter on.
func (p *parser) whole() (format.Feature, error) {
	p.f, p.found, p.at, p.seen = format.Feature{}, Found{}, place{}, heights{}
	if err := p.srid(); err != nil {
		return p.f, err
	}
	if err := p.geometry(untagged, 0); err != nil {
		return p.f, err
	}
	p.settleHeights()
	return p.f, nil
}

// srid reads SRID=25832; if it is there.
func (p *parser) srid() error {
	start := p.i
	if !strings.EqualFold(p.word(), "SRID") {
		p.i = start
		return nil
	}
	p.gap()
	if p.cur() != '=' {
		return p.failAt(p.i, "%s stands where = is expected after SRID", p.shown(p.i))
	}
	p.i++
	p.gap()
	at := p.i
	text := p.token()
	code, err := strconv.Atoi(text)
	if err != nil || code < 0 {
		return p.failAt(at, "the SRID is %s, not a whole number", p.shown(at))
	}
	p.gap()
	if p.cur() != ';' {
		return p.failAt(p.i, "%s stands where a semicolon is expected after SRID=%d", p.shown(p.i), code)
	}
	p.i++
	p.gap()
	p.found.Code = code
	return nil
}

// geometry reads a keyword and what follows it. outer is the tag of the
// collection around it.
func (p *parser) geometry(outer tag, depth int) error {
	start := p.i
	name, t, ok := splitTag(strings.ToUpper(p.word()))
	if !ok {
		return p.unknown(start, name)
	}
	p.gap()
	if t == untagged {
		at := p.i
		if w := tagOf(strings.ToUpper(p.word())); w != untagged {
			t = w
		} else {
			p.i, t = at, outer
		}
	}
	d := &dims{tag: t}
	p.gap()
	if p.empty() {
		p.found.Empty++
		return nil
	}
	return p.body(name, d, depth)
}

// body reads what stands in the outermost brackets of a geometry.
func (p *parser) body(name string, d *dims, depth int) error {
	switch name {
	case "POINT":
		return p.point(d)
	case "LINESTRING":
		return p.line(d)
	case "POLYGON":
		return p.polygon(d)
	case "MULTIPOINT":
		return p.list(func() error { p.at.vertex++; return p.multiPoint(d) })
	case "MULTILINESTRING":
		return p.parts(depth, func() error { return p.orEmpty(d, p.line) })
	case "MULTIPOLYGON":
		return p.parts(depth, func() error { return p.orEmpty(d, p.polygon) })
	}
	if depth == maxDepth {
		return p.failAt(p.i, "collections are nested more than %d deep", maxDepth)
	}
	return p.parts(depth, func() error { return p.geometry(d.tag, depth+1) })
}

// parts reads a list of parts and counts them, unless the collection around
// does already.
func (p *parser) parts(depth int, item func() error) error {
	err := p.list(func() error {
		if depth == 0 {
			p.at = place{part: p.at.part + 1}
		}
		return item()
	})
	if err == nil && depth == 0 {
		p.at = place{}
	}
	return err
}

// list reads ( item , item ... ).
func (p *parser) list(item func() error) error {
	if err := p.open(); err != nil {
		return err
	}
	for {
		p.gap()
		if err := item(); err != nil {
			return err
		}
		p.gap()
		switch p.cur() {
		case ',':
			p.i++
		case ')':
			p.i++
			return nil
		default:
			return p.failAt(p.i, "%s stands where a comma or a closing bracket is expected", p.shown(p.i))
		}
	}
}

func (p *parser) open() error {
	p.gap()
	if p.cur() != '(' {
		return p.failAt(p.i, "%s stands where an opening bracket is expected", p.shown(p.i))
	}
	p.i++
	return nil
}

// empty reads the word EMPTY if it is there.
func (p *parser) empty() bool {
	start := p.i
	if strings.EqualFold(p.word(), "EMPTY") {
		return true
	}
	p.i = start
	return false
}

func (p *parser) orEmpty(d *dims, read func(*dims) error) error {
	if p.empty() {
		p.found.Empty++
		return nil
	}
	return read(d)
}

func (p *parser) point(d *dims) error {
	if err := p.open(); err != nil {
		return err
	}
	c, err := p.position(d)
	if err != nil {
		return err
	}
	p.gap()
	if p.cur() != ')' {
		return p.failAt(p.i, "%s stands where the closing bracket of the point is expected", p.shown(p.i))
	}
	p.i++
	p.f.Points = append(p.f.Points, c)
	return nil
}

// multiPoint reads one point of several, with brackets of its own or without
// (the older habit).
func (p *parser) multiPoint(d *dims) error {
	if p.empty() {
		p.found.Empty++
		return nil
	}
	if p.cur() == '(' {
		return p.point(d)
	}
	c, err := p.position(d)
	if err == nil {
		p.f.Points = append(p.f.Points, c)
	}
	return err
}

func (p *parser) line(d *dims) error {
	path, err := p.path(d)
	if err == nil {
		p.f.Lines = append(p.f.Lines, path)
	}
	return err
}

func (p *parser) polygon(d *dims) error {
	start := p.i
	var rings format.Polygon
	noOuter := false
	p.at.hole = -1
	err := p.list(func() error {
		p.at.hole++
		if p.empty() {
			p.found.Empty++
			noOuter = noOuter || p.at.hole == 0
			return nil
		}
		ring, err := p.path(d)
		rings = append(rings, ring)
		return err
	})
	if err != nil {
		p.at.hole = max(p.at.hole, 0)
		return err
	}
	p.at.hole = 0
	if noOuter && len(rings) > 0 {
		return p.failAt(start, "the outer ring is empty but holes follow")
	}
	if len(rings) > 0 {
		p.f.Polygons = append(p.f.Polygons, rings)
	}
	return nil
}

func (p *parser) path(d *dims) (out []format.Coord, err error) {
	p.at.vertex = 0
	err = p.list(func() error {
		p.at.vertex++
		c, err := p.position(d)
		out = append(out, c)
		return err
	})
	if err == nil {
		p.at.vertex = 0
	}
	return out, err
}

// position reads two to four numbers.
func (p *parser) position(d *dims) (c format.Coord, err error) {
	var v [4]float64
	start, n := p.i, 0
	for p.gap(); !p.ends(); p.gap() {
		if n == len(v) {
			return c, p.failAt(p.i, "a position has more than %d numbers", len(v))
		}
		if v[n], err = p.number(n); err != nil {
			return c, err
		}
		n++
	}
	if n < 2 {
		return c, p.short(start, n)
	}
	if !d.fits(n) {
		return c, p.failAt(start, "a position has %s where %s", geo.Counted(n, "number"), d.wanted())
	}
	c = format.Coord{X: v[0], Y: v[1], Z: math.NaN()}
	hasZ := n == 4 || n == 3 && d.tag != tagM
	if hasZ {
		c.Z = v[2]
	}
	if n == 4 || n == 3 && !hasZ {
		p.found.Measures++
	}
	p.seen.count(&c, hasZ)
	return c, nil
}

// short is the error for a position of less than two numbers.
func (p *parser) short(start, n int) error {
	if n == 0 {
		if p.i == len(p.s) {
			return p.failAt(p.i, "the text ends inside the geometry")
		}
		return p.failAt(p.i, "%s stands where a number is expected", p.shown(p.i))
	}
	err := p.failAt(start, "a position has 1 number; it needs x and y")
	err.Hint = "numbers of a position are set apart by blanks, positions by commas; the decimal mark is the point"
	return err
}

// failAt is an error at s[i], with the place in the geometry.
func (p *parser) failAt(i int, problem string, args ...any) *geo.InputError {
	before := p.s[:i]
	return &geo.InputError{
		Line: 1 + strings.Count(before, "\n"),
		Part: p.at.part, Hole: p.at.hole, Vertex: p.at.vertex,
		Problem: fmt.Sprintf("column %d: %s", i-strings.LastIndexByte(before, '\n'), fmt.Sprintf(problem, args...)),
	}
}
