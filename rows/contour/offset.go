package contour

import (
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/polygon"
)

// Curve is a guide as a polyline, ready for exact distances and offsets. Left
// of its direction is positive. It is safe for concurrent reading.
type Curve struct {
	pts    []orb.Point // a closed one does not repeat its first
	closed bool
	dir    []orb.Point // of each segment, unit
	length []float64   // of each segment
	m      []float64   // chainage where each segment begins
	turn   []float64   // at the beginning of each segment, left positive; 0 at an end
	curv   []float64   // there, per metre
	groups []disc
	index  *polygon.Index
}

// disc holds a group of segments.
type disc struct {
	mid orb.Point
	r   float64
}

// groupSize is how many segments are passed over at once.
const groupSize = 8

// NewCurve takes a polyline as a guide; one that ends where it began is closed.
// Vertices within geo.CoincidentM of the one before are left out; fewer than
// two others give nil.
func NewCurve(line orb.LineString) *Curve {
	c := &Curve{}
	for _, p := range line {
		if n := len(c.pts); n == 0 || distM(c.pts[n-1], p) >= geo.CoincidentM {
			c.pts = append(c.pts, p)
		}
	}
	if n := len(c.pts); n > 3 && distM(c.pts[0], c.pts[n-1]) < geo.CoincidentM {
		c.pts, c.closed = c.pts[:n-1], true
	}
	if len(c.pts) < 2 {
		return nil
	}
	c.measure()
	return c
}

func (c *Curve) measure() {
	var segs [][2]orb.Point
	at := 0.0
	for i := range c.segments() {
		a, b := c.ends(i)
		d := distM(a, b)
		segs = append(segs, [2]orb.Point{a, b})
		c.dir = append(c.dir, orb.Point{(b[0] - a[0]) / d, (b[1] - a[1]) / d})
		c.length, c.m = append(c.length, d), append(c.m, at)
		at += d
	}
	c.turn, c.curv = make([]float64, len(segs)), make([]float64, len(segs))
	for i := range segs {
		if j := c.before(i); j >= 0 {
			u, v := c.dir[j], c.dir[i]
			c.turn[i] = math.Atan2(u[0]*v[1]-u[1]*v[0], u[0]*v[0]+u[1]*v[1])
			c.curv[i] = c.turn[i] / ((c.length[i] + c.length[j]) / 2)
		}
	}
	for i := 0; i < len(segs); i += groupSize {
		c.groups = append(c.groups, discOf(segs[i:min(len(segs), i+groupSize)]))
	}
	c.index = polygon.NewSegmentIndex(segs)
}

func discOf(segs [][2]orb.Point) (d disc) {
	b := orb.Bound{Min: segs[0][0], Max: segs[0][0]}
	for _, s := range segs {
		b = b.Extend(s[0]).Extend(s[1])
	}
	d.mid = b.Center()
	for _, s := range segs {
		d.r = max(d.r, distM(d.mid, s[0]), distM(d.mid, s[1]))
	}
	return d
}

func (c *Curve) segments() int {
	if c.closed {
		return len(c.pts)
	}
	return len(c.pts) - 1
}

func (c *Curve) ends(i int) (a, b orb.Point) { return c.pts[i], c.pts[(i+1)%len(c.pts)] }

// before is the segment that ends where segment i begins, -1 for none; after
// the one that begins where it ends.
func (c *Curve) before(i int) int {
	if i == 0 && !c.closed {
		return -1
	}
	return (i + c.segments() - 1) % c.segments()
}

func (c *Curve) after(i int) int {
	if i == c.segments()-1 && !c.closed {
		return -1
	}
	return (i + 1) % c.segments()
}

// Line is the polyline; a closed one repeats its first point.
func (c *Curve) Line() orb.LineString {
	line := append(orb.LineString{}, c.pts...)
	if c.closed {
		line = append(line, c.pts[0])
	}
	return line
}

// LengthM is the horizontal length.
func (c *Curve) LengthM() float64 {
	last := c.segments() - 1
	return c.m[last] + c.length[last]
}

