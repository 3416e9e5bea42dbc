package contour

import (
	"cmp"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo/polygon"
)

// ground cuts lines to an area of polygons.
type ground struct {
	area  orb.MultiPolygon
	index *polygon.Index
}

// within reports whether p lies in the area or on its border.
func (g *ground) within(p orb.Point) bool {
	for _, part := range g.area {
		if polygon.Contains(part, p) {
			return true
		}
	}
	return false
}

// meeting is where a segment crosses a border.
type meeting struct {
	t   float64
	dir orb.Point
}

// cut goes along the line and changes between in and out at every crossing.
// Crossings are decided exactly, a vertex on the other's line counting as left
// of it, so that their parity is right; only places are rounded.
func (g *ground) cut(line []orb.Point, snap func(cut, dir orb.Point) orb.Point) (out [][]orb.Point) {
	if len(line) < 2 {
		return nil
	}
	in := g.within(line[0])
	var piece []orb.Point
	if in {
		piece = append(piece, line[0])
	}
	var found []meeting
	for i := 1; i < len(line); i++ {
		found = g.meetings(line[i-1], line[i], found[:0])
		for _, m := range found {
			p := snap(along(line[i-1], line[i], m.t), m.dir)
			piece = append(piece, p)
			if in {
				out = append(out, piece)
				piece = nil
			}
			in = !in
		}
		if in {
			piece = append(piece, line[i])
		}
	}
	if len(piece) > 1 {
		out = append(out, piece)
	}
	return rejoin(out, line)
}

// meetings are the crossings of ab with the borders, in order.
func (g *ground) meetings(a, b orb.Point, dst []meeting) []meeting {
	g.index.Search(orb.MultiPoint{a, b}.Bound(), func(i int) bool {
		c, d := g.index.Segment(i)
		if left(a, b, c) == left(a, b, d) || left(c, d, a) == left(c, d, b) {
			return true
		}
		dx, dy := d[0]-c[0], d[1]-c[1]
		length := distM(c, d)
		t := ((c[0]-a[0])*dy - (c[1]-a[1])*dx) / ((b[0]-a[0])*dy - (b[1]-a[1])*dx)
		dst = append(dst, meeting{max(0, min(1, t)), orb.Point{dx / length, dy / length}})
		return true
	})
	slices.SortStableFunc(dst, func(p, q meeting) int { return cmp.Compare(p.t, q.t) })
	return dst
}

func left(a, b, p orb.Point) bool { return polygon.Orient(a, b, p) >= 0 }

// rejoin makes one piece of the two that a closed line was cut into at its
// first point.
func rejoin(pieces [][]orb.Point, line []orb.Point) [][]orb.Point {
	n := len(pieces)
	if n < 2 || line[0] != line[len(line)-1] {
		return pieces
	}
	first, last := pieces[0], pieces[n-1]
	if first[0] != line[0] || last[len(last)-1] != line[0] {
		return pieces
	}
	return append(pieces[1:n-1], append(last, first[1:]...))
}
