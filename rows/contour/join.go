package contour

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/polygon"
)

const (
	joinRatio = 0.32 // of the spacing: ends nearer than this may be one row
	joinDeg   = 25   // and turn by no more
	bendM     = 8    // of each row given to the curve between them, at most
)

// join merges pieces whose ends meet, so that one row does not count as three:
// ends on one place as they are, and ends near each other by a curve, if that
// keeps the least radius. Pieces are taken in order; each end takes the nearest
// that fits. The ends of one piece are never joined: a ring is no row.
func join(rows []Row, lim *Limits) []Row {
	rows = slices.Clone(rows)
	for i := range rows {
		for rows[i].Line != nil && extend(rows, i, lim) {
		}
	}
	return slices.DeleteFunc(rows, func(r Row) bool { return r.Line == nil })
}

// extend joins the piece that fits best to row i, whose line is taken away.
func extend(rows []Row, i int, lim *Limits) bool {
	best, bestM, line := -1, math.Inf(1), orb.LineString(nil)
	for k := range rows {
		if k == i || rows[k].Line == nil {
			continue
		}
		for turn := range 4 {
			a, b := turned(rows[i].Line, turn&1 != 0), turned(rows[k].Line, turn&2 != 0)
			d := distM(a.end(), b.start())
			if d >= bestM || d > joinRatio*lim.SpacingM {
				continue
			}
			l, bridge := merge(a, b, d, lim)
			if l == nil || meets(bridge, rows, i, k, lim.SpacingM/2) {
				continue
			}
			best, bestM, line = k, d, l
			if turn&1 != 0 {
				slices.Reverse(line)
			}
		}
	}
	if best < 0 {
		return false
	}
	rows[i].Line, rows[best].Line = line, nil
	return true
}

// meets reports whether a bridge between rows i and k comes nearer than d to
// another row.
func meets(bridge orb.LineString, rows []Row, i, k int, d float64) bool {
	if len(bridge) < 2 {
		return false
	}
	box := bridge.Bound().Pad(d)
	for n, r := range rows {
		if n == i || n == k {
			continue
		}
		for v := 1; v < len(r.Line); v++ {
			if !box.Intersects(orb.MultiPoint{r.Line[v-1], r.Line[v]}.Bound()) {
				continue
			}
			for w := 1; w < len(bridge); w++ {
				if polygon.SegmentDistanceM(bridge[w-1], bridge[w], r.Line[v-1], r.Line[v]) < d {
					return true
				}
			}
		}
	}
	return false
}

// way is a line in one of its two directions.
type way struct {
	line orb.LineString
	back bool
}

func turned(l orb.LineString, back bool) way { return way{l, back} }

func (w way) start() orb.Point {
	if w.back {
		return w.line[len(w.line)-1]
	}
	return w.line[0]
}

func (w way) end() orb.Point { return way{w.line, !w.back}.start() }

// copy is the line in the direction of the way.
func (w way) copy() orb.LineString {
	l := slices.Clone(w.line)
	if w.back {
		slices.Reverse(l)
	}
	return l
}

// merge is a followed by b, whose ends are d apart, with the curve that was put
// between; nil if they do not fit.
func merge(a, b way, d float64, lim *Limits) (line, bridge orb.LineString) {
	cosJoin := math.Cos(joinDeg * math.Pi / 180)
	p, q := newChain(a.copy()), newChain(b.copy())
	if len(p.m) < 2 || len(q.m) < 2 {
		return nil, nil
	}
	if d <= 10*geo.CoincidentM { // cut at one place, to rounding
		if turnCos(p.last(), q.first()) < cosJoin {
			return nil, nil
		}
		return slices.Concat(p.line, q.line[1:]), nil
	}
	// Both give way over some metres; a cubic in Hermite form runs between.
	cp, cq := min(bendM, p.lengthM()/2), min(bendM, q.lengthM()/2)
	head, rest := p.piece(0, p.lengthM()-cp), q.piece(cq, q.lengthM())
	if len(head) < 2 || len(rest) < 2 {
		return nil, nil
	}
	u, v := lastDir(head), firstDir(rest)
	if turnCos(u, v) < cosJoin || turnCos(u, unit(head[len(head)-1], rest[0])) < cosJoin {
		return nil, nil
	}
	curve := hermite(head[len(head)-1], rest[0], u, v)
	joint := newChain(slices.Concat(head[len(head)-2:], curve, rest[:2]))
	for _, k := range joint.bends(lim) {
		if k*lim.RadiusM > 1 {
			return nil, nil
		}
	}
	return slices.Concat(head, curve, rest), joint.line
}

func (c *chain) last() orb.Point  { return lastDir(c.line) }
func (c *chain) first() orb.Point { return firstDir(c.line) }

// lastDir and firstDir are the unit vectors of a line's last and first segment.
func lastDir(l orb.LineString) orb.Point  { return unit(l[len(l)-2], l[len(l)-1]) }
func firstDir(l orb.LineString) orb.Point { return unit(l[0], l[1]) }

func unit(a, b orb.Point) orb.Point {
	d := distM(a, b)
	return orb.Point{(b[0] - a[0]) / d, (b[1] - a[1]) / d}
}

func turnCos(u, v orb.Point) float64 { return u[0]*v[0] + u[1]*v[1] }

// hermite is points between p and q of the cubic that leaves p along u and
// comes to q along v.
func hermite(p, q, u, v orb.Point) orb.LineString {
	const everyM = 1.5 // 14 mm of chord error at 20 m of radius
	d := distM(p, q)
	n := max(2, int(math.Ceil(d/everyM)))
	out := make(orb.LineString, 0, n-1)
	for k := 1; k < n; k++ {
		t := float64(k) / float64(n)
		h0, h1, g0, g1 := (1+2*t)*(1-t)*(1-t), t*t*(3-2*t), t*(1-t)*(1-t), t*t*(t-1)
		out = append(out, orb.Point{
			h0*p[0] + h1*q[0] + d*(g0*u[0]+g1*v[0]),
			h0*p[1] + h1*q[1] + d*(g0*u[1]+g1*v[1]),
		})
	}
	return out
}
