package terrain

import (
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// Breaks adds to dst where the segment ab crosses the lines between cell
// centres. Those are straight in the raster's system and curved by less than a
// hair in the frame, see run.
func (g *Grid) Breaks(a, b orb.Point, dst []float64) []float64 {
	length := distM(a, b)
	if !(length >= geo.CoincidentM) || math.IsInf(length, 1) {
		return dst
	}
	from := len(dst)
	var room [32]run
	for _, r := range g.runs(a, b, room[:0]) {
		for l := g.lines(&r); ; {
			t, ok := l.next()
			if !ok {
				break
			}
			dst = append(dst, r.t0+t*(r.t1-r.t0))
		}
	}
	return spread(dst, from, length)
}

// spread keeps the shares from number from on rising and at least
// geo.CoincidentM apart, from the ends too.
func spread(ts []float64, from int, lengthM float64) []float64 {
	apart := geo.CoincidentM / lengthM
	last, n := 0.0, from
	for _, t := range ts[from:] {
		if t-last < apart || 1-t < apart {
			continue
		}
		ts[n], last = t, t
		n++
	}
	return ts[:n]
}

// run is a part of a segment that is straight in cells too: c0 and c1 are the
// cells at its ends, and left is the change of the cell for a metre to the
// left of the segment.
type run struct {
	t0, t1 float64
	c0, c1 orb.Point
	left   orb.Point
}

// runs adds to dst the runs of the segment ab inside the domain, beyond which
// nothing is covered.
//
// Each strays from the map by less than 3 geo.CoincidentM: over so short a way
// the map is c0 + (c1-c0) x + x (1-x) (α + β (1/2-x)), and runs are halved
// until |α|/4, seen at x = 1/2, and 3/16 |α + β/4|, seen at x = 1/4, are both
// below ε. Then |β| <= 38 ε, and the bend is at most |α|/4 + |β| √3/36 < 3 ε.
func (g *Grid) runs(a, b orb.Point, dst []run) []run {
	u0, v0, _ := g.cells.unit(a[0], a[1])
	u1, v1, _ := g.cells.unit(b[0], b[1])
	t0, t1 := clipUnit(u0, u1-u0, 0, 1)
	t0, t1 = clipUnit(v0, v1-v0, t0, t1)
	if !(t0 < t1) {
		return dst
	}
	l := distM(a, b)
	p := passage{
		m: g.cells, u: u0, v: v0, du: u1 - u0, dv: v1 - v0,
		east: -(b[1] - a[1]) / l, north: (b[0] - a[0]) / l,
		bend: geo.CoincidentM / g.spacingM,
	}
	return p.halve(run{t0: t0, t1: t1, c0: p.at(t0), c1: p.at(t1)}, 0, dst)
}

// clipUnit narrows t0..t1 to where x + t*d lies in -1..1.
func clipUnit(x, d, t0, t1 float64) (lo, hi float64) {
	if d == 0 {
		if x < -1 || x > 1 {
			return 1, 0
		}
		return t0, t1
	}
	lo, hi = (-1-x)/d, (1-x)/d
	if lo > hi {
		lo, hi = hi, lo
	}
	return max(t0, lo), min(t1, hi)
}

// passage is a segment on its way through the domain.
type passage struct {
	m            *cellMap
	u, v, du, dv float64
	east, north  float64 // the direction to the left
	bend         float64 // allowed, in cells
}

func (p *passage) at(t float64) (c orb.Point) {
	c[0], c[1] = p.m.cell(p.u+t*p.du, p.v+t*p.dv)
	return c
}

// bent reports whether the share x of the run, where the cell is c, lies too
// far from the straight line.
func (p *passage) bent(r *run, x float64, c orb.Point) bool {
	on := along(r.c0, r.c1, x)
	return math.Hypot(c[0]-on[0], c[1]-on[1]) > p.bend
}

// halve adds r, or its halves if it is bent.
func (p *passage) halve(r run, depth int, dst []run) []run {
	const deepest = 24 // 2²⁴ pieces of 1 m would go round the earth
	tm := (r.t0 + r.t1) / 2
	cm, east, north := p.m.jet(p.u+tm*p.du, p.v+tm*p.dv)
	if depth < deepest && (p.bent(&r, 0.5, cm) || p.bent(&r, 0.25, p.at((r.t0+tm)/2))) {
		dst = p.halve(run{t0: r.t0, t1: tm, c0: r.c0, c1: cm}, depth+1, dst)
		return p.halve(run{t0: tm, t1: r.t1, c0: cm, c1: r.c1}, depth+1, dst)
	}
	r.left = orb.Point{p.east*east[0] + p.north*north[0], p.east*east[1] + p.north*north[1]}
	return append(dst, r)
}

// lines is the lines between cell centres that a run crosses, in order.
type lines struct{ x, y ticks }

func (g *Grid) lines(r *run) lines {
	return lines{newTicks(r.c0[0], r.c1[0], g.cols-1), newTicks(r.c0[1], r.c1[1], g.rows-1)}
}

// next is the share of the run at the next line, or at a crossing of two.
func (l *lines) next() (share float64, ok bool) {
	share = l.x.share
	if l.y.share < share {
		share = l.y.share
	}
	if math.IsInf(share, 1) {
		return share, false
	}
	if l.x.share <= share {
		l.x.step()
	}
	if l.y.share <= share {
		l.y.step()
	}
	return share, true
}

// ticks are the whole numbers between two cells of a run, in its order, of
// those from 0 to most.
type ticks struct {
	share      float64 // of the run at the next, +Inf after the last
	from, each float64 // share for a cell
	at, by     float64
	left       int
}

func newTicks(from, to float64, most int) ticks {
	lo := max(0, math.Ceil(min(from, to)))
	hi := min(float64(most), math.Floor(max(from, to)))
	k := ticks{share: math.Inf(1), from: from, at: lo, by: 1}
	if to < from {
		k.at, k.by = hi, -1
	}
	if hi >= lo && to != from {
		k.left = int(hi-lo) + 1
		k.each = 1 / (to - from)
		k.share = (k.at - k.from) * k.each
	}
	return k
}

func (k *ticks) step() {
	k.at += k.by
	k.left--
	k.share = (k.at - k.from) * k.each
	if k.left == 0 {
		k.share = math.Inf(1)
	}
}

// pieces follows the runs from cell to cell.
func (g *Grid) pieces(a, b orb.Point, lengthM float64, dst []piece) []piece {
	w := gridWalk{g: g, lengthM: lengthM, apart: geo.CoincidentM / lengthM}
	var room [32]run
	runs := g.runs(a, b, room[:0])
	if len(runs) == 0 {
		return append(dst, piece{t1: 1})
	}
	for i := range runs {
		dst = w.follow(&runs[i], dst)
	}
	return w.add(1, dst)
}

// gridWalk is a walk along a segment. On the present run the cell at the share
// t is c + t*per; along and left are its changes for a metre of the frame.
type gridWalk struct {
	g           *Grid
	lengthM     float64
	apart       float64 // geo.CoincidentM as a share
	last        float64 // where the pieces added so far end
	c, per      orb.Point
	along, left orb.Point
}

func (w *gridWalk) follow(r *run, dst []piece) []piece {
	for i := range 2 {
		w.per[i] = (r.c1[i] - r.c0[i]) / (r.t1 - r.t0)
		w.c[i] = r.c0[i] - r.t0*w.per[i]
		w.along[i] = w.per[i] / w.lengthM
	}
	w.left = r.left
	dst = w.cut(r.t0, dst)
	for l := w.g.lines(r); ; {
		t, ok := l.next()
		if !ok {
			return w.cut(r.t1, dst)
		}
		dst = w.cut(r.t0+t*(r.t1-r.t0), dst)
	}
}

// cut ends a piece at the share t, unless it would be too short, or the last.
func (w *gridWalk) cut(t float64, dst []piece) []piece {
	if t-w.last < w.apart || 1-t < w.apart {
		return dst
	}
	return w.add(t, dst)
}

// add adds what lies up to the share t.
func (w *gridWalk) add(t float64, dst []piece) []piece {
	dst = append(dst, piece{t0: w.last, t1: t})
	w.last = t
	p := &dst[len(dst)-1]
	w.measure(p)
	n := p.parts(w.lengthM)
	if n == 1 {
		return dst
	}
	whole := *p
	dst = dst[:len(dst)-1]
	for k := range n {
		dst = append(dst, piece{t0: whole.part(k, n), t1: whole.part(k+1, n)})
		w.measure(&dst[len(dst)-1])
	}
	return dst
}

// measure fills in a piece, which lies in one patch. On the border of what is
// known, found to within slack, the patch of the known side decides.
func (w *gridWalk) measure(p *piece) {
	m := (p.t0 + p.t1) / 2
	col, row := w.c[0]+m*w.per[0], w.c[1]+m*w.per[1]
	i, j := math.Floor(col), math.Floor(row)
	half := (p.t1 - p.t0) / 2 * w.lengthM
	if w.fill(p, int(i), int(j), col-i, row-j, half) {
		return
	}
	s, t := col-i, row-j
	for _, di := range [2]int{0, beside(s, w.g.slack)} {
		for _, dj := range [2]int{0, beside(t, w.g.slack)} {
			s, t := s-float64(di), t-float64(dj)
			if (di != 0 || dj != 0) && w.stays(s, w.along[0]*half) && w.stays(t, w.along[1]*half) &&
				w.fill(p, int(i)+di, int(j)+dj, s, t, half) {
				return
			}
		}
	}
}

// stays reports whether s ± d lies in a patch.
func (w *gridWalk) stays(s, d float64) bool {
	d = math.Abs(d) - w.g.slack
	return s-d >= 0 && s+d <= 1
}

// fill is measure by the patch (i, j), with the middle at the fractions s and
// t of it. On a bilinear patch heights along a straight line are quadratic,
// rise and side linear.
func (w *gridWalk) fill(p *piece, i, j int, s, t, halfM float64) bool {
	if w.g.method == Bicubic && w.fillCubic(p, i, j, s, t, halfM) {
		return true
	}
	z, zc, zr, twist, ok := w.g.bilinear(i, j, s, t)
	if !ok {
		return false
	}
	a, l := &w.along, &w.left
	p.covered, p.zMid = true, z
	p.rise = [3]float64{zc*a[0] + zr*a[1], 2 * twist * halfM * a[0] * a[1], 0}
	p.side = [3]float64{zc*l[0] + zr*l[1], twist * halfM * (a[1]*l[0] + a[0]*l[1]), 0}
	return true
}

// fillCubic samples at the three points of Gauss and Legendre.
func (w *gridWalk) fillCubic(p *piece, i, j int, s, t, halfM float64) bool {
	var n net
	if !w.g.net(i, j, &n) {
		return false
	}
	z, rise, side := w.sample(&n, s, t)
	if z != z {
		return false
	}
	ds, dt := gaussAt*halfM*w.along[0], gaussAt*halfM*w.along[1]
	_, rise0, side0 := w.sample(&n, s-ds, t-dt)
	_, rise1, side1 := w.sample(&n, s+ds, t+dt)
	p.covered, p.zMid = true, z
	p.rise, p.side = parabola(rise0, rise, rise1), parabola(side0, side, side1)
	return true
}

func (w *gridWalk) sample(n *net, s, t float64) (z, rise, side float64) {
	z, zc, zr := n.at(s, t)
	return z, zc*w.along[0] + zr*w.along[1], zc*w.left[0] + zr*w.left[1]
}
