package points

import (
	"errors"
	"fmt"
	"io"
	"math"
	"unicode/utf8"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/encoded"
)

// collector gathers points row by row.
type collector struct {
	rd     *reader
	groups []*group
	byName map[string]*group
	key    []byte
	codes  map[string]string // each code once
	in     []int             // columns of groups

	east, north, height, name, code, order int // columns, -1 for none

	flat, none, zero, high int // heights: not written, said to be none, 0, others
	origin                 int // line of the first point at 0, 0
	box                    box // of all other points
}

// box is what surrounds points.
type box struct{ low, high format.Coord }

// points reads all rows as points.
func (rd *reader) points() error {
	l := rd.lay
	c := collector{
		rd: rd, byName: map[string]*group{}, codes: map[string]string{},
		east: l.at(roleEast), north: l.at(roleNorth), height: l.at(roleHeight),
		name: l.at(roleName), code: l.at(roleCode), order: l.at(roleOrder),
		box: box{format.Coord{X: math.Inf(1), Y: math.Inf(1)}, format.Coord{X: math.Inf(-1), Y: math.Inf(-1)}},
	}
	for i, r := range l.roles {
		if r == roleGroup {
			c.in = append(c.in, i)
		}
	}
	for {
		r, err := rd.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err == nil && r.line != l.skip {
			err = c.add(r)
		}
		if err != nil {
			return err
		}
	}
	return c.finish()
}

// add takes one row.
func (c *collector) add(r row) error {
	rd := c.rd
	if len(r.fields) != len(rd.lay.roles) {
		if err := rd.checkWidth(r); err != nil {
			return err
		}
	}
	x, err := c.coordinate(r, c.east, rd.lay.forms[1], 'E')
	if err != nil {
		return err
	}
	y, err := c.coordinate(r, c.north, rd.lay.forms[0], 'N')
	if err != nil {
		return err
	}
	z, err := c.heightOf(r)
	if err != nil {
		return err
	}
	if x == 0 && y == 0 {
		if c.origin == 0 {
			c.origin = r.line
		}
	} else {
		c.box.low.X, c.box.high.X = min(c.box.low.X, x), max(c.box.high.X, x)
		c.box.low.Y, c.box.high.Y = min(c.box.low.Y, y), max(c.box.high.Y, y)
	}
	g := c.groupOf(r)
	g.points = append(g.points, format.Coord{X: x, Y: y, Z: z})
	return c.texts(g, r)
}

// texts takes name, code and order of a point.
func (c *collector) texts(g *group, r row) error {
	if c.name >= 0 {
		g.names.add(c.utf8(r.fields[c.name]))
	}
	if c.code >= 0 {
		b := c.utf8(r.fields[c.code])
		s, ok := c.codes[string(b)]
		if !ok {
			s = string(b)
			c.codes[s] = s
		}
		g.codes = append(g.codes, s)
	}
	if c.order < 0 {
		return nil
	}
	v, ok := number(r.fields[c.order], c.rd.lay.mark)
	if !ok {
		return c.fail(r, c.order, fmt.Sprintf("the order %q is no number", shown(r.fields[c.order])), "number the points in the order in which they are joined")
	}
	g.orders = append(g.orders, v)
	g.lines = append(g.lines, r.line)
	return nil
}

// utf8 is a field in UTF-8.
func (c *collector) utf8(b []byte) []byte {
	if utf8.Valid(b) {
		return b
	}
	c.rd.guess++
	s, _ := encoded.Text(b)
	return []byte(s)
}

// groupOf is the group of a row.
func (c *collector) groupOf(r row) *group {
	if c.in == nil && len(c.groups) == 1 {
		return c.groups[0]
	}
	c.key = c.key[:0]
	for i, col := range c.in {
		if i > 0 {
			c.key = append(c.key, ' ')
		}
		c.key = append(c.key, r.fields[col]...)
	}
	g := c.byName[string(c.key)]
	if g == nil {
		g = &group{name: string(c.utf8(c.key)), line: r.line}
		c.byName[string(c.key)] = g
		c.groups = append(c.groups, g)
	}
	return g
}

// coordinate reads an easting, a northing or an angle.
func (c *collector) coordinate(r row, col int, f *form, axis byte) (float64, error) {
	b, mark := r.fields[col], c.rd.lay.mark
	if f != nil {
		return c.angle(r, col, *f, axis)
	}
	v, ok := number(b, mark)
	if !ok {
		problem, hint := whyNoNumber(b, mark)
		return 0, c.fail(r, col, problem, hint)
	}
	if c.rd.lay.degrees {
		return v, c.inRange(r, col, v, axis)
	}
	return v, nil
}

