package polygon

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"

	"hemrow/geo"
)

// toGeom hands a polygon to the overlay library.
func toGeom(p orb.Polygon) geom.Polygon {
	rings := make([][]float64, len(p))
	for k, r := range p {
		rings[k] = flat(r)
	}
	return geom.NewPolygonXY(rings...)
}

func flat(pts []orb.Point) []float64 {
	xy := make([]float64, 0, 2*len(pts))
	for _, v := range pts {
		xy = append(xy, v[0], v[1])
	}
	return xy
}

func toMulti(mp orb.MultiPolygon) geom.Geometry {
	ps := make([]geom.Polygon, len(mp))
	for i, p := range mp {
		ps[i] = toGeom(p)
	}
	return geom.NewMultiPolygon(ps).AsGeometry()
}

// fromGeom takes the areas out of an overlay's result, in an order and with
// start vertices that do not depend on the library: rings start at their
// lowest vertex, holes and parts are sorted by it.
func fromGeom(g geom.Geometry) (orb.MultiPolygon, error) {
	var mp orb.MultiPolygon
	switch g.Type() {
	case geom.TypePolygon:
		if !g.IsEmpty() {
			mp = orb.MultiPolygon{fromPolygon(g.MustAsPolygon())}
		}
	case geom.TypeMultiPolygon:
		m := g.MustAsMultiPolygon()
		for i := range m.NumPolygons() {
			mp = append(mp, fromPolygon(m.PolygonN(i)))
		}
	case geom.TypeGeometryCollection:
		c := g.MustAsGeometryCollection()
		for i := range c.NumGeometries() {
			part, err := fromGeom(c.GeometryN(i))
			if err != nil {
				return nil, err
			}
			mp = append(mp, part...)
		}
	case geom.TypePoint, geom.TypeMultiPoint, geom.TypeLineString, geom.TypeMultiLineString:
		// where areas only touch; no ground
	default:
		return nil, fmt.Errorf("overlay returned %s", g.Type())
	}
	slices.SortStableFunc(mp, func(a, b orb.Polygon) int { return comparePoints(a[0][0], b[0][0]) })
	return mp, nil
}

func fromPolygon(g geom.Polygon) orb.Polygon {
	var p orb.Polygon
	for k, s := range g.Coordinates() {
		r := make(orb.Ring, s.Length())
		for i := range r {
			xy := s.GetXY(i)
			r[i] = orb.Point{xy.X, xy.Y}
		}
		if a := SignedAreaM2(r); (a < 0) == (k == 0) {
			slices.Reverse(r)
		}
		p = append(p, fromLowest(r))
	}
	slices.SortFunc(p[1:], func(a, b orb.Ring) int { return comparePoints(a[0], b[0]) })
	return p
}

// fromLowest turns a closed ring so that it starts at its lowest, then
// leftmost vertex.
func fromLowest(r orb.Ring) orb.Ring {
	n := len(r) - 1
	low := 0
	for i := range n {
		if comparePoints(r[i], r[low]) < 0 {
			low = i
		}
	}
	out := make(orb.Ring, 0, n+1)
	out = append(out, r[low:n]...)
	return append(append(out, r[:low]...), r[low])
}

func comparePoints(a, b orb.Point) int {
	if a[1] != b[1] {
		return sign(a[1] - b[1])
	}
	return sign(a[0] - b[0])
}

func reversed(r orb.Ring) orb.Ring {
	out := slices.Clone(r)
	slices.Reverse(out)
	return out
}

// symmetric is the ground in exactly one of a and b.
func symmetric(a orb.MultiPolygon, b orb.Polygon) (orb.MultiPolygon, error) {
	g, err := geom.SymmetricDifference(toMulti(a), toGeom(b).AsGeometry())
	if err != nil {
		return nil, err
	}
	return fromGeom(g)
}

// union is the ground in any of ps. The overlap of many joined pairwise is
// left to the library.
func union(ps ...orb.Polygon) (orb.MultiPolygon, error) {
	gs := make([]geom.Geometry, len(ps))
	for i, p := range ps {
		gs[i] = toGeom(p).AsGeometry()
	}
	g, err := geom.UnionMany(gs)
	if err != nil {
		return nil, err
	}
	return fromGeom(g)
}

// OverlapAreaM2 is the area in m² that two polygons without faults share.
func OverlapAreaM2(a, b orb.Polygon) (float64, error) { //unit:m2
	if len(a) == 0 || len(b) == 0 || !a.Bound().Intersects(b.Bound()) {
		return 0, nil
	}
	g, err := geom.Intersection(toGeom(a).AsGeometry(), toGeom(b).AsGeometry())
	if err != nil {
		return 0, err
	}
	mp, err := fromGeom(g)
	return TotalAreaM2(mp), err
}