// SignedM is the distance of p from the curve, exact to rounding, negative on
// its right, and the chainage of the nearest place.
func (c *Curve) SignedM(p orb.Point) (distM, chainageM float64) {
	i, d := c.index.NearestM(p)
	a := c.pts[i]
	x := (p[0]-a[0])*c.dir[i][0] + (p[1]-a[1])*c.dir[i][1]
	u := c.dir[i]
	// At a corner the side is told by the mean of both directions.
	if j := c.before(i); x <= 0 && j >= 0 {
		u = orb.Point{u[0] + c.dir[j][0], u[1] + c.dir[j][1]}
	} else if j := c.after(i); x >= c.length[i] && j >= 0 {
		_, a = c.ends(i)
		u = orb.Point{u[0] + c.dir[j][0], u[1] + c.dir[j][1]}
	}
	chainageM = c.m[i] + max(0, min(c.length[i], x))
	if u[0]*(p[1]-a[1])-u[1]*(p[0]-a[0]) < 0 {
		return -d, chainageM
	}
	return d, chainageM
}

// Offset is a piece of the curve at one distance from a guide.
type Offset struct {
	Line orb.LineString
	// CurvPerM is the curvature at each vertex, that of the guide carried over
	// by 1/R - d, in the guide's direction, left positive; infinite at a corner
	// where the guide was nearer elsewhere.
	CurvPerM []float64 //unit:1/m
	Closed   bool
}

// Offset is the places at the distance dM from the curve, on its left if dM is
// positive: straight beside its segments, round about its corners on the outer
// side, and cut off wherever any part of the curve is nearer. There is nothing
// around the ends. Vertices lie at that distance to rounding (1e-9 m); arcs are
// within errM of their chords. Pieces run with the guide, in its order; dM = 0
// gives the guide.
func (c *Curve) Offset(dM, errM float64) []Offset {
	if !(errM > 0) || math.IsNaN(dM) || math.IsInf(dM, 0) {
		return nil
	}
	if dM == 0 {
		return []Offset{c.itself()}
	}
	return newShift(c, dM, errM).run()
}

func (c *Curve) itself() Offset {
	o := Offset{Line: c.Line(), Closed: c.closed}
	o.CurvPerM = append(o.CurvPerM, c.curv...)
	if c.closed {
		o.CurvPerM = append(o.CurvPerM, c.curv[0])
	} else {
		o.CurvPerM = append(o.CurvPerM, 0)
	}
	return o
}

// shift is the work of one offset.
type shift struct {
	*Curve
	d, side, err              float64
	left                      []span // of the element at hand
	out                       []Offset
	firstElement, lastElement int // corner i is 2i, segment i is 2i+1
}

// span is a part of an element, by shares.
type span struct{ from, to float64 }

func newShift(c *Curve, dM, errM float64) *shift {
	return &shift{Curve: c, d: math.Abs(dM), side: math.Copysign(1, dM), err: errM}
}

// run goes along the guide: the corner before each segment, then the segment.
func (s *shift) run() []Offset {
	for i := range s.segments() {
		if s.before(i) >= 0 && s.turn[i]*s.side < 0 {
			s.corner(i)
		}
		s.straight(i)
	}
	return s.finish()
}

func (s *shift) normal(i int) orb.Point {
	return orb.Point{-s.side * s.dir[i][1], s.side * s.dir[i][0]}
}

// carried is the guide's curvature at vertex i, at the distance of the offset.
func (s *shift) carried(i int) float64 {
	if i < 0 {
		return 0
	}
	k := s.curv[i]
	den := 1 - k*s.d*s.side
	if den <= 0 {
		return math.Inf(1)
	}
	return k / den
}

// straight keeps what is left of the parallel to segment i.
func (s *shift) straight(i int) {
	n, length := s.normal(i), s.length[i]
	a := orb.Point{s.pts[i][0] + s.d*n[0], s.pts[i][1] + s.d*n[1]}
	u := s.dir[i]
	s.left = append(s.left[:0], span{0, length})
	prev, next := s.before(i), s.after(i)
	skipPrev, skipNext := s.mitre(i, prev, i, false), next < 0 || s.mitre(i, next, next, true)
	mid := orb.Point{a[0] + u[0]*length/2, a[1] + u[1]*length/2}
	s.near(mid, length/2, func(j int) bool {
		if j == i || (j == prev && skipPrev) || (j == next && skipNext) || s.behind(s.pts[i], n, n, j) {
			return true
		}
		lo, hi := s.capsule(a, u, j)
		s.remove(lo, hi)
		return len(s.left) > 0
	})
	for _, p := range s.left {
		if p.to-p.from < geo.CoincidentM {
			continue
		}
		s.add(2*i+1, orb.Point{a[0] + u[0]*p.from, a[1] + u[1]*p.from}, s.carried(i))
		s.add(-1, orb.Point{a[0] + u[0]*p.to, a[1] + u[1]*p.to}, s.carried(next))
	}
}

