package polygon

import (
	"github.com/paulmach/orb"
)

// contact is what two rings have in common.
type contact struct {
	crosses bool        // they cross or run along each other
	first   event       // the first place where they do
	touches []orb.Point // else the points where they touch
}

// solid is a ring with its box and, once it was needed, its index.
type solid struct {
	ring
	box orb.Bound
	ix  *Index
}

func newSolid(v ring) *solid { return &solid{ring: v, box: boundOf(v.pt)} }

// relate finds how rings v and w meet.
func relate(v, w *solid) (c contact) {
	if !v.box.Intersects(w.box) {
		return c
	}
	visit := func(e event) bool {
		if e.kind != touching || v.passesCross(e, w.ring) {
			c.crosses, c.first = true, e
			return false
		}
		c.touches = append(c.touches, e.at)
		return true
	}
	if v.len()*w.len() <= bruteMax*bruteMax {
		for i := range v.pt {
			for j := range w.pt {
				if e, ok := v.meetsOther(i, w.ring, j); ok && !visit(e) {
					return c
				}
			}
		}
		return c
	}
	if v.ix == nil {
		v.ix = NewIndex(v.pt)
	}
	for j := range w.pt {
		a, b := w.edge(j)
		v.ix.Search(segBox(a, b), func(i int) bool {
			if e, ok := v.meetsOther(i, w.ring, j); ok {
				return visit(e)
			}
			return true
		})
		if c.crosses {
			return c
		}
	}
	return c
}

// within decides on which side of ring v the ring w lies, given that they do
// not cross: by its first vertex off v, or, if all are on v, by the middle of
// an edge that is.
func within(v, w *solid) Side {
	if !v.box.Intersects(w.box) {
		return Outside
	}
	for _, p := range w.pt {
		if s := locate(v.pt, p); s != OnEdge {
			return s
		}
	}
	for i := range w.pt {
		a, b := w.edge(i)
		if s := locate(v.pt, orb.Point{a[0] + (b[0]-a[0])/2, a[1] + (b[1]-a[1])/2}); s != OnEdge {
			return s
		}
	}
	return OnEdge
}

func boundOf(pts []orb.Point) orb.Bound {
	b := orb.Bound{Min: pts[0], Max: pts[0]}
	for _, p := range pts[1:] {
		b = b.Extend(p)
	}
	return b
}

// between checks the rings of a polygon against each other.
func (c *checker) between(rs []ring) {
	rings := make([]*solid, len(rs))
	for k := range rs {
		rings[k] = newSolid(rs[k])
	}
	knots := newKnots(len(rings))
	for h := 1; h < len(rings); h++ {
		for k := range h {
			t := relate(rings[k], rings[h])
			kind := HolesOverlap
			if k == 0 {
				kind = HoleCrossing
			}
			if t.crosses {
				c.add(Fault{kind, h, rings[h].src[t.first.j], k, rings[k].src[t.first.i], t.first.at, 0, ""})
				continue
			}
			c.nesting(k, h, rings)
			for _, p := range t.touches {
				if knots.tie(k, h, p) {
					c.add(Fault{CutApart, h, nearestVertex(rings[h].ring, p), k, nearestVertex(rings[k].ring, p), p, 0, ""})
				}
			}
		}
	}
}

// nesting checks rings k < h, which do not cross.
func (c *checker) nesting(k, h int, rings []*solid) {
	hole := rings[h]
	switch {
	case k == 0 && within(rings[0], hole) != Inside:
		c.add(place(HoleOutside, h, hole.src[0], hole.pt[0]))
	case k > 0 && within(rings[k], hole) == Inside:
		c.add(Fault{NestedHole, h, hole.src[0], k, rings[k].src[0], hole.pt[0], 0, ""})
	case k > 0 && within(hole, rings[k]) == Inside:
		c.add(Fault{NestedHole, k, rings[k].src[0], h, hole.src[0], rings[k].pt[0], 0, ""})
	}
}

// nearestVertex is the source number of the vertex nearest to p.
func nearestVertex(v ring, p orb.Point) int {
	best := 0
	for i := range v.pt {
		if distance(v.pt[i], p) < distance(v.pt[best], p) {
			best = i
		}
	}
	return v.src[best]
}

// knots ties rings together at the points where they touch. A second way
// round from ring to ring encloses ground: the interior falls apart.
type knots struct {
	parent []int
	point  map[orb.Point]int
	tied   map[[2]int]bool
}

func newKnots(rings int) *knots {
	k := &knots{parent: make([]int, rings)}
	for i := range k.parent {
		k.parent[i] = i
	}
	return k
}

// tie joins rings a and b at p and reports whether that closed a way round.
func (k *knots) tie(a, b int, p orb.Point) (closed bool) {
	if k.point == nil {
		k.point, k.tied = map[orb.Point]int{}, map[[2]int]bool{}
	}
	n, ok := k.point[p]
	if !ok {
		n = len(k.parent)
		k.parent = append(k.parent, n)
		k.point[p] = n
	}
	for _, r := range [2]int{a, b} {
		if k.tied[[2]int{r, n}] {
			continue
		}
		k.tied[[2]int{r, n}] = true
		x, y := k.root(r), k.root(n)
		closed = closed || x == y
		k.parent[x] = y
	}
	return closed
}

func (k *knots) root(i int) int {
	for k.parent[i] != i {
		k.parent[i] = k.parent[k.parent[i]]
		i = k.parent[i]
	}
	return i
}
