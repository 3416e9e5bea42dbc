package rows

import (
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// site is one block with everything its rows keep clear of, as a flat list of
// edges. It does not depend on a heading.
type site struct {
	edges []edge
	outer int // edges[:outer] are the outer ring
	rings int // edges[:rings] bound the block: outer ring and holes
	// areas are the obstacles with an inside, as ranges of edges.
	areas []span
	hull  []orb.Point // of the outer ring, see corners
	spec  *Spec
	// thinM is how far the edges may lie from the surveyed ones, 0 for those.
	thinM float64
}

type span struct{ lo, hi int }

// edge is a straight piece of a boundary, from a to b.
type edge struct {
	a, b orb.Point
	// run is the unit direction that decides whether an outline edge is a
	// side or has a headland: that of the side of the block it belongs to.
	run orb.Point
}

// newSite gathers the edges of a block and of the obstacles near it.
func newSite(b geo.Block, obstacles []geo.Obstacle, spec *Spec) *site {
	st := new(site)
	st.reset(b, obstacles, spec)
	return st
}

// reset is newSite in memory used before.
func (st *site) reset(b geo.Block, obstacles []geo.Obstacle, spec *Spec) {
	st.spec = spec
	st.edges, st.areas, st.hull = st.edges[:0], st.areas[:0], st.hull[:0]
	for i, r := range b.Outline {
		st.addPath(orb.LineString(r))
		if i == 0 {
			st.outer = len(st.edges)
		}
	}
	st.rings = len(st.edges)
	if spec.SideM != spec.HeadlandM { // else it makes no difference
		st.setRuns()
	}
	if len(obstacles) == 0 {
		return
	}
	near := b.Outline.Bound().Pad(spec.ObstacleM + geo.CoincidentM)
	for _, o := range obstacles {
		lo := len(st.edges)
		switch {
		case len(o.Area) > 0 && near.Intersects(o.Area.Bound()):
			for _, r := range o.Area {
				st.addPath(orb.LineString(r))
			}
			st.areas = append(st.areas, span{lo, len(st.edges)})
		case len(o.Path) > 0 && near.Intersects(o.Path.Bound()):
			st.addPath(o.Path)
		}
	}
}

// addPath appends the edges of a closed ring or an open path; a path of one
// point becomes an edge without length.
func (st *site) addPath(p orb.LineString) {
	if len(p) == 1 {
		st.edges = append(st.edges, edge{a: p[0], b: p[0]})
	}
	for i := 1; i < len(p); i++ {
		st.edges = append(st.edges, edge{a: p[i-1], b: p[i]})
	}
}

// setRuns gives each edge of the outer ring the direction of the side it
// belongs to: that of the chord which stands for it when the ring is
// simplified (Douglas and Peucker 1973) to a tenth of the spacing. So jags
// smaller than that do not turn a side into a headland, and corners stay
// where they are.
func (st *site) setRuns() {
	ring := st.edges[:st.outer]
	n := len(ring)
	if n < 3 {
		return
	}
	// two far corners to begin with, whichever vertex the ring starts at
	c := orb.Point{}
	for _, e := range ring {
		c[0] += e.a[0] / float64(n)
		c[1] += e.a[1] / float64(n)
	}
	first := farthest(ring, c)
	second := farthest(ring, ring[first].a)
	st.chord(first, (second-first+n)%n)
	st.chord(second, (first-second+n)%n)
}

// farthest is the edge whose start is farthest from p.
func farthest(ring []edge, p orb.Point) int {
	best, far := 0, -1.0
	for i, e := range ring {
		dx, dy := e.a[0]-p[0], e.a[1]-p[1]
		if d := dx*dx + dy*dy; d > far {
			best, far = i, d
		}
	}
	return best
}

// chord gives the count edges from edge i on their common chord's direction,
// or divides them where a vertex strays too far from it.
func (st *site) chord(i, count int) {
	if count == 0 {
		return
	}
	n := st.outer
	whole := edge{a: st.edges[i].a, b: st.edges[(i+count-1)%n].b}
	if split := farFrom(st.edges[:n], i, count, whole, st.spec.SpacingM/10); split > 0 {
		st.chord(i, split)
		st.chord((i+split)%n, count-split)
		return
	}
	dx, dy := whole.b[0]-whole.a[0], whole.b[1]-whole.a[1]
	l := math.Hypot(dx, dy)
	for k := range count {
		if e := &st.edges[(i+k)%n]; l > 0 {
			e.run = orb.Point{dx / l, dy / l}
		}
	}
}

// farFrom finds, among the count edges of a ring from edge i on, the one whose
// start lies farthest from a chord and farther than tolM; 0 if none does.
func farFrom(ring []edge, i, count int, chord edge, tolM float64) (split int) {
	far := tolM * tolM
	for k := 1; k < count; k++ {
		if d := distance2(ring[(i+k)%len(ring)].a, chord); d > far {
			split, far = k, d
		}
	}
	return split
}

// manyEdges is where counting on a thinned outline begins to pay.
const manyEdges = 100

// coarse is the site with its edges thinned (Douglas and Peucker 1973), built
// in memory used before, or the site itself where it has few edges or where a
// clearance is too small. A point that keeps its clearance from the surveyed
// edges keeps it less thinM from the thinned ones, and lies on the same side of
// them; so the ground that is open by the lesser clearances contains the open
// ground. Edges are thinned only together with others of their side.
func (st *site) coarse(thin *site) *site {
	least := min(st.spec.HeadlandM, st.spec.SideM)
	if len(st.edges) > st.outer {
		least = min(least, st.spec.ObstacleM)
	}
	tolM := min(0.1, least/8)
	if len(st.edges) < manyEdges || tolM <= 0 {
		return st
	}
	*thin = site{edges: thin.edges[:0], areas: thin.areas[:0], hull: append(thin.hull[:0], st.corners()...), spec: st.spec, thinM: tolM}
	for lo := 0; lo < len(st.edges); {
		hi := st.pathEnd(lo)
		from := len(thin.edges)
		thin.addThinned(st.edges[lo:hi], tolM)
		switch {
		case lo == 0:
			thin.outer = len(thin.edges)
			fallthrough
		case hi <= st.rings:
			thin.rings = len(thin.edges)
		case st.areaOf(lo) == len(thin.areas):
			thin.areas = append(thin.areas, span{from, len(thin.edges)})
		case st.areaOf(lo) >= 0: // another ring of the same obstacle
			thin.areas[len(thin.areas)-1].hi = len(thin.edges)
		}
		lo = hi
	}
	return thin
}

// pathEnd is where the ring or path that starts at edge lo ends.
func (st *site) pathEnd(lo int) int {
	first := st.edges[lo].a
	for i := lo; i < len(st.edges); i++ {
		if st.edges[i].b == first || i+1 == len(st.edges) || st.edges[i+1].a != st.edges[i].b {
			return i + 1
		}
	}
	return len(st.edges)
}

// addThinned appends a ring or path with fewer edges.
func (st *site) addThinned(path []edge, tolM float64) {
	n := len(path)
	if n < 8 || path[0].a != path[n-1].b {
		st.thinPart(path, 0, n, tolM)
		return
	}
	second := farthest(path, path[0].a)
	st.thinPart(path, 0, second, tolM)
	st.thinPart(path, second, n-second, tolM)
}

// thinPart appends the count edges from edge i as one, if that strays less than
// tolM and all are of one side, or divided.
func (st *site) thinPart(path []edge, i, count int, tolM float64) {
	if count == 0 {
		return
	}
	whole := edge{a: path[i].a, b: path[i+count-1].b, run: path[i].run}
	split := farFrom(path, i, count, whole, tolM)
	for k := 1; k < count && split == 0; k++ {
		if path[i+k].run != whole.run {
			split = k
		}
	}
	if split == 0 {
		st.edges = append(st.edges, whole)
		return
	}
	st.thinPart(path, i, split, tolM)
	st.thinPart(path, i+split, count-split, tolM)
}

// keep returns the distance rows keep from edge i when they run along the
// unit vector (ax, ay).
func (st *site) keep(i int, ax, ay, cosSide float64) float64 {
	switch {
	case i >= st.outer:
		return st.spec.ObstacleM
	case st.isSide(i, ax, ay, cosSide):
		return st.spec.SideM
	}
	return st.spec.HeadlandM
}

// isSide reports whether rows along the unit vector run along outline edge i.
func (st *site) isSide(i int, ax, ay, cosSide float64) bool {
	return math.Abs(st.edges[i].run[0]*ax+st.edges[i].run[1]*ay) >= cosSide-geo.AlignedRatio
}

func (st *site) cosSide() float64 { return math.Cos(st.spec.SideAngleDeg * math.Pi / 180) }

// longestEdge is the index in the outer ring of its longest edge, the first of
// equals.
func (st *site) longestEdge() int {
	best, bestM := 0, -1.0
	for i, e := range st.edges[:st.outer] {
		if l := math.Hypot(e.b[0]-e.a[0], e.b[1]-e.a[1]); l > bestM+geo.CoincidentM {
			best, bestM = i, l
		}
	}
	return best
}

// edgeHeading is the heading along edge i.
func (st *site) edgeHeading(i int) geo.Bearing {
	e := st.edges[i]
	return geo.BearingOf(e.b[0]-e.a[0], e.b[1]-e.a[1]).Fold()
}

// areaOf is the obstacle with an inside that edge i belongs to, or -1.
func (st *site) areaOf(i int) int {
	for k, a := range st.areas {
		if i >= a.lo && i < a.hi {
			return k
		}
	}
	return -1
}

// axes are the directions of a row grid: along the rows towards end B, and
// across them towards higher numbers.
type axes struct{ ax, ay, nx, ny float64 }

// axesOf numbers rows from the west, or from the north where rows run nearer
// to east and west; the change lies at headings 135.
func axesOf(h geo.Bearing) axes {
	ax, ay := h.Unit()
	if h < 135 {
		return axes{ax, ay, ay, -ax}
	}
	return axes{ax, ay, -ay, ax}
}

func (x axes) uv(p orb.Point) (u, v float64) {
	return p[0]*x.ax + p[1]*x.ay, p[0]*x.nx + p[1]*x.ny
}

func (x axes) xy(u, v float64) orb.Point {
	return orb.Point{u*x.ax + v*x.nx, u*x.ay + v*x.ny}
}
