package rows

import (
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/polygon"
	"hemrow/rows/contour"
)

// opening cuts bent rows clear of edges, as the clip of straight rows does: every
// segment of a row keeps from an edge what a straight row of its direction would,
// exactly.
type opening struct {
	edges []edge
	index *polygon.Index
	mostM float64 // the widest clearance
	// keep is the clearance from edge i of a segment along the unit vector.
	keep func(i int, ax, ay float64) float64
	cuts []interval // scratch memory
}

func newOpening(edges []edge, mostM float64, keep func(i int, ax, ay float64) float64) *opening {
	segs := make([][2]orb.Point, len(edges))
	for i, e := range edges {
		segs[i] = [2]orb.Point{e.a, e.b}
	}
	return &opening{edges: edges, index: polygon.NewSegmentIndex(segs), mostM: mostM, keep: keep}
}

// opening is that of the site's borders and obstacles. Rows must lie in the block
// and in no obstacle, but for what their chords cut off at corners: where no
// clearance is asked, they keep a few chord errors.
func (st *site) opening() *opening {
	const few = 4 // by so many a row's end may be moved along a border
	cosSide, leastM := st.cosSide(), few*st.spec.Curving.ChordErrM
	return newOpening(st.edges, max(st.spec.HeadlandM, st.spec.SideM, st.spec.ObstacleM, leastM), func(i int, ax, ay float64) float64 {
		return max(leastM, st.keep(i, ax, ay, cosSide))
	})
}

// cut is what is left of rows, in their order.
func (o *opening) cut(rows []contour.Row) (out []contour.Row) {
	for _, r := range rows {
		var part orb.LineString
		flush := func() {
			if len(part) > 1 {
				out = append(out, contour.Row{Line: part, Number: r.Number, Zone: r.Zone})
			}
			part = nil
		}
		for i := 1; i < len(r.Line); i++ {
			a, b := r.Line[i-1], r.Line[i]
			lengthM := math.Hypot(b[0]-a[0], b[1]-a[1])
			if lengthM < geo.CoincidentM {
				continue
			}
			o.closed(a, b, lengthM)
			from := 0.0
			for _, c := range append(o.cuts, interval{lengthM, math.Inf(1)}) {
				if to := min(c.lo, lengthM); to-from > geo.CoincidentM {
					if len(part) == 0 {
						part = append(part, between(a, b, from/lengthM))
					}
					part = append(part, between(a, b, to/lengthM))
				}
				if c.lo < lengthM {
					flush()
				}
				from = max(from, c.hi)
			}
		}
		flush()
	}
	return out
}

// closed finds the intervals of the segment ab, by the distance from a, that
// lie too near to an edge.
func (o *opening) closed(a, b orb.Point, lengthM float64) {
	x := axes{ax: (b[0] - a[0]) / lengthM, ay: (b[1] - a[1]) / lengthM}
	x.nx, x.ny = -x.ay, x.ax
	u0, v := x.uv(a)
	o.cuts = o.cuts[:0]
	o.index.Search(orb.MultiPoint{a, b}.Bound().Pad(o.mostM), func(i int) bool {
		r := o.keep(i, x.ax, x.ay) - geo.ClearanceSlackM
		if r <= 0 {
			return true
		}
		var t turned
		t.set(&o.edges[i], x, r)
		if in, ok := t.capsule(v); ok && in.hi > u0 && in.lo < u0+lengthM {
			o.cuts = insertInterval(o.cuts, interval{in.lo - u0, in.hi - u0})
		}
		return true
	})
}

// between is the place at a share of the way from a to b, and the ends
// themselves at their shares.
func between(a, b orb.Point, share float64) orb.Point {
	switch {
	case share <= 0:
		return a
	case share >= 1:
		return b
	}
	return orb.Point{a[0] + share*(b[0]-a[0]), a[1] + share*(b[1]-a[1])}
}

// openGround is the ground that rows of some direction may use: the block less
// obstacles with their clearance and the lesser of headland and side clearance
// all round.
func (p *planner) openGround(i int, st *site) (orb.MultiPolygon, error) {
	least := min(p.Spec.HeadlandM, p.Spec.SideM)
	return p.ground(i, []polygon.Keep{{DistanceM: least, Lines: []orb.LineString{st.outerLine()}}})
}

// outerLine is the outer ring as a closed line.
func (st *site) outerLine() orb.LineString {
	l := make(orb.LineString, 0, st.outer+1)
	for _, e := range st.edges[:st.outer] {
		l = append(l, e.a)
	}
	return append(l, l[0])
}
