package report

import "math"

// boxMM is a box on the page, turned by the direction u of its longer axis.
type boxMM struct {
	c      point
	u      point // unit vector along the box
	hu, hv float64
}

func (b boxMM) corners() [4]point {
	v := point{-b.u.y, b.u.x}
	var out [4]point
	for i, s := range [4][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
		out[i] = b.c.plus(b.u, s[0]*b.hu).plus(v, s[1]*b.hv)
	}
	return out
}

// overlaps reports whether two boxes share ground: they do unless one of their
// four axes parts them.
func (b boxMM) overlaps(o boxMM) bool {
	p, q := b.corners(), o.corners()
	for _, axis := range [4]point{b.u, {-b.u.y, b.u.x}, o.u, {-o.u.y, o.u.x}} {
		p0, p1 := spanOn(axis, p[:])
		q0, q1 := spanOn(axis, q[:])
		if p1 <= q0 || q1 <= p0 {
			return false
		}
	}
	return true
}

// crosses reports whether the segment from a to b enters the box.
func (b boxMM) crosses(p, q point) bool {
	v := point{-b.u.y, b.u.x}
	t0, t1 := 0.0, 1.0
	for _, side := range [2]struct {
		axis point
		half float64
	}{{b.u, b.hu}, {v, b.hv}} {
		a := (p.x-b.c.x)*side.axis.x + (p.y-b.c.y)*side.axis.y
		d := (q.x-p.x)*side.axis.x + (q.y-p.y)*side.axis.y
		if d == 0 {
			if math.Abs(a) >= side.half {
				return false
			}
			continue
		}
		in, out := (-side.half-a)/d, (side.half-a)/d
		t0, t1 = math.Max(t0, math.Min(in, out)), math.Min(t1, math.Max(in, out))
	}
	return t0 < t1
}

func spanOn(axis point, pts []point) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, p := range pts {
		k := p.x*axis.x + p.y*axis.y
		lo, hi = math.Min(lo, k), math.Max(hi, k)
	}
	return lo, hi
}

// cellMM is the size of the cells in which a crowd looks things up.
const cellMM = 6.0

type cell2 struct{ i, j int }

// crowd is what already stands on the page: lines that lettering should keep
// clear of, and lettering that it must.
type crowd struct {
	end      point // lower right corner of the map
	segments [][2]point
	boxes    []boxMM
	lines    map[cell2][]int
	letters  map[cell2][]int
}

func newCrowd(end point) *crowd {
	return &crowd{end: end, lines: map[cell2][]int{}, letters: map[cell2][]int{}}
}

func cellOf(p point) cell2 {
	return cell2{int(math.Floor(p.x / cellMM)), int(math.Floor(p.y / cellMM))}
}

// addLine adds a segment, cut into bits of a cell's size so that each bit lies
// in the cells of its two ends or next to them.
func (c *crowd) addLine(a, b point) {
	n := int(math.Hypot(b.x-a.x, b.y-a.y)/cellMM) + 1
	for i := range n {
		p := a.plus(point{b.x - a.x, b.y - a.y}, float64(i)/float64(n))
		q := a.plus(point{b.x - a.x, b.y - a.y}, float64(i+1)/float64(n))
		k := cellOf(point{(p.x + q.x) / 2, (p.y + q.y) / 2})
		c.lines[k] = append(c.lines[k], len(c.segments))
		c.segments = append(c.segments, [2]point{p, q})
	}
}

func (c *crowd) addBox(b boxMM) {
	k := cellOf(b.c)
	c.letters[k] = append(c.letters[k], len(c.boxes))
	c.boxes = append(c.boxes, b)
}

// near calls visit for what lies in the cells around a box; reach is how far a
// thing may stick out from the cell it is kept in.
func near(kept map[cell2][]int, b boxMM, reach float64, visit func(i int) bool) bool {
	r := math.Hypot(b.hu, b.hv) + reach
	lo, hi := cellOf(point{b.c.x - r, b.c.y - r}), cellOf(point{b.c.x + r, b.c.y + r})
	for j := lo.j; j <= hi.j; j++ {
		for i := lo.i; i <= hi.i; i++ {
			for _, k := range kept[cell2{i, j}] {
				if visit(k) {
					return true
				}
			}
		}
	}
	return false
}

// onPage reports whether a box lies on the map part of the page.
func (c *crowd) onPage(b boxMM) bool {
	for _, p := range b.corners() {
		if p.x < marginMM || p.y < marginMM || p.x > c.end.x || p.y > c.end.y {
			return false
		}
	}
	return true
}

// lettered reports whether a box overlaps lettering that stands already.
func (c *crowd) lettered(b boxMM) bool {
	return near(c.letters, b, mostBoxMM, func(i int) bool { return c.boxes[i].overlaps(b) })
}

// mostBoxMM is half the diagonal of the longest lettering on a map.
const mostBoxMM = 35.0

// lined reports whether a line runs through a box.
func (c *crowd) lined(b boxMM) bool {
	return near(c.lines, b, cellMM, func(i int) bool { return b.crosses(c.segments[i][0], c.segments[i][1]) })
}

// free reports a box on the page without lettering or lines in it.
func (c *crowd) free(b boxMM) bool { return c.onPage(b) && !c.lettered(b) && !c.lined(b) }
