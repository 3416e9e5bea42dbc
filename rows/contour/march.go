package contour

import (
	"math"

	"github.com/paulmach/orb"
)

// march is a grid of places on which level sets are followed from cell to cell.
type march struct {
	x0, y0, d float64
	nx, ny    int    // nodes
	active    []bool // cells, by their lower left node
}

// marchM is the side of the cells: well below the spacing of rows and below the
// least radius, so that no row is missed and none is joined to its neighbour.
const marchM = 2

// newMarch lays cells over a region and one cell beyond.
func newMarch(r *region) *march {
	b := r.bound.Pad(marchM)
	m := &march{x0: b.Min[0], y0: b.Min[1], d: marchM, nx: cells(b.Max[0]-b.Min[0], marchM) + 1, ny: cells(b.Max[1]-b.Min[1], marchM) + 1}
	xs, in := make([]float64, m.nx), make([]bool, m.nx*m.ny)
	for i := range xs {
		xs[i] = m.x0 + m.d*float64(i)
	}
	for j := range m.ny {
		r.holds(m.y0+m.d*float64(j), xs, in[j*m.nx:(j+1)*m.nx])
	}
	m.active = make([]bool, m.nx*m.ny)
	for j := range m.ny - 1 {
		for i := range m.nx - 1 {
			k := j*m.nx + i
			m.active[k] = in[k] || in[k+1] || in[k+m.nx] || in[k+m.nx+1] ||
				r.near(orb.Point{xs[i] + m.d/2, m.y0 + m.d*(float64(j)+0.5)}, m.d)
		}
	}
	return m
}

// values is a field at the nodes.
func (m *march) values(f *spline) []float64 {
	v := make([]float64, m.nx*m.ny)
	for j := range m.ny {
		for i := range m.nx {
			v[j*m.nx+i] = f.at(m.node(i, j)).f
		}
	}
	return v
}

func (m *march) node(i, j int) orb.Point {
	return orb.Point{m.x0 + m.d*float64(i), m.y0 + m.d*float64(j)}
}

// traced is one level line; a closed one repeats its first point.
type traced struct {
	level int
	pts   []orb.Point
}

// crossing is where a level crosses an edge of the grid, joined to the two
// crossings in the cells beside it, -1 for none.
type crossing struct {
	at    orb.Point
	level int
	to    [2]int32
}

// tracer is the work of one march.
type tracer struct {
	*march
	v        []float64
	steps    []int // whole spacings at each node
	first    []int32
	crossing []crossing
	s, phase float64
}

// lines are the level sets v = k s + phase through the active cells. A node
// counts as above a level by one comparison of whole numbers, which all its
// cells share, so that lines end at the rim only.
func (m *march) lines(v []float64, s, phase float64) []traced {
	t := &tracer{march: m, v: v, steps: make([]int, len(v)), first: make([]int32, 2*len(v)), s: s, phase: phase}
	for i, x := range v {
		t.steps[i] = int(math.Floor((x - phase) / s))
	}
	for k, active := range m.active {
		if active {
			t.mark(k)
		}
	}
	t.cross()
	for k, active := range m.active {
		if active {
			t.join(k)
		}
	}
	return t.follow()
}

// edges are the four edges of cell k: below, right, above, left. Edge e < len(v)
// runs east from node e, edge e + len(v) north.
func (t *tracer) edges(k int) [4]int {
	n := len(t.v)
	return [4]int{k, n + k + 1, k + t.nx, n + k}
}

func (t *tracer) ends(e int) (a, b int) {
	if n := len(t.v); e >= n {
		return e - n, e - n + t.nx
	}
	return e, e + 1
}

// mark asks for the crossings of the edges of a cell; cross then makes them.
func (t *tracer) mark(k int) {
	for _, e := range t.edges(k) {
		t.first[e] = 1
	}
}

func (t *tracer) cross() {
	for e, wanted := range t.first {
		if wanted == 0 {
			continue
		}
		t.first[e] = int32(len(t.crossing))
		a, b := t.ends(e)
		lo, hi := min(t.steps[a], t.steps[b]), max(t.steps[a], t.steps[b])
		for k := lo + 1; k <= hi; k++ {
			share := (float64(k)*t.s + t.phase - t.v[a]) / (t.v[b] - t.v[a])
			p := along(t.node(a%t.nx, a/t.nx), t.node(b%t.nx, b/t.nx), max(0, min(1, share)))
			t.crossing = append(t.crossing, crossing{p, k, [2]int32{-1, -1}})
		}
	}
}

// on is the crossing of level k on edge e, -1 for none.
func (t *tracer) on(e, k int) int32 {
	a, b := t.ends(e)
	lo, hi := min(t.steps[a], t.steps[b]), max(t.steps[a], t.steps[b])
	if k <= lo || k > hi {
		return -1
	}
	return t.first[e] + int32(k-lo-1)
}

// join links the crossings of a cell, level by level.
func (t *tracer) join(k int) {
	c := [4]int{k, k + 1, k + 1 + t.nx, k + t.nx}
	lo := min(t.steps[c[0]], t.steps[c[1]], t.steps[c[2]], t.steps[c[3]])
	hi := max(t.steps[c[0]], t.steps[c[1]], t.steps[c[2]], t.steps[c[3]])
	for level := lo + 1; level <= hi; level++ {
		var on [4]int32
		var found [4]int32
		n := 0
		for i, e := range t.edges(k) {
			if on[i] = t.on(e, level); on[i] >= 0 {
				found[n] = on[i]
				n++
			}
		}
		if n == 2 {
			t.link(found[0], found[1])
			continue
		}
		// Four: the middle decides which corners belong together.
		centre := (t.v[c[0]] + t.v[c[1]] + t.v[c[2]] + t.v[c[3]]) / 4
		above := centre >= float64(level)*t.s+t.phase
		if above == (t.steps[c[0]] >= level) {
			t.link(on[0], on[1])
			t.link(on[2], on[3])
		} else {
			t.link(on[3], on[0])
			t.link(on[1], on[2])
		}
	}
}

func (t *tracer) link(a, b int32) {
	for _, x := range [2][2]int32{{a, b}, {b, a}} {
		to := &t.crossing[x[0]].to
		if to[0] < 0 {
			to[0] = x[1]
		} else {
			to[1] = x[1]
		}
	}
}

// follow gathers the lines: first those with ends, then the closed ones, which
// repeat their first point.
func (t *tracer) follow() (out []traced) {
	done := make([]bool, len(t.crossing))
	walk := func(i int32) (pts []orb.Point) {
		for i >= 0 && !done[i] {
			done[i] = true
			c := &t.crossing[i]
			pts = append(pts, c.at)
			if i = c.to[0]; i < 0 || done[i] {
				i = c.to[1]
			}
		}
		return pts
	}
	for i := range t.crossing {
		if to := t.crossing[i].to; !done[i] && (to[0] < 0 || to[1] < 0) {
			if pts := walk(int32(i)); len(pts) > 1 {
				out = append(out, traced{t.crossing[i].level, pts})
			}
		}
	}
	for i := range t.crossing {
		if !done[i] {
			if pts := walk(int32(i)); len(pts) > 2 {
				out = append(out, traced{t.crossing[i].level, append(pts, pts[0])})
			}
		}
	}
	return out
}
