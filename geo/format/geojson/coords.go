package geojson

import (
	"bytes"
	"fmt"
	"math"
	"strings"

	"hemrow/geo/format"
)

const bytesOfPosition = len("[1,2]") // the shortest there is

// coords reads coordinates, which it never leaves unread: what it returns was
// looked at to the last byte.
type coords struct {
	b         []byte
	i         int
	kind      string // of the geometry, for messages
	depth     int    // brackets around a position of that kind
	open      int    // brackets open now
	arena     []format.Coord
	dropThird bool // the third number is a measure, not a height

	// the place, from 1
	part, hole, vertex int
	tally              *tally
}

func (c *coords) cur() byte {
	if c.i < len(c.b) {
		return c.b[c.i]
	}
	return 0
}

func (c *coords) ws() {
	for c.i < len(c.b) && blank(c.b[c.i]) {
		c.i++
	}
}

// fail is a fault at the next byte, with the place in the geometry.
func (c *coords) fail(problem string, args ...any) *fault {
	return c.located(&fault{at: c.i, problem: fmt.Sprintf(problem, args...)})
}

func (c *coords) located(f *fault) *fault {
	f.part, f.hole, f.vertex = c.part, c.hole, c.vertex
	return f
}

// list reads a list, calling item at the start of each element.
func (c *coords) list(item func() *fault) *fault {
	if c.cur() != '[' {
		return c.shallow()
	}
	c.i++
	c.open++
	c.ws()
	if c.cur() == ']' {
		c.i++
		c.open--
		return nil
	}
	for {
		if f := item(); f != nil {
			return f
		}
		c.ws()
		more, f := separator(c.b, c.i, ']')
		if f != nil {
			return c.located(f)
		}
		c.i++
		if !more {
			c.open--
			return nil
		}
		c.ws()
	}
}

// shallow says what stands where a list must begin.
func (c *coords) shallow() *fault {
	if c.i >= len(c.b) {
		return c.located(syntaxAt(c.b, c.i))
	}
	switch ch := c.b[c.i]; {
	case ch == '-' || ch >= '0' && ch <= '9' || ch == '"':
		return c.fail("%s stands where a list is expected: a %s has %d brackets around each position, this one %d",
			c.shown(), c.kind, c.depth+1, c.open)
	case ch == 'n' || ch == 't' || ch == 'f' || ch == '{':
		return c.fail("%s stands where a list of numbers is expected", c.shown())
	}
	return c.located(syntaxAt(c.b, c.i))
}

// shown is the value at the next byte for a message.
func (c *coords) shown() string {
	if c.cur() == '"' {
		if s, _, f := readText(c.b, c.i); f == nil {
			const most = 40
			if len(s) > most {
				s = strings.ToValidUTF8(s[:most], "") + "..."
			}
			return fmt.Sprintf("text %q", s)
		}
	}
	if w := token(c.b, c.i); w != "" {
		return w
	}
	return kindOf(c.cur())
}

func (c *coords) polygons() (out []format.Polygon, f *fault) {
	f = c.list(func() *fault {
		p, f := c.polygon()
		c.part++
		if f == nil {
			out = append(out, p)
		}
		return f
	})
	return out, f
}

func (c *coords) polygon() (out format.Polygon, f *fault) {
	c.hole = 0
	f = c.list(func() *fault {
		r, f := c.path()
		c.hole++
		if f == nil {
			if out == nil {
				out = make(format.Polygon, 0, 1)
			}
			out = append(out, r)
		}
		return f
	})
	if f == nil {
		c.hole = 0
	}
	return out, f
}

func (c *coords) lines() (out [][]format.Coord, f *fault) {
	f = c.list(func() *fault {
		p, f := c.path()
		c.part++
		if f == nil {
			out = append(out, p)
		}
		return f
	})
	return out, f
}

// path reads a list of positions.
func (c *coords) path() ([]format.Coord, *fault) {
	start := len(c.arena)
	c.vertex = 1
	f := c.list(func() *fault {
		p, f := c.position()
		c.vertex++
		c.arena = append(c.arena, p)
		return f
	})
	if f != nil {
		return nil, f
	}
	c.vertex = 0
	return c.arena[start:len(c.arena):len(c.arena)], nil
}

// position reads [longitude, latitude, height, ...].
func (c *coords) position() (p format.Coord, f *fault) {
	p.Z = math.NaN()
	if c.cur() != '[' {
		return p, c.shallow()
	}
	c.i++
	if p.X, f = c.number("longitude", 0); f != nil {
		return p, f
	}
	if p.Y, f = c.number("latitude", 1); f != nil {
		return p, f
	}
	if c.cur() == ']' {
		c.i++
		c.tally[seenFlat]++
		return p, nil
	}
	return c.third(p)
}