// angle reads an angle in the form of the first row.
func (c *collector) angle(r row, col int, want form, axis byte) (float64, error) {
	b, mark := r.fields[col], c.rd.lay.mark
	v, a, fault := angle(b, mark)
	switch {
	case missing(b):
		problem, hint := whyNoNumber(b, mark)
		return 0, c.fail(r, col, problem, hint)
	case fault != "":
		return 0, c.fail(r, col, fmt.Sprintf("%q is no angle as in the first row: %s", shown(b), fault), "write all rows in the same form")
	case a.form != want:
		return 0, c.fail(r, col, fmt.Sprintf("the angle %q is not written in the form of the first row", shown(b)), "write all rows in the same form")
	case a.axis != 0 && a.axis != axis:
		return 0, c.fail(r, col, fmt.Sprintf("%q belongs to the other axis", shown(b)), "N and S stand with latitudes, E and W with longitudes")
	}
	return v, c.inRange(r, col, v, axis)
}

// inRange refuses what can be no longitude or latitude.
func (c *collector) inRange(r row, col int, v float64, axis byte) error { //unit:degrees
	what, most := "latitude", 90.0
	if axis == 'E' {
		what, most = "longitude", 360
	}
	if math.Abs(v) <= most {
		return nil
	}
	hint := "if the columns are metres, name them as e and n, or with the option for columns: ENZ"
	if most == 90 && math.Abs(v) <= 360 {
		hint = "perhaps latitude and longitude are the wrong way round; name the columns with the option for columns: lon lat"
	}
	return c.fail(r, col, fmt.Sprintf("%s is no %s", shown(r.fields[col]), what), hint)
}

// heightOf reads the height of a row, NaN for none.
func (c *collector) heightOf(r row) (float64, error) {
	if c.height < 0 {
		return math.NaN(), nil
	}
	b := r.fields[c.height]
	v, ok := number(b, c.rd.lay.mark)
	switch {
	case !ok && missing(b):
		c.flat++
		return math.NaN(), nil
	case !ok:
		problem, hint := whyNoNumber(b, c.rd.lay.mark)
		return 0, c.fail(r, c.height, problem, hint)
	case format.IsNoHeight(v):
		c.none++
		return math.NaN(), nil
	case v == 0:
		c.zero++
	default:
		c.high++
	}
	return v, nil
}

// fail is an error in one field.
func (c *collector) fail(r row, col int, problem, hint string) error {
	return &geo.InputError{Line: r.line, Problem: c.rd.lay.column(col) + ": " + problem, Hint: hint}
}

// finish makes the features.
func (c *collector) finish() error {
	if len(c.groups) == 0 {
		return &geo.InputError{Problem: "the file holds no point"}
	}
	if err := c.checkOrigin(); err != nil {
		return err
	}
	rd := c.rd
	rd.out.Reference.WGS84 = rd.lay.degrees
	if rd.lay.degrees {
		rd.out.Reference.Declared = "longitude and latitude"
	}
	c.settleHeights()
	moved := 0
	for i, g := range c.groups {
		n, err := g.sort(rd.lay)
		if err != nil {
			return err
		}
		moved += n
		rd.out.Features = append(rd.out.Features, g.feature(i+1, rd.lay))
	}
	if moved > 0 {
		rd.note(geo.NoteColumns, geo.Caution, fmt.Sprintf("the points were put in the order of %s, which is not that of the rows", rd.lay.column(c.order)), "", moved, "points")
	}
	return nil
}

// checkOrigin refuses a point at 0, 0 that lies farther from all others than
// those are from each other: a receiver without a fix, not a corner. In a local
// grid, 0, 0 may well be a corner.
func (c *collector) checkOrigin() error {
	b := c.box
	if c.origin == 0 || math.IsInf(b.low.X, 0) {
		return nil
	}
	away := math.Hypot(max(b.low.X, -b.high.X, 0), max(b.low.Y, -b.high.Y, 0))
	if away <= math.Hypot(b.high.X-b.low.X, b.high.Y-b.low.Y) {
		return nil
	}
	return &geo.InputError{
		Line:    c.origin,
		Problem: "the position is 0, 0, far from all others: the receiver had no fix",
		Hint:    "take the row out, or measure the point again",
	}
}

// settleHeights decides what missing heights and heights of 0 mean, when all
// are known.
func (c *collector) settleHeights() {
	rd := c.rd
	if c.zero > 0 && c.high == 0 {
		for _, g := range c.groups {
			for i := range g.points {
				g.points[i].Z = math.NaN()
			}
		}
		rd.note(geo.NoteHeightMissing, geo.Info, fmt.Sprintf("heights are exactly 0 at %s and there is no other: taken as not known", geo.Counted(c.zero, "point")), "", c.zero, "points")
		c.zero = 0
	}
	n := c.none
	if c.none+c.zero+c.high > 0 {
		n += c.flat
	}
	if n > 0 {
		rd.note(geo.NoteHeightMissing, geo.Caution, fmt.Sprintf("no height (missing, -9999, beyond 1e30 or not a number) at %s", geo.Counted(n, "point")),
			"survey these again if their heights are needed", n, "points")
	}
}
