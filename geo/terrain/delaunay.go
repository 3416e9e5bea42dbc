package terrain

import (
	"github.com/paulmach/orb"

	"hemrow/geo/polygon"
)

// delaunay triangulates lattice points by incremental insertion. same maps
// each point to the first one at the very same place that was inserted, itself
// as a rule. ok is false if there is no triangle: fewer than three places, or
// all in one line.
//
// The hull is closed by ghost triangles, whose third corner is the vertex at
// infinity; a point outside the hull is then no special case. The triangles
// whose circle holds the new point are replaced by a fan around it. With exact
// predicates the hole is always star-shaped and no triangle of the fan is flat.
// Source: A. Bowyer, D. F. Watson, The Computer Journal 24 (1981) 162-172;
// ghost triangles after J. R. Shewchuk, lecture notes on Delaunay mesh
// generation, 2012, section 3.5 (from memory).
func delaunay(pts []orb.Point) (m *mesh, same []int32, ok bool) {
	order := insertionOrder(pts)
	same = make([]int32, len(pts))
	for i := range same {
		same[i] = int32(i)
	}
	b := &builder{mesh: mesh{pts: pts}, same: same, at: make([]int32, len(pts)+1)}
	rest, ok := b.start(order)
	if !ok {
		return nil, same, false
	}
	for _, v := range rest {
		b.insert(v)
	}
	return b.finish(), same, true
}

// infinity is the vertex of all ghost triangles.
const infinity = int32(-1)

type builder struct {
	mesh
	same []int32
	last int32 // a finite triangle near the last insertion
	mark []int32
	turn int32

	// Of one insertion: the triangles of the hole, the edges around it, and
	// the triangles still to be looked at.
	hole   []int32
	border []int32
	todo   []int32
	fan    []rim
	at     []int32 // by vertex + 1: the edge of the fan that starts there
}

// rim is one edge of the hole seen from outside, and its ends.
type rim struct{ from, to, outer int32 }

// start makes the first triangle of the first three points not in line, and
// returns the points that are left.
func (b *builder) start(order []int32) (rest []int32, ok bool) {
	if len(order) == 0 {
		return nil, false
	}
	p := b.pts
	second := -1
	for i := 1; i < len(order); i++ {
		v := order[i]
		if second < 0 {
			if p[v] != p[order[0]] {
				second = i
			}
			continue
		}
		side := polygon.Orient(p[order[0]], p[order[second]], p[v])
		if side == 0 {
			continue
		}
		u, w := order[0], order[second]
		if side < 0 {
			u, w = w, u
		}
		b.first(u, w, v)
		rest = make([]int32, 0, len(order)-3)
		for j, x := range order {
			if j != 0 && j != second && j != i {
				rest = append(rest, x)
			}
		}
		return rest, true
	}
	return nil, false
}

// first sets up the triangle u, v, w with its three ghosts.
func (b *builder) first(u, v, w int32) {
	n := 6*len(b.pts) + 12 // 2n-2 triangles, ghosts included
	b.org = make([]int32, 0, n)
	b.twin = make([]int32, 0, n)
	b.org = append(b.org, u, v, w, v, u, infinity, w, v, infinity, u, w, infinity)
	b.twin = append(b.twin, make([]int32, 12)...)
	b.link(0, 3)
	b.link(1, 6)
	b.link(2, 9)
	b.link(4, 11) // u to infinity
	b.link(7, 5)
	b.link(10, 8)
	b.mark = make([]int32, 4, 2*len(b.pts)+4)
}

// insert puts vertex v into the triangulation.
func (b *builder) insert(v int32) {
	p := b.pts[v]
	t := b.locate(p)
	if t < 0 {
		return
	}
	for k := range int32(3) {
		if u := b.org[3*t+k]; u != infinity && b.pts[u] == p {
			b.same[v] = b.same[u]
			return
		}
	}
	b.open(t, p)
	b.fill(v)
}

// locate walks from the last insertion to a triangle in conflict with p, or
// one that has p as a corner.
func (b *builder) locate(p orb.Point) int32 {
	t, came := b.last, none
	for {
		onward := none
		for k := range int32(3) {
			e := 3*t + k
			if e == came {
				continue
			}
			if x, y := b.ends(e); polygon.Orient(x, y, p) < 0 {
				onward = e
				break
			}
		}
		if onward == none {
			return t
		}
		came = b.twin[onward]
		t = came / 3
		if b.ghost(t) {
			return t
		}
	}
}

