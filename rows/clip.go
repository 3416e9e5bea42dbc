package rows

import (
	"math"

	"hemrow/geo"
)

// The exact clip. A row is the line v = const of a grid turned into the
// heading. What is left of it is
//
//	inside the block      crossings with its rings, sorted, taken in pairs
//	less                  inside each obstacle
//	less                  for every edge, the one interval of the row that
//	                      lies nearer to it than its clearance
//
//	        ____________________
//	       /  ________________  \      all points nearer to the edge ab than r
//	------(--/a______________b\--)---- form a capsule; it is convex, so it
//	       \____________________/      cuts a row in one interval at most
//
// Nothing is approximated: row ends lie at the clearance itself.

// grid is a set of parallel rows: row k lies at v = v0 + k·spacing.
type grid struct {
	axes
	v0, spacing float64
}

func (g grid) rowV(k int) float64 { return g.v0 + float64(k)*g.spacing }

// firstAt is the first row with rowV >= v. Deciding by rowV itself makes all
// edges that share a vertex agree on which rows it lies above.
func (g grid) firstAt(v float64) int {
	k := int(math.Ceil((v - g.v0) / g.spacing))
	for g.rowV(k) < v {
		k++
	}
	for g.rowV(k-1) >= v {
		k--
	}
	return k
}

// bit is what is left of one row between two along-row coordinates.
type bit struct {
	row    int
	u0, u1 float64
}

type interval struct{ lo, hi float64 }

// turned is an edge in the grid's axes with its clearance.
type turned struct {
	ua, va, ub, vb float64
	slope          float64 // du/dv
	r              float64 // clearance less the slack, 0 for none
	nu, nv         float64 // r times the unit normal
	fa, fb         int     // first rows at or past a and b
	lo, hi         int     // rows touched: lo <= k < hi
}

// clipper holds the scratch memory of one clip after another.
type clipper struct {
	st    *site
	edges []turned
	start []int32 // of each row in touch
	touch []int32 // edges by row
	cross []float64
	cut   []interval
	bits  []bit
}

// turn puts the site's edges into a grid's axes and returns the extent of the
// outer ring across the rows.
func (c *clipper) turn(st *site, x axes) (vmin, vmax float64) {
	c.st = st
	if cap(c.edges) < len(st.edges) {
		c.edges = make([]turned, len(st.edges))
	}
	c.edges = c.edges[:len(st.edges)]
	cosSide := st.cosSide()
	vmin, vmax = math.Inf(1), math.Inf(-1)
	for i := range st.edges {
		t := &c.edges[i]
		t.set(&st.edges[i], x, max(0, st.keep(i, x.ax, x.ay, cosSide)-geo.ClearanceSlackM))
		if i < st.outer {
			vmin, vmax = min(vmin, t.va), max(vmax, t.va)
		}
	}
	return vmin, vmax
}

// set turns one edge into axes with a clearance.
func (t *turned) set(e *edge, x axes, r float64) {
	t.ua, t.va = x.uv(e.a)
	t.ub, t.vb = x.uv(e.b)
	t.r, t.slope, t.nu, t.nv = r, 0, 0, 0
	du, dv := t.ub-t.ua, t.vb-t.va
	if dv != 0 {
		t.slope = du / dv
	}
	if l := math.Sqrt(du*du + dv*dv); l > 0 {
		t.nu, t.nv = -dv/l*r, du/l*r
	}
}

// clip returns what is left of rows 0 to n-1 of the grid, ordered by row and
// along it. The edges must have been turned into the grid's axes. The result
// is valid until the next clip.
func (c *clipper) clip(g grid, n int) []bit {
	c.bucket(g, n)
	c.bits = c.bits[:0]
	for k := range n {
		c.clipRow(g, k)
	}
	return c.bits
}

// bucket sorts the edges by the rows they touch.
func (c *clipper) bucket(g grid, n int) {
	if cap(c.start) < n+2 {
		c.start = make([]int32, n+2)
	}
	c.start = c.start[:n+2]
	clear(c.start)
	for i := range c.edges {
		t := &c.edges[i]
		t.fa, t.fb = g.firstAt(t.va), g.firstAt(t.vb)
		t.lo, t.hi = min(t.fa, t.fb), max(t.fa, t.fb)
		if t.r > 0 {
			t.lo = g.firstAt(min(t.va, t.vb) - t.r)
			t.hi = g.firstAt(max(t.va, t.vb) + t.r)
		}
		t.lo, t.hi = max(0, t.lo), min(n, t.hi)
		for k := t.lo; k < t.hi; k++ {
			c.start[k+2]++
		}
	}
	for k := 2; k < n+2; k++ {
		c.start[k] += c.start[k-1]
	}
	if total := int(c.start[n+1]); cap(c.touch) < total {
		c.touch = make([]int32, total)
	} else {
		c.touch = c.touch[:total]
	}
	for i := range c.edges {
		for k := c.edges[i].lo; k < c.edges[i].hi; k++ {
			c.touch[c.start[k+1]] = int32(i)
			c.start[k+1]++
		}
	}
	// start[k] .. start[k+1] now bound row k
}

