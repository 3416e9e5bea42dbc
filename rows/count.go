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
	in   insetter
	keep []float64
	segs []segment
	uv   []turnedSegment
	sum  []rowSum
}

// turnedSegment is a boundary segment in the grid's axes.
type turnedSegment struct{ ua, va, ub, vb float64 }

// rowSum is the open length of a row, and the meetings out less those in.
type rowSum struct {
	length float64
	net    int
}

// turn makes the boundary for the axes' clearances, unless it has it already,
// turns it into the axes and returns the extent of the open ground across the
// rows; empty is true when no ground is open.
func (c *counter) turn(st *site, x axes) (vmin, vmax float64, empty bool) {
	c.inset(st, x)
	if cap(c.uv) < len(c.segs) {
		c.uv = make([]turnedSegment, len(c.segs))
	}
	c.uv = c.uv[:len(c.segs)]
	vmin, vmax = math.Inf(1), math.Inf(-1)
	mirrored := x.ax*x.ny < x.ay*x.nx // then left and right change places
	for i := range c.segs {
		p, q := &c.segs[i].p, &c.segs[i].q
		if mirrored {
			p, q = q, p
		}
		t := &c.uv[i]
		t.ua, t.va = x.uv(*p)
		t.ub, t.vb = x.uv(*q)
		if t.va < vmin {
			vmin = t.va
		}
		if t.va > vmax {
			vmax = t.va
		}
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
		if r := max(0, st.keep(i, x.ax, x.ay, cosSide)-countMargin); c.keep[i] != r {
			c.keep[i], same = r, false
		}
	}
	if !same {
		c.segs = c.in.boundary(st, c.keep)
	}
}

// sumRows sums the open length of rows 0 to n-1 of the grid, whose axes were
// turned into last.
func (c *counter) sumRows(g grid, n int) []rowSum {
	if cap(c.sum) < n {
		c.sum = make([]rowSum, n)
	}
	sum := c.sum[:n]
	clear(sum)
	inv := 1 / g.spacing
	past := n + 2
	for i := range c.uv {
		t := &c.uv[i]
		// the first row at or past each end: rows within rounding of it may
		// fall on either side, which net shows
		ka := past - int(float64(past)-(t.va-g.v0)*inv)
		kb := past - int(float64(past)-(t.vb-g.v0)*inv)
		if ka == kb {
			continue
		}
		slope := (t.ub - t.ua) / (t.vb - t.va)
		u, out := t.ua+(g.v0-t.va)*slope, 1
		du := slope * g.spacing
		if ka > kb {
			ka, kb, u, du, out = kb, ka, -u, -du, -1
		}
		ka, kb = max(ka, 0), min(kb, n)
		if ka >= kb {
			continue
		}
		rows := sum[ka:kb]
		u += float64(ka) * du
		for k := range rows {
			rows[k].length += u
			rows[k].net += out
			u += du
		}
	}
	return sum
}

// bound is the upper bound on the worth of rows 0 to n-1 of the grid. It is
// +Inf when rounding has torn the boundary at a row, so that the exact clip
// decides.
func (c *counter) bound(g grid, n int, w valuer) float64 {
	var total float64
	torn := 0
	rows := c.sumRows(g, n)
	if w.own == nil {
		for i := range rows {
			torn |= rows[i].net
			if l := rows[i].length; l >= w.leastM {
				total += l - w.costM
			}
		}
	} else {
		for i := range rows {
			torn |= rows[i].net
			if l := rows[i].length; l > geo.CoincidentM {
				total += w.own(l)
			}
		}
	}
	if torn != 0 {
		return math.Inf(1)
	}
	return total
}
