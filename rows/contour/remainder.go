package contour

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo/polygon"
)

// remainder is the ground that kept rows leave: the area less a corridor along
// each row, open straight ahead.
type remainder struct {
	whole         *region
	index         *polygon.Index
	first         []bool // segment i starts a row
	last          []bool // or ends it
	reach, inline float64
	// The raster says to which part a place belongs.
	x0, y0 float64
	nx, ny int
	label  []int32 // 0 taken, -1 free
}

// rasterM is the side of the raster's cells. Tongues of ground up to two cells
// wide are left aside.
const rasterM = 1.0

func newRemainder(whole *region, kept []Row, lim *Limits) *remainder {
	r := &remainder{whole: whole, reach: corridor * lim.SpacingM, inline: inlineRatio * lim.SpacingM}
	var segs [][2]orb.Point
	for _, row := range kept {
		n := len(row.Line) - 1
		for i := range n {
			segs = append(segs, [2]orb.Point{row.Line[i], row.Line[i+1]})
			r.first, r.last = append(r.first, i == 0), append(r.last, i == n-1)
		}
	}
	r.index = polygon.NewSegmentIndex(segs)
	b := whole.bound
	r.x0, r.y0 = b.Min[0], b.Min[1]
	r.nx, r.ny = cells(b.Max[0]-b.Min[0], rasterM), cells(b.Max[1]-b.Min[1], rasterM)
	r.label = make([]int32, r.nx*r.ny)
	xs, in := make([]float64, r.nx), make([]bool, r.nx)
	for i := range xs {
		xs[i] = r.x0 + rasterM*(float64(i)+0.5)
	}
	for j := range r.ny {
		y := r.y0 + rasterM*(float64(j)+0.5)
		whole.holds(y, xs, in)
		for i, x := range xs {
			if in[i] && !r.taken(orb.Point{x, y}) {
				r.label[j*r.nx+i] = -1
			}
		}
	}
	return r
}

// taken reports whether p lies in the corridor of a kept row: near one of its
// segments, but not straight ahead of an end, where a row may go on.
func (r *remainder) taken(p orb.Point) (yes bool) {
	r.index.Search(orb.Bound{Min: p, Max: p}.Pad(r.reach), func(i int) bool {
		a, b := r.index.Segment(i)
		dx, dy := b[0]-a[0], b[1]-a[1]
		t := ((p[0]-a[0])*dx + (p[1]-a[1])*dy) / (dx*dx + dy*dy)
		if distM(p, along(a, b, max(0, min(1, t)))) >= r.reach {
			return true
		}
		yes = true
		if (t < 0 && r.first[i]) || (t > 1 && r.last[i]) {
			yes = distM(p, along(a, b, t)) > r.inline
		}
		return !yes
	})
	return yes
}

// part is one connected piece of the remainder.
type part struct {
	*remainder
	id    int32
	count int
	bound orb.Bound
}

// parts are the pieces with more than the least area, opened by a cell so that
// tongues fall away, largest first.
func (r *remainder) parts(leastM2 float64) (out []*part) {
	core := make([]bool, len(r.label))
	for k := range core {
		core[k] = r.open(k)
	}
	var id int32
	for k := range core {
		if core[k] && r.label[k] == -1 {
			id++
			out = append(out, r.flood(k, id, core))
		}
	}
	for _, p := range out {
		r.widen(p)
	}
	out = slices.DeleteFunc(out, func(p *part) bool { return float64(p.count)*rasterM*rasterM < leastM2 })
	slices.SortStableFunc(out, func(a, b *part) int { return b.count - a.count })
	return out
}

// open reports whether cell k and its four neighbours are free.
func (r *remainder) open(k int) bool {
	i, j := k%r.nx, k/r.nx
	if i == 0 || j == 0 || i == r.nx-1 || j == r.ny-1 {
		return false
	}
	return r.label[k] != 0 && r.label[k-1] != 0 && r.label[k+1] != 0 && r.label[k-r.nx] != 0 && r.label[k+r.nx] != 0
}

func (r *remainder) flood(k int, id int32, core []bool) *part {
	p := &part{remainder: r, id: id, bound: orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}}
	stack := []int{k}
	r.label[k] = id
	for len(stack) > 0 {
		k := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		p.take(k)
		for _, n := range [4]int{k - 1, k + 1, k - r.nx, k + r.nx} {
			if core[n] && r.label[n] == -1 {
				r.label[n] = id
				stack = append(stack, n)
			}
		}
	}
	return p
}