// number reads longitude or latitude and the comma behind a longitude.
func (c *coords) number(what string, have int) (v float64, f *fault) {
	c.ws()
	ch := c.cur()
	switch {
	case ch == '-' || ch-'0' <= 9:
		if v, c.i, f = c.plain(); f != nil {
			return 0, f
		}
	case ch == '"':
		if v, f = c.text(what); f != nil {
			return 0, f
		}
	case ch == ']' && have == 0:
		return 0, c.fail("a position without numbers; it needs longitude and latitude")
	case ch == '[':
		return 0, c.fail("a list stands where the %s is expected: a %s has %d brackets around each position, this one more",
			what, c.kind, c.depth+1)
	case ch == 'n' && token(c.b, c.i) == "null", ch == 't', ch == 'f', ch == '{':
		return 0, c.fail("the %s is %s", what, c.shown())
	case ch == ',' || ch == ']':
		return 0, c.fail("the %s is missing", what)
	default:
		return 0, c.located(syntaxAt(c.b, c.i))
	}
	c.ws()
	if have == 1 && c.cur() == ']' {
		return v, nil
	}
	if have == 0 && c.cur() == ']' {
		return 0, c.fail("a position holds 1 number (%g); it needs longitude and latitude", v)
	}
	if c.cur() != ',' {
		return 0, c.located(syntaxAt(c.b, c.i))
	}
	c.i++
	return v, nil
}

// plain reads a JSON number.
func (c *coords) plain() (v float64, end int, f *fault) {
	v, end, f = readNumber(c.b, c.i)
	if f != nil {
		return 0, c.i, c.located(f)
	}
	if !delimits(c.b, end) {
		return 0, c.i, c.located(noNumber(c.b, c.i))
	}
	return v, end, nil
}

// text reads a number that was written as text.
func (c *coords) text(what string) (float64, *fault) {
	s, end, f := readText(c.b, c.i)
	if f != nil {
		return 0, c.located(f)
	}
	v, comma, ok := textNumber(s)
	if !ok {
		return 0, c.fail("the %s is the %s, which is no plain number", what, c.shown())
	}
	c.tally[noteText]++
	if comma {
		c.tally[noteComma]++
	}
	c.i = end
	return v, nil
}

// third reads the height and what may follow it, and closes the position.
func (c *coords) third(p format.Coord) (format.Coord, *fault) {
	c.ws()
	var f *fault
	if p.Z, f = c.height(); f != nil {
		return p, f
	}
	extra := 0
	for {
		c.ws()
		more, f := separator(c.b, c.i, ']')
		if f != nil {
			return p, c.located(f)
		}
		c.i++
		if !more {
			break
		}
		c.ws()
		end, f := skipValue(c.b, c.i, maxDepth-1)
		if f != nil {
			return p, c.located(f)
		}
		c.i = end
		extra++
	}
	if c.dropThird {
		p.Z = math.NaN()
		extra++
		c.tally[seenFlat]++
	} else {
		c.count(&p)
	}
	if extra > 0 {
		c.tally[noteExtra]++
	}
	return p, nil
}

// count tallies the height of p, and takes out one that stands for none.
func (c *coords) count(p *format.Coord) {
	switch z := p.Z; {
	case format.IsNoHeight(z):
		c.tally[noteHeight]++
		p.Z = math.NaN()
	case z == 0:
		c.tally[seenZero]++
	default:
		c.tally[seenHeight]++
	}
}

// height reads the third number; NaN for null and for text that says so.
func (c *coords) height() (float64, *fault) {
	ch := c.cur()
	switch {
	case ch == '-' || ch-'0' <= 9:
		v, end, f := c.plain()
		c.i = end
		return v, f
	case ch == '"':
		s, end, f := readText(c.b, c.i)
		if f != nil {
			return 0, c.located(f)
		}
		if s = strings.TrimSpace(s); s == "" || strings.EqualFold(s, "nan") {
			c.i = end
			return math.NaN(), nil
		}
		return c.text("height")
	case bytes.HasPrefix(c.b[c.i:], []byte("null")) && token(c.b, c.i) == "null":
		c.i += len("null")
		return math.NaN(), nil
	case ch == 't' || ch == 'f' || ch == '{' || ch == '[':
		return 0, c.fail("the height is %s", c.shown())
	}
	return 0, c.located(syntaxAt(c.b, c.i))
}
