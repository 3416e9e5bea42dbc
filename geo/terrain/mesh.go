package terrain

import (
	"github.com/paulmach/orb"

	"hemrow/geo/polygon"
)

// mesh is a triangulation in flat arrays. Corner 3t+k is corner k of triangle
// t; its edge runs from there to the next corner, with the triangle on its
// left. org holds the vertex of each corner and twin the corner of the same
// edge seen from the other side, none on the hull.
//
//	      2
//	     / \
//	e2  /   \  e1      twin[e0] runs from vertex 1 to vertex 0
//	   /  t  \
//	  0 ----- 1
//	      e0
type mesh struct {
	pts  []orb.Point
	org  []int32
	twin []int32
	// With break lines only: fixed marks their edges, on both sides, and corner
	// is some corner at each vertex.
	fixed  []bool
	corner []int32
}

const none = int32(-1)

func next(e int32) int32 {
	if e%3 == 2 {
		return e - 2
	}
	return e + 1
}

func prev(e int32) int32 {
	if e%3 == 0 {
		return e + 2
	}
	return e - 1
}

func (m *mesh) triangles() int32 { return int32(len(m.org) / 3) }

// corners are the places of the three corners of triangle t.
func (m *mesh) corners(t int32) (a, b, c orb.Point) {
	return m.pts[m.org[3*t]], m.pts[m.org[3*t+1]], m.pts[m.org[3*t+2]]
}

// ends are the places where edge e starts and ends.
func (m *mesh) ends(e int32) (a, b orb.Point) {
	return m.pts[m.org[e]], m.pts[m.org[next(e)]]
}

func (m *mesh) isFixed(e int32) bool { return m.fixed != nil && m.fixed[e] }

// fix marks an edge as part of a break line.
func (m *mesh) fix(e int32) {
	m.fixed[e] = true
	if f := m.twin[e]; f != none {
		m.fixed[f] = true
	}
}

// walk goes from triangle t towards p and ends in the triangle that holds p,
// border included, or outside at a hull edge that has p on its right; then out
// is that edge. edge says that p lies on the border of the triangle. Every edge with p strictly on its right is a way forward.
// In a triangulation with break lines such a walk may go round in a circle, so
// the side tried first changes with each step.
func (m *mesh) walk(t int32, p orb.Point) (at, out int32, edge bool) {
	came := none
	for step := range 4 * (m.triangles() + 16) {
		onward := none
		edge = false
		for k := range int32(3) {
			e := 3*t + (k+step)%3
			if e == came {
				continue
			}
			a, b := m.ends(e)
			side := polygon.Orient(a, b, p)
			if side < 0 {
				onward = e
				break
			}
			edge = edge || side == 0
		}
		if onward == none {
			return t, none, edge
		}
		came = m.twin[onward]
		if came == none {
			return t, onward, false
		}
		t = came / 3
	}
	return m.search(p)
}

// search looks at every triangle: the way out of a walk that does not end.
func (m *mesh) search(p orb.Point) (at, out int32, edge bool) {
	for t := range m.triangles() {
		if m.holds(t, p) {
			return t, none, true
		}
	}
	for e := range int32(len(m.org)) {
		if a, b := m.ends(e); m.twin[e] == none && polygon.Orient(a, b, p) < 0 {
			return e / 3, e, false
		}
	}
	return none, none, false
}

// holds reports whether p lies in triangle t or on its border.
func (m *mesh) holds(t int32, p orb.Point) bool {
	a, b, c := m.corners(t)
	return polygon.Orient(a, b, p) >= 0 && polygon.Orient(b, c, p) >= 0 && polygon.Orient(c, a, p) >= 0
}

// link makes two edges twins.
func (m *mesh) link(e, f int32) {
	m.twin[e] = f
	if f != none {
		m.twin[f] = e
	}
}

// flip turns the edge e, shared by two triangles that make a convex quad, into
// the other diagonal. Afterwards e lies in the same triangle as before and
// runs along the new diagonal.
//
//	   c              c
//	  / \            /|\
//	 / e \          / | \
//	a-----b   →    a  |e b      e runs d → c, its twin c → d
//	 \ f /          \ | /
//	  \ /            \|/
//	   d              d
func (m *mesh) flip(e int32) {
	f := m.twin[e]
	e1, e2, f1, f2 := next(e), prev(e), next(f), prev(f)
	a, b, c, d := m.org[e], m.org[f], m.org[e2], m.org[f2]
	bc, ca, ad, db := m.twin[e1], m.twin[e2], m.twin[f1], m.twin[f2]
	m.org[e], m.org[e1], m.org[e2] = d, c, a
	m.org[f], m.org[f1], m.org[f2] = c, d, b
	var fbc, fca, fad, fdb bool
	if m.fixed != nil {
		fbc, fca, fad, fdb = m.fixed[e1], m.fixed[e2], m.fixed[f1], m.fixed[f2]
	}
	m.link(e1, ca)
	m.link(e2, ad)
	m.link(f1, db)
	m.link(f2, bc)
	if m.fixed != nil {
		m.fixed[e1], m.fixed[e2], m.fixed[f1], m.fixed[f2] = fca, fad, fdb, fbc
		m.corner[a], m.corner[b], m.corner[c], m.corner[d] = e2, f2, e1, f1
	}
}

// around calls visit for every edge that starts at vertex v, until it returns
// false. It needs corner.
func (m *mesh) around(v int32, visit func(e int32) bool) {
	first := m.corner[v]
	e := first
	for {
		if !visit(e) {
			return
		}
		e = m.twin[prev(e)]
		if e == first {
			return
		}
		if e == none { // the hull: the other way round from the start
			break
		}
	}
	for e = m.twin[first]; e != none; e = m.twin[e] {
		e = next(e)
		if !visit(e) {
			return
		}
	}
}

// edge is the edge between two vertices as it lies in the triangle on the left
// of u → v, or of v → u on the hull; none if there is no such edge.
func (m *mesh) edge(u, v int32) int32 {
	found := none
	for _, w := range [2][2]int32{{u, v}, {v, u}} {
		m.around(w[0], func(e int32) bool {
			if m.org[next(e)] == w[1] {
				found = e
			}
			return found == none
		})
		if found != none {
			break
		}
	}
	return found
}