// take counts cell k.
func (p *part) take(k int) {
	p.count++
	c := orb.Point{p.x0 + rasterM*(float64(k%p.nx)+0.5), p.y0 + rasterM*(float64(k/p.nx)+0.5)}
	p.bound = p.bound.Union(orb.Bound{Min: c, Max: c}.Pad(rasterM / 2))
}

// widen gives a part back the cells at its rim that opening took.
func (r *remainder) widen(p *part) {
	var rim []int
	for k, l := range r.label {
		if l != -1 {
			continue
		}
		i, j := k%r.nx, k/r.nx
		if i > 0 && r.label[k-1] == p.id || i < r.nx-1 && r.label[k+1] == p.id || j > 0 && r.label[k-r.nx] == p.id || j < r.ny-1 && r.label[k+r.nx] == p.id {
			rim = append(rim, k)
		}
	}
	for _, k := range rim {
		r.label[k] = p.id
		p.take(k)
	}
}

// at is the label of the cell at a place.
func (r *remainder) at(x, y float64) int32 {
	i, j := int(math.Floor((x-r.x0)/rasterM)), int(math.Floor((y-r.y0)/rasterM))
	if i < 0 || j < 0 || i >= r.nx || j >= r.ny {
		return 0
	}
	return r.label[j*r.nx+i]
}

// region is the part as ground to fit to, as fine as the raster.
func (p *part) region() *region {
	return &region{
		bound: p.bound,
		holds: func(y float64, xs []float64, in []bool) {
			for i, x := range xs {
				in[i] = p.at(x, y) == p.id
			}
		},
		near: func(q orb.Point, d float64) bool {
			for k := range 16 {
				sin, cos := math.Sincos(math.Pi / 4 * float64(k))
				r := d * float64(1+k/8) / 2
				if p.at(q[0]+r*cos, q[1]+r*sin) == p.id {
					return true
				}
			}
			return false
		},
	}
}

// holds reports whether a place belongs to the part: free, and in a cell of it
// or beside one.
func (p *part) holds(q orb.Point) bool {
	for k := range 9 {
		if p.at(q[0]+rasterM*float64(k%3-1), q[1]+rasterM*float64(k/3-1)) == p.id {
			return !p.taken(q)
		}
	}
	return false
}

// inside cuts lines to the area and to a part of it.
type inside struct {
	part   *part
	ground *ground
}

func (c *inside) cut(line []orb.Point, snap func(cut, dir orb.Point) orb.Point) (out [][]orb.Point) {
	for _, piece := range c.ground.cut(line, snap) {
		out = append(out, split(piece, c.part.holds, snap)...)
	}
	return out
}

// outside cuts a part out of lines.
type outside struct{ part *part }

func (c *outside) cut(line []orb.Point, snap func(cut, dir orb.Point) orb.Point) [][]orb.Point {
	return split(line, func(p orb.Point) bool { return !c.part.holds(p) }, snap)
}

// stay leaves a cut where it is.
func stay(cut, _ orb.Point) orb.Point { return cut }

// split cuts a line to where a condition holds, looked at every half metre and
// found to a tenth of a millimetre by halving.
func split(line []orb.Point, holds func(orb.Point) bool, snap func(cut, dir orb.Point) orb.Point) (out [][]orb.Point) {
	const stepM, halvings = 0.5, 13
	in := holds(line[0])
	var piece []orb.Point
	if in {
		piece = append(piece, line[0])
	}
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		n := max(1, int(math.Ceil(distM(a, b)/stepM)))
		for k := 1; k <= n; k++ {
			lo, hi := float64(k-1)/float64(n), float64(k)/float64(n)
			if holds(along(a, b, hi)) == in {
				continue
			}
			for range halvings {
				if mid := (lo + hi) / 2; holds(along(a, b, mid)) == in {
					lo = mid
				} else {
					hi = mid
				}
			}
			if in { // the last place that holds, and the first
				hi = lo
			}
			d := distM(a, b)
			p := snap(along(a, b, hi), orb.Point{-(b[1] - a[1]) / d, (b[0] - a[0]) / d})
			if piece = append(piece, p); in {
				out = append(out, piece)
				piece = nil
			}
			in = !in
		}
		if in {
			piece = append(piece, b)
		}
	}
	if len(piece) > 1 {
		out = append(out, piece)
	}
	return slices.DeleteFunc(out, func(p []orb.Point) bool { return lengthM(p) < shortestM })
}
