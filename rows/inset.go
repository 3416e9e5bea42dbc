package rows

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// segment is a straight piece of the boundary of the ground open to rows,
// directed so that the open ground lies on its left.
type segment struct{ p, q orb.Point }

// countMargin shrinks clearances when counting, so that the counted ground
// contains the exact one in spite of rounding: ten times the slack of the
// exact clip.
const countMargin = 10 * geo.ClearanceSlackM

// arcStep is the turn of one chord of a round corner when counting, 45
// degrees: most corners need one chord. Chords run inside the arc, so the
// counted ground gains at most r(1 - cos(step/2)), 0.46 m at 6 m, which costs
// less in exact clips than more chords cost in counting (BenchmarkSearch180).
const arcStep = math.Pi / 4

// insetter finds the boundary of the open ground: the part of each capsule's
// outline that lies in no other capsule, in the block and in no obstacle.
// It needs no topology: pieces are found one by one and only summed.
type insetter struct {
	st   *site
	keep []float64
	box  []orb.Bound // of the capsules
	near []int
	cuts []interval
	at   []float64
	done []disc // corners that were drawn
	// equal: all rings ask the same clearance. Then the way from a point of
	// the block to the far side of a ring's edge meets a nearer edge first,
	// and no far side is open.
	equal bool
	out   []segment
}

type disc struct {
	p orb.Point
	r float64
}

// boundary returns the segments for the clearances keep (by edge). The result
// belongs to the insetter.
func (in *insetter) boundary(st *site, keep []float64) []segment {
	in.st, in.keep, in.out, in.done = st, keep, in.out[:0], in.done[:0]
	in.box = in.box[:0]
	for i, e := range st.edges {
		b := orb.Bound{
			Min: orb.Point{min(e.a[0], e.b[0]), min(e.a[1], e.b[1])},
			Max: orb.Point{max(e.a[0], e.b[0]), max(e.a[1], e.b[1])},
		}
		in.box = append(in.box, b.Pad(keep[i]))
	}
	in.equal = true
	for i := range st.rings {
		in.equal = in.equal && keep[i] == keep[0]
	}
	for i := range st.edges {
		in.edgeSides(i)
		in.corner(i)
	}
	return in.out
}

// gather collects the edges whose capsules come near box, without edge skip.
func (in *insetter) gather(box orb.Bound, skip int) {
	in.near = in.near[:0]
	for j := range in.box {
		b := &in.box[j]
		if j != skip && box.Min[0] <= b.Max[0] && b.Min[0] <= box.Max[0] &&
			box.Min[1] <= b.Max[1] && b.Min[1] <= box.Max[1] {
			in.near = append(in.near, j)
		}
	}
}

// edgeSides adds the open parts of the two long sides of edge i's capsule, or
// of the edge itself where it has no clearance.
func (in *insetter) edgeSides(i int) {
	e := in.st.edges[i]
	l := math.Hypot(e.b[0]-e.a[0], e.b[1]-e.a[1])
	if l == 0 {
		return
	}
	in.gather(in.box[i], i)
	r := in.keep[i]
	nx, ny := -(e.b[1]-e.a[1])/l*r, (e.b[0]-e.a[0])/l*r
	left := segment{orb.Point{e.a[0] + nx, e.a[1] + ny}, orb.Point{e.b[0] + nx, e.b[1] + ny}}
	right := segment{orb.Point{e.b[0] - nx, e.b[1] - ny}, orb.Point{e.a[0] - nx, e.a[1] - ny}}
	switch {
	case r > 0:
		in.open(i, left)
		if !in.equal || i >= in.st.rings {
			in.open(i, right)
		}
	case i < in.st.rings:
		in.open(i, left) // the block lies on the left of its rings
	default:
		in.open(i, right)
	}
}