// clipRow appends what is left of row k to bits.
func (c *clipper) clipRow(g grid, k int) {
	touch := c.touch[c.start[k]:c.start[k+1]]
	v := g.rowV(k)
	c.cross, c.cut = c.cross[:0], c.cut[:0]
	for _, i := range touch {
		t := &c.edges[i]
		if int(i) < c.st.rings && (t.fa <= k) != (t.fb <= k) {
			c.cross = insertSorted(c.cross, t.ua+(v-t.va)*t.slope)
		}
		if t.r > 0 {
			if in, ok := t.capsule(v); ok {
				c.cut = insertInterval(c.cut, in)
			}
		}
	}
	if len(c.cross) == 0 {
		return
	}
	for _, a := range c.st.areas {
		c.cutArea(a, k, v)
	}
	next := 0
	for i := 0; i+1 < len(c.cross); i += 2 {
		next = c.subtract(k, c.cross[i], c.cross[i+1], next)
	}
}

// subtract appends what is left of [lo, hi] after the cuts, which are sorted
// by their lower ends; next is the first cut that may still matter.
func (c *clipper) subtract(k int, lo, hi float64, next int) int {
	for next < len(c.cut) && c.cut[next].hi <= lo {
		next++
	}
	for i := next; i < len(c.cut) && c.cut[i].lo < hi; i++ {
		if c.cut[i].lo-lo > geo.CoincidentM {
			c.bits = append(c.bits, bit{k, lo, c.cut[i].lo})
		}
		lo = max(lo, c.cut[i].hi)
		if lo >= hi {
			return next
		}
	}
	if hi-lo > geo.CoincidentM {
		c.bits = append(c.bits, bit{k, lo, hi})
	}
	return next
}

// cutArea adds the intervals of row k that lie inside an obstacle.
func (c *clipper) cutArea(a span, k int, v float64) {
	var buf [16]float64
	in := buf[:0]
	for i := a.lo; i < a.hi; i++ {
		if t := &c.edges[i]; (t.fa <= k) != (t.fb <= k) {
			in = insertSorted(in, t.ua+(v-t.va)*t.slope)
		}
	}
	for i := 0; i+1 < len(in); i += 2 {
		c.cut = insertInterval(c.cut, interval{in[i], in[i+1]})
	}
}

// capsule is the interval of the line at v that lies nearer to the edge than
// its clearance. The line enters and leaves the capsule on one of its two
// round ends or its two long sides, and all four lie in the closed capsule, so
// the least and the greatest meeting are the interval.
func (t *turned) capsule(v float64) (in interval, ok bool) {
	in = interval{math.Inf(1), math.Inf(-1)}
	if d := t.r*t.r - (v-t.va)*(v-t.va); d > 0 {
		w := math.Sqrt(d)
		in.lo, in.hi = t.ua-w, t.ua+w
	}
	if d := t.r*t.r - (v-t.vb)*(v-t.vb); d > 0 {
		w := math.Sqrt(d)
		in.lo, in.hi = min(in.lo, t.ub-w), max(in.hi, t.ub+w)
	}
	if a, b := t.va+t.nv, t.vb+t.nv; (a <= v) != (b <= v) {
		u := t.ua + t.nu + (v-a)*t.slope
		in.lo, in.hi = min(in.lo, u), max(in.hi, u)
	}
	if a, b := t.va-t.nv, t.vb-t.nv; (a <= v) != (b <= v) {
		u := t.ua - t.nu + (v-a)*t.slope
		in.lo, in.hi = min(in.lo, u), max(in.hi, u)
	}
	return in, in.lo < in.hi
}

// insertSorted puts x into a short ascending list.
func insertSorted(s []float64, x float64) []float64 {
	s = append(s, x)
	for i := len(s) - 1; i > 0 && s[i-1] > x; i-- {
		s[i], s[i-1] = s[i-1], x
	}
	return s
}

// insertInterval puts x into a short list ascending by lower end.
func insertInterval(s []interval, x interval) []interval {
	s = append(s, x)
	for i := len(s) - 1; i > 0 && s[i-1].lo > x.lo; i-- {
		s[i], s[i-1] = s[i-1], x
	}
	return s
}
