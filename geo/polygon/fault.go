package polygon

import (
	"cmp"
	"fmt"
	"slices"

	"github.com/paulmach/orb"
)

// FaultKind is what can be wrong with a polygon; the list is closed.
type FaultKind int

// The faults, in the order they are looked for.
const (
	NotFinite      FaultKind = iota // a coordinate is NaN or infinite
	TooFewPoints                    // fewer than three different vertices
	Unclosed                        // the last vertex is not the first; Value is the gap
	Duplicate                       // Value vertices that repeat the one before
	Spike                           // out and straight back; Value is the length
	ZeroArea                        // all vertices in one line
	SelfCrossing                    // two edges of a ring cross or run over each other
	SelfTouch                       // a ring touches itself in a point
	HoleOutside                     // a hole that lies outside the outer ring
	HoleCrossing                    // a hole that crosses or runs along the outer ring
	HolesOverlap                    // two holes that cross or run along each other
	NestedHole                      // a hole inside a hole
	CutApart                        // holes that touch so that the ground falls into parts
	faultKindCount                  // end of the list
)

// String is the fault in words, as in "ring crosses itself".
func (k FaultKind) String() string {
	words := [faultKindCount]string{
		"coordinate is not a finite number", "ring has fewer than three different vertices",
		"ring is not closed", "vertices repeated", "spike out and back", "ring has no area",
		"ring crosses itself", "ring touches itself", "hole lies outside the outline",
		"hole crosses the outline", "holes overlap", "hole inside a hole",
		"touching rings cut the ground apart",
	}
	if k < 0 || k >= faultKindCount {
		return "unknown fault"
	}
	return words[k]
}

// Fault is one thing wrong with a polygon and its place. Ring 0 is the
// outline; vertices count from 0 in the ring as given. A fault between two
// edges names them by the vertices they start at.
type Fault struct {
	Kind        FaultKind
	Ring        int
	Vertex      int
	OtherRing   int // -1 if the fault has one place only
	OtherVertex int // -1 if the fault has one place only
	At          orb.Point
	Value       float64 //unit:see Unit
	Unit        string
}

// String prints a fault for the developer; geo/field words it for the user.
func (f Fault) String() string {
	s := fmt.Sprintf("%s: ring %d vertex %d", f.Kind, f.Ring, f.Vertex)
	if f.OtherRing >= 0 {
		s += fmt.Sprintf(" and ring %d vertex %d", f.OtherRing, f.OtherVertex)
	}
	s += fmt.Sprintf(" at (%.3f, %.3f)", f.At[0], f.At[1])
	if f.Unit != "" {
		s += fmt.Sprintf(", %.3f %s", f.Value, f.Unit)
	}
	return s
}

// maxFaults bounds what one polygon reports: a scribble of n vertices has
// n²/2 crossings, and nobody reads the ten-thousandth.
const maxFaults = 10000

// Faults lists everything wrong with p, in order of ring, vertex, kind and
// second place; nil if p is sound: finite, closed, simple, with area, holes
// inside and apart, its interior in one piece. The direction of rings is not
// a fault. Decisions are exact ([Orient]); cost is near-linear in vertices
// for outlines as surveyed. At most 10 000 faults are listed.
func Faults(p orb.Polygon) []Fault {
	if len(p) == 0 {
		return []Fault{place(TooFewPoints, 0, 0, orb.Point{})}
	}
	c := checker{}
	rings := make([]ring, len(p))
	for k, r := range p {
		rings[k] = c.ring(k, r)
	}
	ok := true
	for k := range rings {
		ok = ok && rings[k].usable()
	}
	if ok {
		c.between(rings)
	}
	slices.SortStableFunc(c.faults, func(a, b Fault) int {
		return cmp.Or(cmp.Compare(a.Ring, b.Ring), cmp.Compare(a.Vertex, b.Vertex), cmp.Compare(a.Kind, b.Kind),
			cmp.Compare(a.OtherRing, b.OtherRing), cmp.Compare(a.OtherVertex, b.OtherVertex))
	})
	return c.faults
}

func place(k FaultKind, ring, vertex int, at orb.Point) Fault {
	return Fault{Kind: k, Ring: ring, Vertex: vertex, OtherRing: -1, OtherVertex: -1, At: at}
}

// checker gathers the faults of one polygon.
type checker struct{ faults []Fault }

func (c *checker) add(f Fault) {
	if len(c.faults) < maxFaults {
		c.faults = append(c.faults, f)
	}
}

// ring checks one ring by itself and returns it without repeated vertices.
func (c *checker) ring(k int, r orb.Ring) ring {
	for i, v := range r {
		if !finite(v) {
			c.add(place(NotFinite, k, i, v))
			return ring{}
		}
	}
	if n := len(r); n > 1 && r[0] != r[n-1] {
		f := place(Unclosed, k, n-1, r[n-1])
		f.Value, f.Unit = distance(r[0], r[n-1]), "m"
		c.add(f)
	}
	v := open(r)
	if first, count := v.dropRepeated(0); count > 0 {
		f := place(Duplicate, k, first, r[first])
		f.Value, f.Unit = float64(count), "vertices"
		c.add(f)
	}
	if v.len() < 3 {
		at := orb.Point{}
		if len(r) > 0 {
			at = r[0]
		}
		c.add(place(TooFewPoints, k, 0, at))
		return v
	}
	c.spikes(k, v)
	if v.flat() {
		c.add(place(ZeroArea, k, v.src[0], v.pt[0]))
		return v
	}
	forEvents(v, func(e event) bool {
		c.add(c.own(k, v, e))
		return len(c.faults) < maxFaults
	})
	return v
}

func (c *checker) spikes(k int, v ring) {
	for i := range v.pt {
		if l, ok := v.spikeM(i); ok {
			f := place(Spike, k, v.src[i], v.pt[i])
			f.Value, f.Unit = l, "m"
			c.add(f)
		}
	}
}

// own words a meeting of two edges of one ring.
func (c *checker) own(k int, v ring, e event) Fault {
	kind := SelfCrossing
	if e.kind == touching && !v.passesCross(e, v) {
		kind = SelfTouch
	}
	return Fault{Kind: kind, Ring: k, Vertex: v.src[e.i], OtherRing: k, OtherVertex: v.src[e.j], At: e.at}
}

func finite(p orb.Point) bool {
	// A difference with itself is NaN for NaN and for both infinities.
	return p[0]-p[0] == 0 && p[1]-p[1] == 0
}