// ghost reports whether t has the vertex at infinity, which is always last.
func (b *builder) ghost(t int32) bool { return b.org[3*t+2] == infinity }

// conflict reports whether p lies inside the circle of t. The circle of a
// ghost is the half plane outside its hull edge and the open edge itself.
func (b *builder) conflict(t int32, p orb.Point) bool {
	if !b.ghost(t) {
		x, y, z := b.corners(t)
		return inCircle(x, y, z, p) > 0
	}
	x, y := b.ends(3 * t) // the ghost is on the left, outside
	switch polygon.Orient(x, y, p) {
	case 1:
		return true
	case -1:
		return false
	}
	return between(x, y, p)
}

// between reports whether p, on the line of a and b, lies strictly between.
func between(a, b, p orb.Point) bool {
	k := 0
	if a[0] == b[0] {
		k = 1
	}
	return (a[k] < p[k] && p[k] < b[k]) || (b[k] < p[k] && p[k] < a[k])
}

// open collects the hole around p, starting from triangle t in it.
func (b *builder) open(t int32, p orb.Point) {
	b.turn++
	b.hole, b.fan = b.hole[:0], b.fan[:0]
	b.todo = append(b.todo[:0], t)
	b.mark[t] = b.turn
	for len(b.todo) > 0 {
		t := b.todo[len(b.todo)-1]
		b.todo = b.todo[:len(b.todo)-1]
		b.hole = append(b.hole, t)
		for k := range int32(3) {
			e := 3*t + k
			f := b.twin[e]
			n := f / 3
			if b.mark[n] == b.turn {
				continue
			}
			if b.conflict(n, p) {
				b.mark[n] = b.turn
				b.todo = append(b.todo, n)
				continue
			}
			b.fan = append(b.fan, rim{b.org[e], b.org[next(e)], f})
		}
	}
}

// fill joins v to every edge of the rim. A hole of n triangles has n+2 edges
// around it: the old places are used again, and two new ones.
func (b *builder) fill(v int32) {
	for len(b.hole) < len(b.fan) {
		b.hole = append(b.hole, b.triangles())
		b.org = append(b.org, 0, 0, 0)
		b.twin = append(b.twin, none, none, none)
		b.mark = append(b.mark, 0)
	}
	b.border = b.border[:0]
	for i, r := range b.fan {
		t := b.hole[i]
		edge := b.place(t, r.from, r.to, v)
		b.link(edge, r.outer)
		b.border = append(b.border, edge)
		b.at[r.from+1] = int32(i)
		if !b.ghost(t) {
			b.last = t
		}
	}
	for i, r := range b.fan { // the edge to → v of one is the edge v → from of another
		b.link(next(b.border[i]), prev(b.border[b.at[r.to+1]]))
	}
}

// place writes the triangle from, to, v, with the vertex at infinity last, and
// returns its edge from → to.
func (b *builder) place(t, from, to, v int32) int32 {
	c := [3]int32{from, to, v}
	edge := 3 * t
	switch infinity {
	case from:
		c, edge = [3]int32{to, v, from}, edge+2
	case to:
		c, edge = [3]int32{v, from, to}, edge+1
	}
	copy(b.org[3*t:], c[:])
	return edge
}

// finish takes the ghosts out and numbers the triangles by their first
// vertices, which keeps neighbours near in memory.
func (b *builder) finish() *mesh {
	start := make([]int32, len(b.pts)+1)
	for t := range b.triangles() {
		if !b.ghost(t) {
			start[b.org[3*t]+1]++
		}
	}
	for v := range b.pts {
		start[v+1] += start[v]
	}
	n := start[len(b.pts)]
	to := make([]int32, b.triangles())
	for t := range b.triangles() {
		to[t] = none
		if v := b.org[3*t]; !b.ghost(t) {
			to[t] = start[v]
			start[v]++
		}
	}
	m := &mesh{pts: b.pts, org: make([]int32, 3*n), twin: make([]int32, 3*n)}
	for t, s := range to {
		if s == none {
			continue
		}
		for k := range int32(3) {
			f := b.twin[3*int32(t)+k]
			m.org[3*s+k] = b.org[3*int32(t)+k]
			m.twin[3*s+k] = none
			if u := to[f/3]; u != none {
				m.twin[3*s+k] = 3*u + f%3
			}
		}
	}
	return m
}
