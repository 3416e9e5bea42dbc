package shapefile

import (
	"cmp"
	"slices"

	"hemrow/geo/format"
)

// loop is one ring on its way to a polygon.
type loop struct {
	ring  format.Ring
	turns int     // -1 clockwise, the way of outer rings; 1 counter-clockwise
	area  float64 //unit:square units of the file
	box   box
	slabs *slabs // made when the loop is asked often
	asked int
	// owner is the outer loop of a hole, -1 for an outer loop.
	owner int
}

// assemble makes polygons of the rings of one record. The standard lets rings
// stand in any order, outer ones clockwise and holes counter-clockwise; files
// with the directions wrong are common. So what lies inside what decides, and
// directions only where a ring lies inside another:
//
//	in nothing                           an outer ring
//	in an outer ring                     a hole of it, whichever way it runs;
//	                                     with a note if it runs the same way
//	in a hole, the way of the outer one  an outer ring, an island
//	in a hole, the way of the hole       another hole of the same outer ring
//
// A hole that crosses an outer ring stays its hole, for geo/polygon to judge.
func (s *shape) assemble(rings []format.Ring) []format.Polygon {
	loops := make([]loop, len(rings))
	for i, r := range rings {
		turns, area := turning(r)
		loops[i] = loop{ring: r, turns: turns, area: area, box: boxOf(r), owner: -1}
	}
	parents, order := nesting(loops)
	for _, i := range order {
		l := &loops[i]
		p := parents[i]
		if p < 0 {
			if l.turns > 0 {
				l.owner = crossed(loops, i)
			}
			continue
		}
		o := loops[p].owner
		if o < 0 { // inside an outer ring
			l.owner = p
			if l.turns != 0 && l.turns == loops[p].turns {
				s.tally.count[noteRole]++
				s.tally.roleArea += l.area
			}
		} else if l.turns != loops[o].turns {
			l.owner = o
		}
	}
	return gather(loops)
}

// gather puts holes behind their outer rings, both in file order.
func gather(loops []loop) []format.Polygon {
	count := make([]int, len(loops)) // rings of the polygon of each outer loop
	outers := 0
	for i := range loops {
		o := i
		// a hole of a loop that turned out to be a hole itself goes with it
		for range loops {
			if loops[o].owner < 0 {
				break
			}
			o = loops[o].owner
		}
		if o == i {
			outers++
		} else {
			loops[i].owner = o
		}
		count[o]++
	}
	out := make([]format.Polygon, 0, outers)
	place := make([]int, len(loops))
	room := make([]format.Ring, len(loops))
	for i := range loops {
		if loops[i].owner >= 0 {
			continue
		}
		place[i] = len(out)
		p := room[0:1:count[i]]
		room = room[count[i]:]
		p[0] = loops[i].ring
		out = append(out, p)
	}
	for i := range loops {
		if o := loops[i].owner; o >= 0 {
			out[place[o]] = append(out[place[o]], loops[i].ring)
		}
	}
	return out
}

// nesting finds for each loop the smallest one around it, -1 for none. order
// names every loop after those around it.
//
// Loops are swept by where they begin along the axis on which they are short.
// Those that reach over the beginning of a loop are looked at from the latest
// on: of loops inside one another that is the innermost, so that the first
// that contains it is its parent.
func nesting(loops []loop) (parents, order []int) {
	axis := shortAxis(loops)
	parents, order = make([]int, len(loops)), make([]int, len(loops))
	for i := range loops {
		parents[i], order[i] = -1, i
	}
	slices.SortStableFunc(order, func(i, k int) int {
		return cmp.Or(
			cmp.Compare(loops[i].box.low[axis], loops[k].box.low[axis]),
			cmp.Compare(loops[k].area, loops[i].area),
		)
	})
	var active []int
	for _, i := range order {
		past := 0
		for k := len(active) - 1; k >= 0; k-- {
			c := active[k]
			if loops[c].box.high[axis] < loops[i].box.low[axis] {
				past++
				continue
			}
			if loops[c].box.holds(loops[i].box) && loops[c].area >= loops[i].area && loops[c].surrounds(&loops[i]) {
				parents[i] = c
				break
			}
		}
		if 2*past > len(active) {
			active = slices.DeleteFunc(active, func(c int) bool { return loops[c].box.high[axis] < loops[i].box.low[axis] })
		}
		active = append(active, i)
	}
	return parents, order
}