// open adds the parts of s, a side of edge i's capsule, that lie in no near
// capsule, in the block and in no obstacle.
func (in *insetter) open(i int, s segment) {
	dx, dy := s.q[0]-s.p[0], s.q[1]-s.p[1]
	l := math.Hypot(dx, dy)
	if l < geo.CoincidentM {
		return
	}
	x := axes{ax: dx / l, ay: dy / l, nx: -dy / l, ny: dx / l}
	u0, v := x.uv(s.p)
	in.cuts = in.cuts[:0]
	for _, j := range in.near {
		var t turned
		t.set(&in.st.edges[j], x, in.keep[j])
		if c, ok := t.capsule(v); ok {
			in.cuts = insertInterval(in.cuts, c)
		} else if t.r == 0 && (t.va <= v) != (t.vb <= v) {
			u := t.ua + (v-t.va)*t.slope
			in.cuts = insertInterval(in.cuts, interval{u, u})
		}
	}
	lo := u0
	for _, c := range append(in.cuts, interval{u0 + l, u0 + l}) {
		if hi := min(c.lo, u0+l); hi > lo {
			// asked on the open side, since the segment may be a ring's own edge
			if in.inside(x.xy((lo+hi)/2, v+geo.CoincidentM)) && !in.twin(i, x.xy((lo+hi)/2, v)) {
				in.out = append(in.out, segment{x.xy(lo, v), x.xy(hi, v)})
			}
		}
		lo = max(lo, c.hi)
	}
}

// corner adds the open arcs about the start of edge i, and about its end
// where no next edge starts there.
func (in *insetter) corner(i int) {
	e := in.st.edges[i]
	r := in.keep[i]
	if prev := in.sharing(i, e.a, -1); prev >= 0 {
		if in.keep[prev] == r && in.turnsInward(in.st.edges[prev], e, i) {
			return // the two capsules meet before the corner's circle
		}
		r = max(r, in.keep[prev])
	}
	in.arcs(e.a, r)
	if next := in.sharing(i, e.b, 1); next < 0 && e.a != e.b {
		in.arcs(e.b, in.keep[i])
	}
}

// turnsInward reports whether the open ground lies in the smaller angle of the
// corner from edge a to edge b, which is edge i.
func (in *insetter) turnsInward(a, b edge, i int) bool {
	cross := (a.b[0]-a.a[0])*(b.b[1]-b.a[1]) - (a.b[1]-a.a[1])*(b.b[0]-b.a[0])
	switch {
	case i < in.st.rings:
		return cross > 0 // the block lies on the left
	case in.st.areaOf(i) >= 0:
		return cross < 0
	}
	return false // open ground on both sides of a path
}

// sharing finds the neighbour of edge i in the given direction that shares
// point p with it, or -1.
func (in *insetter) sharing(i int, p orb.Point, step int) int {
	n := len(in.st.edges)
	if j := i + step; j >= 0 && j < n {
		if q := in.st.edges[j]; (step < 0 && q.b == p) || (step > 0 && q.a == p) {
			return j
		}
	}
	// the seam of a ring: its first edge starts where its last one ends
	for j := i; j >= 0 && j < n; j -= step {
		if q := in.st.edges[j]; j != i && ((step < 0 && q.b == p) || (step > 0 && q.a == p)) {
			return j
		}
	}
	return -1
}

// arcs adds the open parts of the circle of radius r about p, clockwise, as
// chords.
func (in *insetter) arcs(p orb.Point, r float64) {
	if r <= 0 || in.drawn(disc{p, r}) {
		return
	}
	in.gather(orb.Bound{Min: p, Max: p}.Pad(r), -1)
	in.at = in.at[:0]
	for _, j := range in.near {
		in.meet(p, r, j)
	}
	if len(in.at) == 0 {
		in.at = append(in.at, 0)
	}
	slices.Sort(in.at)
	in.at = append(in.at, in.at[0]+2*math.Pi)
	for k, from := range in.at[:len(in.at)-1] {
		to := in.at[k+1]
		if to == from {
			continue
		}
		if mid := circlePoint(p, r, (from+to)/2); in.clear(mid) && in.inside(mid) {
			in.chords(p, r, from, to)
		}
	}
}

// twin reports whether p, on the outline of edge i's capsule, also lies on that
// of an earlier edge: two obstacles, or a hole and an obstacle, that share a
// boundary. It counts once. A piece left out in error only tears the boundary,
// and then the exact clip decides.
func (in *insetter) twin(i int, p orb.Point) bool {
	for _, j := range in.near {
		if j < i && math.Abs(math.Sqrt(distance2(p, in.st.edges[j]))-in.keep[j]) < countMargin/2 {
			return true
		}
	}
	return false
}

