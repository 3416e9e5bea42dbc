package polygon

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// Options of a repair.
type Options struct {
	// SplitCrossings splits an outline that truly crosses itself into the
	// parts of its even-odd interior instead of refusing it.
	SplitCrossings bool
}

// Repair returns the ground that p means as sound polygons: finite, closed,
// simple, with area, outer rings counter-clockwise, holes clockwise and
// inside. Usually that is one part; touching rings, islands in holes and
// asked-for splits make more. Whatever was changed is listed in fixes; if
// nothing was, the part is p itself, sharing its rings.
//
// What is mended and what is refused:
//   - an open ring is closed if the gap is below 1 m or three of its median
//     sides, else refused with the gap;
//   - repeated vertices (1 µm; 5 mm from last to first) and zero-width spikes
//     are dropped;
//   - of a log, the vertices of a standstill become one, and an end that runs
//     on past the start by up to 5 m, crossing or beside it, is dropped;
//   - a loop where the ring crosses itself is dropped if it is narrower than
//     1 m on average (2 area / perimeter) and all such loops together are
//     below 1 % of the area; otherwise the ring is refused with both edges
//     and the crossing, or split if asked;
//   - a ring touching itself is taken apart into outline and holes, or into
//     parts, which loses nothing;
//   - overlapping holes are joined; a hole in a hole becomes a part;
//   - a hole over the edge is cut out of the outline if what lies beyond is
//     as small as a loop may be, else refused; so is a hole outside.
//
// The result is checked by [Faults] and, where the rings were rebuilt, by an
// independent library; a result that is not sound is an error. Errors are
// *[Refusal].
func Repair(p orb.Polygon, opts Options) (parts []orb.Polygon, fixes []Fix, err error) {
	if len(p) == 0 {
		return nil, nil, refuse(place(TooFewPoints, 0, 0, orb.Point{}), "", "polygon has no ring")
	}
	m := mender{opts: opts}
	g, err := m.outline(p[0])
	if err != nil {
		return nil, nil, err
	}
	for k := 1; k < len(p); k++ {
		if err := m.hole(&g, k, p[k]); err != nil {
			return nil, nil, err
		}
	}
	parts, err = m.assemble(g)
	if err != nil {
		return nil, nil, err
	}
	if len(m.fixes) == 0 {
		return []orb.Polygon{p}, nil, nil
	}
	if err := m.verify(parts); err != nil {
		return nil, nil, err
	}
	slices.SortStableFunc(m.fixes, func(a, b Fix) int { return a.Ring - b.Ring })
	return parts, m.fixes, nil
}

// mender carries one repair.
type mender struct {
	opts    Options
	fixes   []Fix
	rebuilt bool // rings were taken apart or overlaid
}

// ground is what has been found so far: outlines with the holes their own
// ring made, and the holes of the file.
type ground struct {
	outers []shape
	holes  []numbered
}

// shape is an outline with holes.
type shape struct {
	outer ring
	holes []ring
}

// numbered is a hole and the ring of the file it came from.
type numbered struct {
	*solid
	number int
}

func (m *mender) fix(k FixKind, ring, vertex int, at orb.Point, value float64, unit string) { //unit:value is in unit
	m.fixes = append(m.fixes, Fix{k, ring, vertex, at, value, unit, 0})
}

func (m *mender) outline(r orb.Ring) (g ground, err error) {
	v, err := m.clean(0, r)
	if err != nil {
		return g, err
	}
	if v.len() < 3 {
		return g, refuse(place(TooFewPoints, 0, 0, first(r)), "draw the outline again",
			"outline has %d different vertices, at least 3 are needed", v.len())
	}
	if v.flat() {
		return g, refuse(place(ZeroArea, 0, v.src[0], v.pt[0]), "draw the outline again", "outline has no area")
	}
	g.outers, err = m.resolve(0, v, 0)
	return g, err
}

func (m *mender) hole(g *ground, k int, r orb.Ring) error {
	v, err := m.clean(k, r)
	if err != nil {
		return err
	}
	if !v.usable() {
		m.fix(FixHoleDropped, k, 0, first(r), 0, "m2")
		return nil
	}
	shapes, err := m.resolve(k, v, 0)
	if err != nil {
		return err
	}
	for _, s := range shapes {
		g.holes = append(g.holes, numbered{newSolid(s.outer), k})
		for _, h := range s.holes { // ground inside the hole: nested, becomes an island
			g.holes = append(g.holes, numbered{newSolid(h), k})
		}
	}
	return nil
}