// shortAxis is the axis along which the loops overlap less.
func shortAxis(loops []loop) int {
	var cover [2]float64 //unit:ratio
	for axis := range 2 {
		all, sum := loops[0].box, 0.0
		for i := range loops {
			b := &loops[i].box
			all.low[axis], all.high[axis] = min(all.low[axis], b.low[axis]), max(all.high[axis], b.high[axis])
			sum += b.high[axis] - b.low[axis]
		}
		if cover[axis] = 0; all.high[axis] > all.low[axis] {
			cover[axis] = sum / (all.high[axis] - all.low[axis])
		}
	}
	if cover[1] < cover[0] {
		return 1
	}
	return 0
}

// crossed is the clockwise loop that holds a part of loop i, -1 for none.
func crossed(loops []loop, i int) int {
	for c := range loops {
		if c == i || loops[c].turns >= 0 || !loops[c].box.meets(loops[i].box) {
			continue
		}
		for _, p := range loops[i].ring {
			if loops[c].locate(p) > 0 {
				return c
			}
		}
	}
	return -1
}

// surrounds reports whether r lies inside l. For rings that run in opposite
// directions, outline and hole, the first vertex off the boundary decides; a
// ring in the same direction must lie inside with all its vertices. When all
// vertices are on the boundary, the middles of the edges are looked at.
func (l *loop) surrounds(r *loop) bool {
	inside := false
	for _, p := range r.ring {
		switch l.locate(p) {
		case -1:
			return false
		case 1:
			if l.turns != r.turns {
				return true
			}
			inside = true
		}
	}
	if inside {
		return true
	}
	for i, a := range r.ring {
		b := r.ring[(i+1)%len(r.ring)]
		middle := format.Coord{X: a.X/2 + b.X/2, Y: a.Y/2 + b.Y/2}
		if at := l.locate(middle); at != 0 {
			return at > 0
		}
	}
	return false
}

// often is how many questions make it worth while to sort the edges of a loop.
const often = 8

// locate is 1 for a place inside the loop, 0 on it, -1 outside.
func (l *loop) locate(p format.Coord) int {
	if !l.box.meets(box{[2]float64{p.X, p.Y}, [2]float64{p.X, p.Y}}) {
		return -1
	}
	if l.asked++; l.asked == often {
		l.slabs = newSlabs(l.ring, l.box)
	}
	odd := false
	if l.slabs != nil {
		for _, i := range l.slabs.at(p.Y) {
			next := int(i) + 1
			if next == len(l.ring) {
				next = 0
			}
			if on := passes(l.ring[i], l.ring[next], p, &odd); on {
				return 0
			}
		}
	} else {
		a := l.ring[len(l.ring)-1]
		for _, b := range l.ring {
			if on := passes(a, b, p, &odd); on {
				return 0
			}
			a = b
		}
	}
	if odd {
		return 1
	}
	return -1
}

// passes flips odd when the edge ab crosses the ray from p towards larger X;
// on reports that p lies on the edge.
func passes(a, b, p format.Coord, odd *bool) (on bool) {
	if (a.Y > p.Y) == (b.Y > p.Y) {
		level := a.Y == p.Y && b.Y == p.Y
		return level && min(a.X, b.X) <= p.X && p.X <= max(a.X, b.X) || a.X == p.X && a.Y == p.Y || b.X == p.X && b.Y == p.Y
	}
	if a.X < p.X && b.X < p.X {
		return false
	}
	if a.X <= p.X || b.X <= p.X {
		side := orientation(a, b, p)
		if side == 0 {
			return true
		}
		if (side > 0) != (b.Y > a.Y) {
			return false
		}
	}
	*odd = !*odd
	return false
}