// drawn reports whether the circle was drawn before, and notes it.
func (in *insetter) drawn(d disc) bool {
	for _, e := range in.done {
		if e.r == d.r && math.Abs(e.p[0]-d.p[0]) < countMargin/4 && math.Abs(e.p[1]-d.p[1]) < countMargin/4 {
			return true
		}
	}
	in.done = append(in.done, d)
	return false
}

func circlePoint(p orb.Point, r, phi float64) orb.Point {
	s, c := math.Sincos(phi)
	return orb.Point{p[0] + r*c, p[1] + r*s}
}

func (in *insetter) chords(p orb.Point, r, from, to float64) {
	n := int(math.Ceil((to - from) / arcStep))
	prev := circlePoint(p, r, from)
	for k := 1; k <= n; k++ {
		next := circlePoint(p, r, from+(to-from)*float64(k)/float64(n))
		in.out = append(in.out, segment{next, prev})
		prev = next
	}
}

// meet appends the angles at which the circle meets the outline of edge j's
// capsule: its two round ends and its two long sides.
func (in *insetter) meet(p orb.Point, r float64, j int) {
	e, rj := in.st.edges[j], in.keep[j]
	in.meetCircle(p, r, e.a, rj)
	if e.a == e.b {
		return
	}
	in.meetCircle(p, r, e.b, rj)
	dx, dy := e.b[0]-e.a[0], e.b[1]-e.a[1]
	l := math.Hypot(dx, dy)
	dx, dy = dx/l, dy/l
	across := (p[0]-e.a[0])*-dy + (p[1]-e.a[1])*dx // of p, left of the edge
	for _, side := range [2]float64{rj, -rj} {
		h := side - across
		if math.Abs(h) > r+countMargin {
			continue
		}
		var w float64 // half the chord; 0 where the side only touches
		if math.Abs(h) < r-countMargin {
			w = math.Sqrt(r*r - h*h)
		}
		for _, t := range [2]float64{w, -w} {
			in.at = append(in.at, math.Atan2(h*dx+t*dy, -h*dy+t*dx))
		}
	}
}

func (in *insetter) meetCircle(p orb.Point, r float64, q orb.Point, rq float64) {
	dx, dy := q[0]-p[0], q[1]-p[1]
	d := math.Hypot(dx, dy)
	if d == 0 || d > r+rq || d < math.Abs(r-rq) {
		return
	}
	c := (d*d + r*r - rq*rq) / (2 * d * r)
	if math.Abs(c) > 1 {
		return
	}
	mid, half := math.Atan2(dy, dx), math.Acos(c)
	in.at = append(in.at, math.Remainder(mid-half, 2*math.Pi), math.Remainder(mid+half, 2*math.Pi))
}

// clear reports whether p lies in none of the near capsules.
func (in *insetter) clear(p orb.Point) bool {
	for _, j := range in.near {
		if r := in.keep[j]; r > 0 && distance2(p, in.st.edges[j]) < (r-countMargin/2)*(r-countMargin/2) {
			return false
		}
	}
	return true
}

// distance2 is the squared distance from p to an edge.
func distance2(p orb.Point, e edge) float64 {
	dx, dy := e.b[0]-e.a[0], e.b[1]-e.a[1]
	px, py := p[0]-e.a[0], p[1]-e.a[1]
	if l2 := dx*dx + dy*dy; l2 > 0 {
		t := max(0, min(1, (px*dx+py*dy)/l2))
		px, py = px-t*dx, py-t*dy
	}
	return px*px + py*py
}

// inside reports whether p lies in the block and in no obstacle.
func (in *insetter) inside(p orb.Point) bool {
	if !oddCrossings(p, in.st.edges[:in.st.rings]) {
		return false
	}
	for _, a := range in.st.areas {
		if oddCrossings(p, in.st.edges[a.lo:a.hi]) {
			return false
		}
	}
	return true
}

func oddCrossings(p orb.Point, edges []edge) (odd bool) {
	for i := range edges {
		a, b := &edges[i].a, &edges[i].b
		if (a[1] <= p[1]) != (b[1] <= p[1]) &&
			p[0] < a[0]+(p[1]-a[1])/(b[1]-a[1])*(b[0]-a[0]) {
			odd = !odd
		}
	}
	return odd
}