// mitre cuts the parallel of segment i at its neighbour j, whose common vertex
// is that before segment v: on the inner side by d tan(turn/2), where both
// parallels meet; on the outer side nothing. It reports whether that was all
// there is to do about the neighbour.
func (s *shift) mitre(i, j, v int, atEnd bool) bool {
	if j < 0 || s.turn[v]*s.side <= 0 {
		return true
	}
	cut := s.d * math.Tan(math.Abs(s.turn[v])/2)
	if cut > s.length[i] || cut > s.length[j] {
		return false
	}
	if atEnd {
		s.remove(s.length[i]-cut, math.Inf(1))
	} else {
		s.remove(math.Inf(-1), cut)
	}
	return true
}

// near visits the segments that may be nearer than d to a place within r of
// mid, until visit returns false.
func (s *shift) near(mid orb.Point, r float64, visit func(j int) bool) {
	for g := range s.groups {
		reach := s.groups[g].r + r + s.d
		dx, dy := mid[0]-s.groups[g].mid[0], mid[1]-s.groups[g].mid[1]
		if dx*dx+dy*dy >= reach*reach {
			continue
		}
		for j := g * groupSize; j < min(s.segments(), (g+1)*groupSize); j++ {
			half := s.length[j] / 2
			x := mid[0] - s.pts[j][0] - half*s.dir[j][0]
			y := mid[1] - s.pts[j][1] - half*s.dir[j][1]
			reach := half + r + s.d
			if x*x+y*y < reach*reach && !visit(j) {
				return
			}
		}
	}
}

// behind reports whether segment j can be nearer to no place at d from q, in
// any direction from n to m: a point w is nearer than d to q + d n only if
// n (w - q) > |w - q|²/2d > 0.
func (s *shift) behind(q, n, m orb.Point, j int) bool {
	a, b := s.ends(j)
	ax, ay, bx, by := a[0]-q[0], a[1]-q[1], b[0]-q[0], b[1]-q[1]
	return max(n[0]*ax+n[1]*ay, n[0]*bx+n[1]*by, m[0]*ax+m[1]*ay, m[0]*bx+m[1]*by) <= 0
}

// capsule is the part of the line a + t u that is nearer than d to segment j.
func (s *shift) capsule(a, u orb.Point, j int) (lo, hi float64) {
	return capsule(a, u, s.pts[j], s.dir[j], s.length[j], s.d)
}

// capsule is the part lo..hi of the line a + t u, u unit, that is nearer than r
// to the segment from c along v for length: one interval, since a capsule is
// convex; lo >= hi for none. It is made of what lies in the two discs and in
// the strip between.
func capsule(a, u, c, v orb.Point, length, r float64) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	x, y := (a[0]-c[0])*v[0]+(a[1]-c[1])*v[1], v[0]*(a[1]-c[1])-v[1]*(a[0]-c[0])
	dx, dy := u[0]*v[0]+u[1]*v[1], v[0]*u[1]-v[1]*u[0]
	for _, x0 := range [2]float64{x, x - length} {
		b := x0*dx + y*dy
		off := x0*dy - y*dx // distance of the line from the centre
		if w := r*r - off*off; w > 0 {
			w = math.Sqrt(w)
			lo, hi = min(lo, -b-w), max(hi, -b+w)
		}
	}
	t0, t1 := slab(x, dx, 0, length)
	t2, t3 := slab(y, dy, -r, r)
	if t0, t1 = max(t0, t2), min(t1, t3); t0 < t1 {
		lo, hi = min(lo, t0), max(hi, t1)
	}
	return lo, hi
}

// slab is where x + t dx lies between two bounds.
func slab(x, dx, from, to float64) (t0, t1 float64) {
	if dx == 0 {
		if x > from && x < to {
			return math.Inf(-1), math.Inf(1)
		}
		return math.Inf(1), math.Inf(-1)
	}
	t0, t1 = (from-x)/dx, (to-x)/dx
	return min(t0, t1), max(t0, t1)
}

// remove takes lo..hi from what is left.
func (s *shift) remove(lo, hi float64) { s.left = subtract(s.left, lo, hi) }

func subtract(left []span, lo, hi float64) []span {
	if !(lo < hi) {
		return left
	}
	n := len(left)
	for _, p := range left[:n:n] {
		if p.from < lo {
			left = append(left, span{p.from, min(p.to, lo)})
		}
		if p.to > hi {
			left = append(left, span{max(p.from, hi), p.to})
		}
	}
	return append(left[:0], left[n:]...)
}
