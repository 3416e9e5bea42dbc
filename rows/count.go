package rows

import (
	"math"

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
	in    insetter
	keep  []float64
	class []bool // of the outer edges, side or not, that segs was made for
	segs  []segment
	uv    []float64 // segments in the grid's axes: u, v, u, v
	sum   []float64 // by row
	net   []int32   // by row: meetings out less meetings in
}

// turn makes the boundary for the axes' clearances, unless it has it already,
// turns it into the axes and returns the extent of the open ground across the
// rows; empty is true when no ground is open.
func (c *counter) turn(st *site, x axes) (vmin, vmax float64, empty bool) {
	c.inset(st, x)
	c.uv = c.uv[:0]
	vmin, vmax = math.Inf(1), math.Inf(-1)
	mirrored := x.ax*x.ny < x.ay*x.nx // then left and right change places
	for i := range c.segs {
		p, q := &c.segs[i].p, &c.segs[i].q
		if mirrored {
			p, q = q, p
		}
		ua, va := x.uv(*p)
		ub, vb := x.uv(*q)
		c.uv = append(c.uv, ua, va, ub, vb)
		vmin, vmax = min(vmin, va, vb), max(vmax, va, vb)
	}
	return vmin, vmax, len(c.segs) == 0
}

// inset makes the boundary segments anew if the division into sides and
// headlands differs from the one they were made for.
func (c *counter) inset(st *site, x axes) {
	cosSide := st.cosSide()
	same := c.in.st == st
	for i := range st.edges {
		r := max(0, st.keep(i, x.ax, x.ay, cosSide)-countMargin)
		if i >= len(c.keep) {
			c.keep = append(c.keep, r)
			same = false
		}
		if c.keep[i] != r {
			c.keep[i] = r
			same = false
		}
	}
	c.keep = c.keep[:len(st.edges)]
	if !same {
		c.segs = c.in.boundary(st, c.keep)
	}
}

// bound is the upper bound on the worth of rows 0 to n-1 of the grid, whose
// axes were turned into last. It is +Inf when rounding has torn the boundary
// at a row, so that the exact clip decides.
func (c *counter) bound(g grid, n int, worth Worth) float64 {
	if cap(c.sum) < n {
		c.sum, c.net = make([]float64, n), make([]int32, n)
	}
	sum, net := c.sum[:n], c.net[:n]
	clear(sum)
	clear(net)
	inv := 1 / g.spacing
	for i := 0; i+3 < len(c.uv); i += 4 {
		ua, va, ub, vb := c.uv[i], c.uv[i+1], c.uv[i+2], c.uv[i+3]
		ka, kb := g.firstNear(va, inv), g.firstNear(vb, inv)
		if ka == kb {
			continue
		}
		slope := (ub - ua) / (vb - va)
		sign, out := 1.0, int32(1)
		if ka > kb {
			ka, kb, sign, out = kb, ka, -1, -1
		}
		ka, kb = max(ka, 0), min(kb, n)
		u := sign * (ua + (g.v0+float64(ka)*g.spacing-va)*slope)
		du := sign * slope * g.spacing
		for k := ka; k < kb; k++ {
			sum[k] += u
			net[k] += out
			u += du
		}
	}
	var total float64
	for k, s := range sum {
		if net[k] != 0 {
			return math.Inf(1)
		}
		if s > geo.CoincidentM {
			total += worth(s)
		}
	}
	return total
}

// firstNear is firstAt with one rounding: rows within it of a vertex may fall
// on either side, which the count of meetings shows.
func (g grid) firstNear(v, inv float64) int { return int(math.Ceil((v - g.v0) * inv)) }