// Difference is the ground of a that lies in none of b. All must be free of
// faults; b may overlap one another. The result has outer rings
// counter-clockwise, holes clockwise, and is empty if nothing is left.
//
// Verified on every call, to an error otherwise: every part is free of
// faults, no vertex lies outside a or inside one of b by more than OverlayM,
// and the area of the difference and that of the intersection, found by a
// second overlay, add up to the area of a within OverlayM times the
// perimeters.
func Difference(a orb.Polygon, b []orb.Polygon) (orb.MultiPolygon, error) {
	for _, p := range append([]orb.Polygon{a}, b...) {
		if f := Faults(p); len(f) > 0 {
			return nil, fmt.Errorf("difference of a faulty polygon: %s", f[0])
		}
	}
	var near []orb.Polygon
	for _, p := range b {
		if p.Bound().Intersects(a.Bound()) {
			near = append(near, p)
		}
	}
	if len(near) == 0 {
		return orb.MultiPolygon{normal(a)}, nil
	}
	return overlayDifference(a, near)
}

// normal is a copy of p with the usual directions.
func normal(p orb.Polygon) orb.Polygon {
	q := p.Clone()
	for k, r := range q {
		if a := SignedAreaM2(r); (a < 0) == (k == 0) {
			slices.Reverse(r)
		}
	}
	return q
}

func overlayDifference(a orb.Polygon, b []orb.Polygon) (orb.MultiPolygon, error) {
	u, err := union(b...)
	if err != nil {
		return nil, err
	}
	g, err := geom.Difference(toGeom(a).AsGeometry(), toMulti(u))
	if err != nil {
		return nil, err
	}
	d, err := fromGeom(g)
	if err != nil {
		return nil, err
	}
	d = dropDust(d)
	return d, verifyDifference(a, u, b, d)
}

// dropDust leaves out parts thinner than rounding, which overlays of nearly
// coincident edges leave behind.
func dropDust(mp orb.MultiPolygon) orb.MultiPolygon {
	return slices.DeleteFunc(mp, func(p orb.Polygon) bool { return open(p[0]).widthM() <= geo.OverlayM })
}

func verifyDifference(a orb.Polygon, u orb.MultiPolygon, b []orb.Polygon, d orb.MultiPolygon) error {
	g, err := geom.Intersection(toGeom(a).AsGeometry(), toMulti(u))
	if err != nil {
		return err
	}
	both, err := fromGeom(g)
	if err != nil {
		return err
	}
	slackM2 := geo.OverlayM * (1 + PerimeterM(a))
	for _, p := range b {
		slackM2 += geo.OverlayM * PerimeterM(p)
	}
	if miss := AreaM2(a) - TotalAreaM2(d) - TotalAreaM2(both); math.Abs(miss) > slackM2 {
		return fmt.Errorf("difference cannot be confirmed: %g m2 do not add up", miss)
	}
	if err := soundParts(d); err != nil {
		return err
	}
	edge := NewIndex(a...)
	cuts, bounds := make([]*Index, len(b)), make([]orb.Bound, len(b))
	for i, q := range b {
		cuts[i], bounds[i] = NewIndex(q...), q.Bound()
	}
	for _, p := range d {
		for _, r := range p {
			for _, v := range r {
				if Locate(a, v) == Outside && !nearer(edge, v, geo.OverlayM) {
					return errors.New("difference cannot be confirmed: it leaves the area")
				}
				for i, q := range b {
					// most vertices lie on the boundary of a cut, which the
					// index tells sooner than the whole polygon
					if bounds[i].Contains(v) && !nearer(cuts[i], v, geo.OverlayM) && Locate(q, v) == Inside {
						return errors.New("difference cannot be confirmed: it reaches into what was to be cut")
					}
				}
			}
		}
	}
	return nil
}

func nearer(ix *Index, p orb.Point, distM float64) bool {
	_, d := ix.NearestM(p)
	return d <= distM
}

// soundParts is an error if an overlay's result has faults. Vertices that
// rounding put within CoincidentM are not among them: they differ.
func soundParts(mp orb.MultiPolygon) error {
	for _, p := range mp {
		if f := Faults(p); len(f) > 0 {
			return fmt.Errorf("result cannot be confirmed: %s", f[0])
		}
	}
	return nil
}

// Union is the ground in any of ps, which must be free of faults, as parts
// that do not overlap. Verified to an error otherwise: parts free of faults,
// no vertex of ps outside by more than OverlayM, and an area neither above
// the sum nor below the largest.
func Union(ps []orb.Polygon) (orb.MultiPolygon, error) {
	var sum, most, per float64
	for _, p := range ps {
		if f := Faults(p); len(f) > 0 {
			return nil, fmt.Errorf("union of a faulty polygon: %s", f[0])
		}
		a := AreaM2(p)
		sum, most, per = sum+a, max(most, a), per+PerimeterM(p)
	}
	u, err := union(ps...)
	if err != nil {
		return nil, err
	}
	if err := soundParts(u); err != nil {
		return nil, err
	}
	if a := TotalAreaM2(u); a > sum+geo.OverlayM*per || a < most-geo.OverlayM*per {
		return nil, fmt.Errorf("union cannot be confirmed: area %g m2", a)
	}
	var rings []orb.Ring
	for _, q := range u {
		rings = append(rings, q...)
	}
	edge := NewIndex(rings...)
	for _, p := range ps {
		for _, r := range p {
			for _, v := range r {
				if !inAny(u, v) && !nearer(edge, v, geo.OverlayM) {
					return nil, fmt.Errorf("union cannot be confirmed: (%.3f, %.3f) is missing", v[0], v[1])
				}
			}
		}
	}
	return u, nil
}
