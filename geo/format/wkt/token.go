package wkt

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"hemrow/geo"
)

func (p *parser) cur() byte {
	if p.i < len(p.s) {
		return p.s[p.i]
	}
	return 0
}

func blank(c byte) bool { return c == ' ' || c == '\t' || c == '\n' || c == '\r' }

// gap passes over blanks.
func (p *parser) gap() {
	for p.i < len(p.s) && blank(p.s[p.i]) {
		p.i++
	}
}

// ends reports whether no number can follow: a comma, a bracket or the end.
func (p *parser) ends() bool {
	c := p.cur()
	return p.i == len(p.s) || c == ',' || c == '(' || c == ')' || c == ';'
}

// word reads letters.
func (p *parser) word() string {
	start := p.i
	for p.i < len(p.s) && p.s[p.i]|0x20 >= 'a' && p.s[p.i]|0x20 <= 'z' {
		p.i++
	}
	return p.s[start:p.i]
}

// token reads what stands up to the next blank, comma, bracket or semicolon.
func (p *parser) token() string {
	start := p.i
	for !p.ends() && !blank(p.s[p.i]) {
		p.i++
	}
	return p.s[start:p.i]
}

// shown is what stands at s[i], for a message.
func (p *parser) shown(i int) string {
	if i == len(p.s) {
		return "the end of the text"
	}
	q := parser{s: p.s, i: i}
	w := q.token()
	if w == "" {
		_, n := utf8.DecodeRuneInString(p.s[i:])
		w = p.s[i : i+n]
	}
	const most = 40
	if len(w) > most {
		w = strings.ToValidUTF8(w[:most], "") + "..."
	}
	return fmt.Sprintf("%q", w)
}

// number reads the n-th number of a position, from 0. A height or a measure may
// be NaN, which stands for none.
func (p *parser) number(n int) (float64, error) {
	start := p.i
	text := p.token()
	if !plain(text) {
		if n >= 2 && strings.EqualFold(text, "nan") {
			return math.NaN(), nil
		}
		return 0, p.failAt(start, "%s is not a number", p.shown(start))
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return 0, p.failAt(start, "%s is too large a number", p.shown(start))
	}
	return v, nil
}

// plain reports whether s is a number as well-known text writes it (OGC
// 06-103r4, 2011, section 7.2.1, signed numeric literal).
func plain(s string) bool {
	i := 0
	sign := func() {
		if i < len(s) && (s[i] == '+' || s[i] == '-') {
			i++
		}
	}
	digits := func() int {
		from := i
		for i < len(s) && s[i]-'0' <= 9 {
			i++
		}
		return i - from
	}
	sign()
	n := digits()
	if i < len(s) && s[i] == '.' {
		i++
		n += digits()
	}
	if n == 0 {
		return false
	}
	if i < len(s) && s[i]|0x20 == 'e' {
		i++
		sign()
		if digits() == 0 {
			return false
		}
	}
	return i == len(s)
}

// tag says which numbers follow x and y.
type tag int

const (
	untagged tag = iota
	tagZ
	tagM
	tagZM
)

func tagOf(word string) tag {
	switch word {
	case "Z":
		return tagZ
	case "M":
		return tagM
	case "ZM":
		return tagZM
	}
	return untagged
}

// splitTag takes a tag off the end of a keyword, as in POINTZ.
func splitTag(word string) (name string, t tag, ok bool) {
	name = strings.TrimRight(word, "ZM")
	if !known(name) {
		return word, untagged, false
	}
	t = tagOf(word[len(name):])
	return name, t, t != untagged || name == word
}

func known(name string) bool {
	switch name {
	case "POINT", "LINESTRING", "POLYGON", "MULTIPOINT", "MULTILINESTRING", "MULTIPOLYGON", "GEOMETRYCOLLECTION":
		return true
	}
	return false
}

// unknown is the error for a keyword that is none.
func (p *parser) unknown(at int, word string) error {
	name := strings.TrimRight(word, "ZM")
	switch name {
	case "CIRCULARSTRING", "COMPOUNDCURVE", "CURVEPOLYGON", "MULTICURVE", "MULTISURFACE", "CURVE", "SURFACE":
		err := p.failAt(at, "a %s holds curves, which are not read", name)
		err.Hint = "turn its arcs into straight segments and export it again"
		return err
	case "POLYHEDRALSURFACE", "TIN", "TRIANGLE":
		err := p.failAt(at, "a %s is a surface of triangles or faces, which is not read here", name)
		err.Hint = "export the surface as points"
		return err
	case "GEOGCS", "PROJCS", "GEOCCS", "COMPD_CS", "PROJCRS", "GEOGCRS":
		err := p.failAt(at, "this is the description of a coordinate system, not a geometry")
		err.Hint = "it belongs into the .prj file beside the data"
		return err
	}
	err := p.failAt(at, "%s stands where a geometry is expected", p.shown(at))
	err.Hint = "a geometry begins with POINT, LINESTRING, POLYGON, MULTIPOINT, MULTILINESTRING, MULTIPOLYGON or GEOMETRYCOLLECTION"
	return err
}

// dims is how many numbers the positions of one geometry have.
type dims struct {
	tag   tag
	count int // of the first position of an untagged geometry
}

// fits reports whether a position may have n numbers. Without a tag, heights
// may be missing here and there.
func (d *dims) fits(n int) bool {
	switch d.tag {
	case tagZ, tagM:
		return n == 3
	case tagZM:
		return n == 4
	}
	if d.count == 0 {
		d.count = n
	}
	return n == d.count || n < 4 && d.count < 4
}

func (d *dims) wanted() string {
	switch d.tag {
	case tagZ:
		return "the tag Z asks for 3"
	case tagM:
		return "the tag M asks for 3"
	case tagZM:
		return "the tag ZM asks for 4"
	}
	return "the first has " + geo.Counted(d.count, "number")
}
