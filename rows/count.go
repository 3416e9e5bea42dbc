package rows

import (
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// Counting is the cheap half of the heading search. Along one row, the open
// ground's total is the sum of +u where its boundary is met going out and -u
// where it is met going in, in any order, so neither sorting nor pairing is
// needed: every boundary segment adds its share to each row it crosses.
//
// The sum is an upper bound on the worth of the exact clip: the counted ground
// contains the exact one (countMargin, chords inside arcs), and a Worth gives
// the parts of a row no more than the row in one piece.

// counter holds the scratch memory of counting.
type counter struct {
	in   insetter
	keep []float64
	ends []orb.Point // of the boundary's segments, each place once
	segs []endPair
	uv   []turnedEnd
	open []float64 // by row: its open length
	net  []int     // by row: meetings out less meetings in, less those of the row before
}

// endPair is a boundary segment by its ends, from and to; the open ground lies
// on its left.
type endPair struct{ from, to int32 }

// turnedEnd is an end in the grid's axes, with the first row at or past it.
type turnedEnd struct {
	u, v  float64
	first int
}

// turn makes the boundary for the axes' clearances, unless it has it already,
// and turns it into the axes.
func (c *counter) turn(st *site, x axes) {
	c.inset(st, x)
	if cap(c.uv) < len(c.ends) {
		c.uv = make([]turnedEnd, 2*len(c.ends))
	}
	uv := c.uv[:len(c.ends)]
	c.uv = uv
	for i, p := range c.ends {
		uv[i].u, uv[i].v = p[0]*x.ax+p[1]*x.ay, p[0]*x.nx+p[1]*x.ny
	}
}

// extent is how far the open ground reaches across the rows; empty is true when
// no ground is open.
func (c *counter) extent() (vmin, vmax float64, empty bool) {
	vmin, vmax = math.Inf(1), math.Inf(-1)
	for i := range c.uv {
		vmin, vmax = min(vmin, c.uv[i].v), max(vmax, c.uv[i].v)
	}
	return vmin, vmax, len(c.segs) == 0
}

// inset makes the boundary segments anew if the division into sides and
// headlands differs from the one they were made for.
func (c *counter) inset(st *site, x axes) {
	same := c.in.st == st
	if same && st.spec.SideM == st.spec.HeadlandM {
		return // the heading makes no difference
	}
	cosSide := st.cosSide()
	c.keep = append(c.keep, make([]float64, max(0, len(st.edges)-len(c.keep)))...)[:len(st.edges)]
	for i := range st.edges {
		if r := max(0, st.keep(i, x.ax, x.ay, cosSide)-st.thinM-countMargin); c.keep[i] != r {
			c.keep[i], same = r, false
		}
	}
	if !same {
		c.weld(c.in.boundary(st, c.keep))
	}
}

// weld lists each end of the segments once. Ends that differ by rounding
// become one, so that neighbours agree about the rows between them.
func (c *counter) weld(segs []segment) {
	c.ends, c.segs = c.ends[:0], c.segs[:0]
	for _, s := range segs {
		if p := (endPair{c.end(s.p), c.end(s.q)}); p.from != p.to {
			c.segs = append(c.segs, p)
		}
	}
}

// end is the index of p among the ends. Neighbouring segments follow one
// another closely, so only the last few are looked at; an end that is listed
// twice costs a little time and nothing else.
func (c *counter) end(p orb.Point) int32 {
	const few = 40
	for i := len(c.ends) - 1; i >= max(0, len(c.ends)-few); i-- {
		if q := c.ends[i]; math.Abs(p[0]-q[0]) < countMargin/4 && math.Abs(p[1]-q[1]) < countMargin/4 {
			return int32(i)
		}
	}
	c.ends = append(c.ends, p)
	return int32(len(c.ends) - 1)
}

// sumRows sums the open length of rows 0 to n-1 of the grid, whose axes were
// turned into last, and the changes of the meetings from row to row.
func (c *counter) sumRows(g grid, n int) (open []float64, net []int) {
	if cap(c.open) < n {
		c.open, c.net = make([]float64, 2*n), make([]int, 2*n+1)
	}
	open, net = c.open[:n], c.net[:n+1]
	clear(open)
	clear(net)
	uv := c.uv
	// the first row at or past each end: rows within rounding of it may fall on
	// either side, alike for all segments that share it
	inv := 1 / g.spacing
	past := n + 2
	shift := float64(past) + g.v0*inv
	for i := range uv {
		uv[i].first = min(n, max(0, past-int(shift-uv[i].v*inv)))
	}
	toB := 1 // what a segment that goes to higher rows is, met along the row
	if g.ax*g.ny < g.ay*g.nx {
		toB = -1 // left and right have changed places
	}
	for _, s := range c.segs {
		a, b, out := &uv[s.from], &uv[s.to], toB
		if a.first >= b.first {
			if a.first == b.first {
				continue
			}
			a, b, out = b, a, -toB
		}
		sign := float64(out)
		slope := sign * (b.u - a.u) / (b.v - a.v)
		du := slope * g.spacing
		u := sign*a.u + (g.v0-a.v)*slope + float64(a.first)*du
		net[a.first] += out
		net[b.first] -= out
		rows := open[a.first:b.first]
		for k := range rows {
			rows[k] += u
			u += du
		}
	}
	return open, net
}

// bound is the upper bound on the worth of rows 0 to n-1 of the grid. It is
// +Inf when rounding has torn the boundary at a row, so that the exact clip
// decides.
func (c *counter) bound(g grid, n int, w valuer) float64 {
	rows, net := c.sumRows(g, n)
	var total float64
	unequal, torn := 0, 0 // meetings out less meetings in, which end as many
	simple := w.own == nil && math.IsInf(w.longestM, 1)
	for i, l := range rows {
		unequal += net[i]
		torn |= unequal
		switch {
		case simple: // without a call, for this is the search's inner loop
			if l >= w.leastM {
				total += l - w.costM
			}
		case l > geo.CoincidentM:
			total += max(0, w.most(l)) // a row may also be left out
		}
	}
	if torn != 0 {
		return math.Inf(1)
	}
	return total
}