func first(r orb.Ring) orb.Point {
	if len(r) == 0 {
		return orb.Point{}
	}
	return r[0]
}

// clean closes a ring and drops repeated vertices and spikes.
func (m *mender) clean(k int, r orb.Ring) (ring, error) {
	for i, p := range r {
		if !finite(p) {
			return ring{}, refuse(place(NotFinite, k, i, orb.Point{}), "", "coordinate is not a finite number")
		}
	}
	v := open(r)
	if at, n := v.dropRepeated(geo.CoincidentM); n > 0 {
		m.fix(FixDuplicate, k, at, r[at], float64(n), "vertices")
	}
	if !m.unlogged(k, &v) {
		if err := m.close(k, r, v); err != nil {
			return ring{}, err
		}
	}
	for n := v.len(); n > 3; n-- {
		d := distance(v.pt[n-1], v.pt[0])
		if d >= geo.SurveySnapM {
			break
		}
		m.fix(FixSnapped, k, v.src[n-1], v.pt[n-1], d, "m")
		v.remove(n - 1)
	}
	v.dropSpikes(func(src int, at orb.Point, lengthM float64) {
		m.fix(FixSpike, k, src, at, lengthM, "m")
	})
	if a := SignedAreaM2(v.pt); a < 0 && k == 0 || a > 0 && k > 0 {
		m.fix(FixTurned, k, v.src[0], v.pt[0], math.Abs(a), "m2")
	}
	return v, nil
}

// close judges the gap of a ring whose last vertex is not its first.
func (m *mender) close(k int, r orb.Ring, v ring) error {
	n := len(r)
	if n < 3 || r[0] == r[n-1] {
		return nil
	}
	gap := distance(r[0], r[n-1])
	if gap < geo.SurveySnapM {
		return nil // snapped or dropped as repeated
	}
	if limit := max(geo.CloseGapM, 3*medianSideM(v)); gap >= limit {
		f := place(Unclosed, k, n-1, r[n-1])
		f.Value, f.Unit = gap, "m"
		return refuse(f, "add the missing vertices and repeat the first vertex at the end",
			"ring is not closed: %.2f m from its last vertex to its first, more than the %.2f m that may be closed", gap, limit)
	}
	m.fix(FixClosed, k, n-1, r[n-1], gap, "m")
	return nil
}

func medianSideM(v ring) float64 {
	d := make([]float64, 0, v.len())
	for i := 1; i < v.len(); i++ {
		d = append(d, distance(v.pt[i-1], v.pt[i]))
	}
	if len(d) == 0 {
		return 0
	}
	slices.Sort(d)
	return d[len(d)/2]
}

// verify checks the final parts.
func (m *mender) verify(parts []orb.Polygon) error {
	for _, p := range parts {
		if f := Faults(p); len(f) > 0 {
			f[0].Ring, f[0].Vertex = 0, 0 // not a place in the input
			return refuse(f[0], "draw the outline again near this place", "outline cannot be repaired: %s", f[0].Kind)
		}
		if !m.rebuilt {
			continue
		}
		if err := toGeom(p).Validate(); err != nil {
			return refuse(place(SelfCrossing, 0, 0, p[0][0]), "draw the outline again", "outline cannot be repaired: %v", err)
		}
	}
	return nil
}

// oriented is the shape as a polygon, outer ring counter-clockwise.
func (s shape) oriented() orb.Polygon {
	p := orb.Polygon{turned(s.outer, 1)}
	for _, h := range s.holes {
		p = append(p, turned(h, -1))
	}
	return p
}

// turned is v closed and running in the direction of the sign.
func turned(v ring, dir int) orb.Ring {
	r := v.closed()
	if sign(SignedAreaM2(r)) != dir {
		slices.Reverse(r)
	}
	return r
}

func (v ring) areaM2() float64 { return math.Abs(SignedAreaM2(v.pt)) }

// widthM is the mean width of the ground inside a ring, 2 area / perimeter:
// the width of a long strip, half the side of a square.
func (v ring) widthM() float64 {
	var per float64
	for i := range v.pt {
		a, b := v.edge(i)
		per += distance(a, b)
	}
	if per == 0 {
		return 0
	}
	return 2 * v.areaM2() / per
}
