package terrain

import (
	"hemrow/geo/polygon"
)

// constrain makes the mesh ready for break lines.
func (m *mesh) constrain() {
	m.fixed = make([]bool, len(m.org))
	m.corner = make([]int32, len(m.pts))
	for i := range m.corner {
		m.corner[i] = none
	}
	for e, v := range m.org {
		m.corner[v] = int32(e)
	}
}

// force makes the straight line between vertices u and v run along edges, and
// fixes them. A vertex on the way divides the line. Edges that cross it are
// flipped until none does; then the Delaunay property is restored around it.
// ok is false if the line meets an edge that is fixed already.
// Source: S. W. Sloan, "A fast algorithm for generating constrained Delaunay
// triangulations", Computers & Structures 47 (1993) 441-450, section 3.
func (m *mesh) force(u, v int32) (ok bool) {
	for u != v {
		along, first := m.leave(u, v)
		if along != none {
			m.fix(along)
			u = m.far(along, u)
			continue
		}
		if first == none {
			return false
		}
		crossed, end, free := m.crossed(u, v, first)
		if !free {
			return false
		}
		made, ok := m.flipAway(u, end, crossed)
		if !ok {
			return false
		}
		m.fix(m.edge(u, end))
		m.restore(made)
		u = end
	}
	return true
}

// far is the end of edge e that is not u.
func (m *mesh) far(e, u int32) int32 {
	if m.org[e] == u {
		return m.org[next(e)]
	}
	return m.org[e]
}

// leave finds how the line u → v leaves u: along an edge, or through the edge
// opposite u in one of its triangles.
func (m *mesh) leave(u, v int32) (along, through int32) {
	along, through = none, none
	p, q := m.pts[u], m.pts[v]
	ahead := func(w int32) bool {
		r := m.pts[w]
		return w == v || polygon.Orient(p, q, r) == 0 && between(p, q, r)
	}
	m.around(u, func(e int32) bool {
		x, y := m.org[next(e)], m.org[prev(e)]
		switch {
		case ahead(x):
			along = e
		case ahead(y):
			along = prev(e)
		case polygon.Orient(p, q, m.pts[x]) < 0 && polygon.Orient(p, q, m.pts[y]) > 0:
			through = next(e)
		}
		return along == none && through == none
	})
	return along, through
}

// chord is an edge by its two vertices: edge numbers change with every flip.
type chord struct{ a, b int32 }

// crossed lists the edges between u and the next vertex on the line u → v,
// starting with edge e. free is false if one of them is fixed.
func (m *mesh) crossed(u, v, e int32) (list []chord, end int32, free bool) {
	p, q := m.pts[u], m.pts[v]
	for {
		f := m.twin[e]
		if f == none || m.fixed[e] {
			return nil, none, false
		}
		list = append(list, chord{m.org[e], m.org[f]})
		w := m.org[prev(f)]
		if w == v {
			return list, v, true
		}
		switch polygon.Orient(p, q, m.pts[w]) {
		case 0:
			return list, w, true
		case 1: // w on the left: out between the right end of e and w
			e = next(f)
		default:
			e = prev(f)
		}
	}
}

// flipAway flips crossing edges until none is left and returns the edges made.
func (m *mesh) flipAway(u, v int32, queue []chord) (made []chord, ok bool) {
	p, q := m.pts[u], m.pts[v]
	for budget := 16 + len(queue)*len(queue)*4; len(queue) > 0; budget-- {
		if budget == 0 {
			return nil, false
		}
		k := queue[0]
		queue = queue[1:]
		e := m.edge(k.a, k.b)
		c, d := m.org[prev(e)], m.org[prev(m.twin[e])]
		pc, pd := m.pts[c], m.pts[d]
		if polygon.Orient(pc, pd, m.pts[k.a])*polygon.Orient(pc, pd, m.pts[k.b]) >= 0 {
			queue = append(queue, k) // not convex yet
			continue
		}
		m.flip(e)
		n := chord{c, d}
		if c != u && c != v && d != u && d != v && polygon.Orient(p, q, pc)*polygon.Orient(p, q, pd) < 0 {
			queue = append(queue, n)
			continue
		}
		made = append(made, n)
	}
	return made, true
}

// restore flips edges that are not locally Delaunay, starting from those
// given, fixed ones excepted.
func (m *mesh) restore(todo []chord) {
	for len(todo) > 0 {
		k := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		e := m.edge(k.a, k.b)
		if e == none || m.fixed[e] || m.twin[e] == none || m.isDelaunay(e) {
			continue
		}
		a, b, c, d := m.org[e], m.org[m.twin[e]], m.org[prev(e)], m.org[prev(m.twin[e])]
		m.flip(e)
		todo = append(todo, chord{a, c}, chord{c, b}, chord{b, d}, chord{d, a})
	}
}

// isDelaunay reports whether the circle of the triangle left of e is free of the
// corner beyond e, which has a triangle on both sides.
func (m *mesh) isDelaunay(e int32) bool {
	a, b, c := m.corners(e / 3)
	return inCircle(a, b, c, m.pts[m.org[prev(m.twin[e])]]) <= 0
}
