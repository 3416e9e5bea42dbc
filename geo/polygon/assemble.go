package polygon

import (
	"errors"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// evenOdd splits a crossing ring into the parts of its even-odd interior.
func (m *mender) evenOdd(k int, v ring, events []event, loops []ring) ([]shape, error) {
	e := firstCrossing(v, events)
	var sum orb.MultiPolygon
	for _, l := range loops {
		if !l.usable() {
			continue
		}
		next, err := symmetric(sum, orb.Polygon{turned(l, 1)})
		if err != nil {
			return nil, m.crossed(k, v, e, "ring crosses itself and cannot be split: "+err.Error())
		}
		sum = next
	}
	total := TotalAreaM2(sum)
	var out []shape
	for _, p := range sum {
		if a := AreaM2(p); a < geo.MendShareRatio*total {
			m.fix(FixPartDropped, k, v.src[e.i], p[0][0], a, "m2")
			continue
		}
		out = append(out, shapeOf(p, v.src[e.i]))
	}
	if len(out) == 0 {
		return nil, m.crossed(k, v, e, "ring crosses itself into parts too small to keep")
	}
	m.fix(FixSplit, k, v.src[e.i], e.at, float64(len(out)), "parts")
	return out, nil
}

// shapeOf is a polygon of an overlay as a shape, all of it from vertex src.
func shapeOf(p orb.Polygon, src int) (s shape) {
	for k, r := range p {
		v := open(r)
		for i := range v.src {
			v.src[i] = src
		}
		if k == 0 {
			s.outer = v
		} else {
			s.holes = append(s.holes, v)
		}
	}
	return s
}

// assemble puts holes into outlines.
func (m *mender) assemble(g ground) ([]orb.Polygon, error) {
	holes, err := m.joinHoles(g.holes)
	if err != nil {
		return nil, err
	}
	holes, islands := m.islands(holes)
	var parts []orb.Polygon
	used := make([]bool, len(holes))
	for _, s := range g.outers {
		p, err := m.fill(s, holes, used)
		if err != nil {
			return nil, err
		}
		parts = append(parts, p...)
	}
	for i, h := range holes {
		if !used[i] {
			return nil, refuse(place(HoleOutside, h.number, h.src[0], h.pt[0]),
				"remove the hole, or draw it as an outline of its own", "hole lies outside the outline")
		}
	}
	for _, s := range islands {
		p, err := m.fill(s, nil, nil)
		if err != nil {
			return nil, err
		}
		parts = append(parts, p...)
	}
	return parts, nil
}

// joinHoles unites holes that cross or run along each other.
func (m *mender) joinHoles(holes []numbered) ([]numbered, error) {
	left := 2*len(holes) + 8 // joins; each leaves fewer holes, but for rounding
	for i := 0; i < len(holes); i++ {
		for j := i + 1; j < len(holes); j++ {
			c := relate(holes[i].solid, holes[j].solid)
			if !c.crosses {
				continue
			}
			a, b := holes[i], holes[j]
			u, err := union(orb.Polygon{turned(a.ring, 1)}, orb.Polygon{turned(b.ring, 1)})
			if left--; left < 0 {
				err = errors.New("joining them leaves holes that overlap")
			}
			if err != nil {
				return nil, refuse(Fault{HolesOverlap, a.number, a.src[c.first.i], b.number, b.src[c.first.j], c.first.at, 0, ""},
					"join the holes in the file", "holes overlap and cannot be joined: %v", err)
			}
			m.rebuilt = true
			m.fix(FixHolesJoined, a.number, a.src[c.first.i], c.first.at, max(0, a.areaM2()+b.areaM2()-TotalAreaM2(u)), "m2")
			holes = append(holes[:j], holes[j+1:]...)
			holes = append(holes[:i], holes[i+1:]...)
			for _, p := range u {
				for _, r := range p { // a gap enclosed by the two is an island
					holes = append(holes, numbered{newSolid(shapeOf(orb.Polygon{r}, a.src[0]).outer), a.number})
				}
			}
			i = -1
			break
		}
	}
	return holes, nil
}

// islands separates the holes at even depth from the rings inside them, which
// are ground again, with their own holes.
func (m *mender) islands(all []numbered) (holes []numbered, islands []shape) {
	if len(all) < 2 {
		return all, nil
	}
	depth := make([]int, len(all))
	inner := make([]int, len(all)) // the smallest ring around
	for i := range all {
		inner[i] = -1
		for j := range all {
			if i == j || within(all[j].solid, all[i].solid) != Inside {
				continue
			}
			depth[i]++
			if inner[i] < 0 || all[j].areaM2() < all[inner[i]].areaM2() {
				inner[i] = j
			}
		}
	}
	at := map[int]int{}
	for i, h := range all {
		if depth[i]%2 == 0 {
			if depth[i] == 0 {
				holes = append(holes, h)
			}
			continue
		}
		m.rebuilt = true
		m.fix(FixIsland, h.number, h.src[0], h.pt[0], h.areaM2(), "m2")
		at[i] = len(islands)
		islands = append(islands, shape{outer: h.ring})
	}
	for i, h := range all {
		if depth[i] > 0 && depth[i]%2 == 0 {
			s := at[inner[i]]
			islands[s].holes = append(islands[s].holes, h.ring)
		}
	}
	return holes, islands
}

// fill makes polygons of an outline and the holes that lie in it or cross it.
func (m *mender) fill(s shape, holes []numbered, used []bool) ([]orb.Polygon, error) {
	outer := newSolid(s.outer)
	knots := newKnots(1 + len(s.holes) + len(holes))
	var clip []orb.Polygon
	cut := false
	for i, h := range holes {
		c := relate(outer, h.solid)
		switch {
		case c.crosses:
			p := orb.Polygon{turned(h.ring, 1)}
			if err := m.clips(outer, h, c, p); err != nil {
				return nil, err
			}
			clip = append(clip, p)
		case within(outer, h.solid) == Inside:
			s.holes = append(s.holes, h.ring)
			for _, t := range c.touches {
				cut = knots.tie(0, 1+i, t) || cut
			}
		default:
			continue
		}
		used[i] = true
	}
	p := s.oriented()
	if !cut && len(s.holes) > 1 {
		cut = holesKnot(s)
	}
	if len(clip) == 0 && !cut {
		return []orb.Polygon{p}, nil
	}
	return m.carve(p, clip, cut)
}

// holesKnot reports whether holes touching each other or the outline enclose
// ground.
func holesKnot(s shape) bool {
	rings := []*solid{newSolid(s.outer)}
	for _, h := range s.holes {
		rings = append(rings, newSolid(h))
	}
	k := newKnots(len(rings))
	for i := range rings {
		for j := range i {
			for _, t := range relate(rings[j], rings[i]).touches {
				if k.tie(j, i, t) {
					return true
				}
			}
		}
	}
	return false
}

// clips judges a hole that crosses the outline: noise, or not to be guessed.
func (m *mender) clips(outer *solid, h numbered, c contact, p orb.Polygon) error {
	f := Fault{HoleCrossing, h.number, h.src[c.first.j], 0, outer.src[c.first.i], c.first.at, 0, ""}
	beyond, err := overlayDifference(p, []orb.Polygon{{turned(outer.ring, 1)}})
	if err != nil {
		return refuse(f, "draw the hole inside the outline", "hole crosses the outline: %v", err)
	}
	a := TotalAreaM2(beyond)
	w := 0.0
	for _, b := range beyond {
		w = max(w, open(b[0]).widthM())
	}
	if a >= geo.MendShareRatio*outer.areaM2() || w >= geo.MendWidthM {
		return refuse(f, "draw the hole inside the outline, or cut it out of the outline",
			"hole crosses the outline: %.1f m2 of it lie outside", a)
	}
	m.rebuilt = true
	m.fix(FixHoleClipped, h.number, f.Vertex, f.At, a, "m2")
	return nil
}

// carve cuts holes out of p by overlay, since they leave no simple ring, and
// drops parts that are noise.
func (m *mender) carve(p orb.Polygon, clip []orb.Polygon, cut bool) ([]orb.Polygon, error) {
	m.rebuilt = true
	for _, h := range p[1:] {
		clip = append(clip, orb.Polygon{reversed(h)})
	}
	got, err := overlayDifference(orb.Polygon{p[0]}, clip)
	if err != nil {
		return nil, refuse(place(HoleCrossing, 0, 0, p[0][0]), "", "holes cannot be cut out of the outline: %v", err)
	}
	total := TotalAreaM2(got)
	var parts []orb.Polygon
	for _, q := range got {
		if a := AreaM2(q); a < geo.MendShareRatio*total && open(q[0]).widthM() < geo.MendWidthM {
			m.fix(FixPartDropped, 0, 0, q[0][0], a, "m2")
			continue
		}
		parts = append(parts, q)
	}
	if cut || len(parts) > 1 {
		m.fix(FixCutApart, 0, 0, p[0][0], float64(len(parts)), "parts")
	}
	if len(parts) == 0 {
		return nil, refuse(place(ZeroArea, 0, 0, p[0][0]), "", "holes leave nothing of the outline")
	}
	return parts, nil
}
