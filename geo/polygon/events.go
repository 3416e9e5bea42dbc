package polygon

import (
	"github.com/paulmach/orb"
)

// event is a meeting of two edges that a simple ring would not have. Edges
// own their start, not their end, so that each touch is told once.
type event struct {
	i, j int // edges, i < j within one ring
	kind meeting
	at   orb.Point
}

// bruteMax is the number of vertices up to which all pairs are compared
// directly: below it the box tests of n²/2 pairs cost less than an index.
const bruteMax = 64

// forEvents calls visit for each event of one ring, by rising i then j, until
// it returns false. The ring has no repeated vertices.
func forEvents(v ring, visit func(event) bool) {
	n := v.len()
	if n <= bruteMax {
		forPairs(v, visit)
		return
	}
	ix := NewIndex(v.pt)
	for i := range n {
		a, b := v.edge(i)
		on := true
		ix.searchFrom(segBox(a, b), i+1, func(j int) bool {
			if e, ok := v.meets(i, j); ok {
				on = visit(e)
			}
			return on
		})
		if !on {
			return
		}
	}
}

// forPairs is forEvents for few vertices: all pairs, most of them dismissed by
// four comparisons against the box of the first edge.
func forPairs(v ring, visit func(event) bool) {
	n := v.len()
	for i := range n - 1 {
		a, b := v.edge(i)
		box := segBox(a, b)
		c := b
		for j := i + 1; j < n; j++ {
			d := v.pt[0]
			if j+1 < n {
				d = v.pt[j+1]
			}
			if !misses(c, d, &box) {
				if e, ok := v.meets(i, j); ok && !visit(e) {
					return
				}
			}
			c = d
		}
	}
}

// misses reports whether both points lie beyond the same side of the box, so
// that the segment between them cannot meet it.
func misses(c, d orb.Point, b *orb.Bound) bool {
	return c[0] < b.Min[0] && d[0] < b.Min[0] || c[0] > b.Max[0] && d[0] > b.Max[0] ||
		c[1] < b.Min[1] && d[1] < b.Min[1] || c[1] > b.Max[1] && d[1] > b.Max[1]
}

// searchFrom is Search over the segments from number first on.
func (ix *Index) searchFrom(b orb.Bound, first int, visit func(i int) bool) {
	if top := len(ix.levels) - 1; top >= 0 {
		ix.search(top, 0, first, &b, visit)
	}
}

// meets decides whether edges i < j of one ring make an event. Neighbours
// share a vertex and meet nowhere else, unless they run over each other, which
// is a spike and told as such.
func (v ring) meets(i, j int) (event, bool) {
	if j == i+1 || i == 0 && j == v.len()-1 {
		return event{}, false
	}
	a, b := v.edge(i)
	c, d := v.edge(j)
	m, at := meet(a, b, c, d)
	if m == apart || m == touching && (at == b || at == d) {
		return event{}, false // a touch is told by the edge that starts there
	}
	return event{i, j, m, at}, true
}

// meetsOther is meets for edge i of v and edge j of another ring w.
func (v ring) meetsOther(i int, w ring, j int) (event, bool) {
	a, b := v.edge(i)
	c, d := w.edge(j)
	m, at := meet(a, b, c, d)
	if m == apart || m == touching && (at == b || at == d) {
		return event{}, false
	}
	return event{i, j, m, at}, true
}

// passesCross decides whether the two courses through a touching point change
// sides: v through edge e.i, w (maybe the same ring) through edge e.j.
func (v ring) passesCross(e event, w ring) bool {
	a1, b1 := v.course(e.i, e.at)
	a2, b2 := w.course(e.j, e.at)
	s, t := sector(a1, e.at, b1, a2), sector(a1, e.at, b1, b2)
	return s*t < 0
}

// course is the vertex before and after the point at, which lies on edge i.
func (v ring) course(i int, at orb.Point) (before, after orb.Point) {
	if v.pt[i] == at {
		return v.at(i - 1), v.at(i + 1)
	}
	return v.edge(i)
}

// sector is +1 if q lies left of the course a, p, b near p, -1 if right of
// it, 0 if on one of its arms.
func sector(a, p, b, q orb.Point) int {
	in, out := Orient(a, p, q), Orient(p, b, q)
	ahead := func(u, w orb.Point) bool { // u and w on the same side of p
		return (u[0]-p[0])*(w[0]-p[0])+(u[1]-p[1])*(w[1]-p[1]) > 0
	}
	if in == 0 && ahead(a, q) || out == 0 && ahead(b, q) {
		return 0
	}
	turn := Orient(a, p, b)
	switch {
	case turn > 0 && in > 0 && out > 0, turn < 0 && (in > 0 || out > 0):
		return 1
	case turn == 0 && !ahead(a, b):
		return in
	}
	return -1
}
