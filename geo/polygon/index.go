package polygon

import (
	"math"

	"github.com/paulmach/orb"
)

// Index finds segments near a place. It is a static tree of boxes over the
// segments in the order given: neighbours along a ring are neighbours on the
// ground, so no sorting is needed and building takes linear time.
// The zero Index is empty. An Index is safe for concurrent reading.
type Index struct {
	seg    [][2]orb.Point
	levels [][]orb.Bound // levels[0] bounds groups of fanout segments
}

const fanout = 8

// NewIndex indexes every edge of the rings, which need not be closed.
func NewIndex(rings ...orb.Ring) *Index {
	var segs [][2]orb.Point
	for _, r := range rings {
		for i := range r {
			if j := (i + 1) % len(r); r[i] != r[j] || len(r) == 1 {
				segs = append(segs, [2]orb.Point{r[i], r[j]})
			}
		}
	}
	return NewSegmentIndex(segs)
}

// NewSegmentIndex indexes segments, which it keeps; numbers in answers are
// positions in segs.
func NewSegmentIndex(segs [][2]orb.Point) *Index {
	ix := &Index{seg: segs}
	var level []orb.Bound
	for i, s := range segs {
		level = grow(level, i, segBox(s[0], s[1]))
	}
	for len(level) > 0 {
		ix.levels = append(ix.levels, level)
		if len(level) == 1 {
			break
		}
		var up []orb.Bound
		for i, b := range level {
			up = grow(up, i, b)
		}
		level = up
	}
	return ix
}

func grow(level []orb.Bound, i int, b orb.Bound) []orb.Bound {
	if i%fanout == 0 {
		return append(level, b)
	}
	level[len(level)-1] = level[len(level)-1].Union(b)
	return level
}

// segBox compares by hand: the built-in min and max also order zeros and NaN,
// which costs more than the rest of a pair test.
func segBox(a, b orb.Point) orb.Bound {
	if a[0] > b[0] {
		a[0], b[0] = b[0], a[0]
	}
	if a[1] > b[1] {
		a[1], b[1] = b[1], a[1]
	}
	return orb.Bound{Min: a, Max: b}
}

// Len is the number of segments.
func (ix *Index) Len() int { return len(ix.seg) }

// Segment is segment i.
func (ix *Index) Segment(i int) (a, b orb.Point) { return ix.seg[i][0], ix.seg[i][1] }

// Search calls visit for every segment whose box meets b, in rising order,
// until visit returns false.
func (ix *Index) Search(b orb.Bound, visit func(i int) bool) {
	if top := len(ix.levels) - 1; top >= 0 {
		ix.search(top, 0, 0, &b, visit)
	}
}

// search visits the segments from number first on below a node.
func (ix *Index) search(level, node, first int, b *orb.Bound, visit func(i int) bool) bool {
	if level == 0 {
		for i := max(first, node*fanout); i < min((node+1)*fanout, len(ix.seg)); i++ {
			if s := &ix.seg[i]; !misses(s[0], s[1], b) && !visit(i) {
				return false
			}
		}
		return true
	}
	span := 1 // segments below one child
	for range level {
		span *= fanout
	}
	below := ix.levels[level-1]
	for i := max(first/span, node*fanout); i < min((node+1)*fanout, len(below)); i++ {
		if c := &below[i]; !misses(c.Min, c.Max, b) && !ix.search(level-1, i, first, b, visit) {
			return false
		}
	}
	return true
}

// NearestM is the segment nearest to pt and its distance in metres; -1 and
// +Inf for an empty index.
func (ix *Index) NearestM(pt orb.Point) (i int, distM float64) {
	return ix.SegmentNearestM(pt, pt)
}

// SegmentNearestM is the indexed segment nearest to the segment ab and the
// distance between them in metres, exactly 0 when they meet; of equals, the
// first found.
func (ix *Index) SegmentNearestM(a, b orb.Point) (i int, distM float64) {
	q := nearest{ix: ix, a: a, b: b, box: segBox(a, b), best: -1, distM: math.Inf(1)}
	if top := len(ix.levels) - 1; top >= 0 {
		q.visit(top, 0)
	}
	return q.best, q.distM
}

// nearest is one running search: branch and bound, nearer boxes first.
type nearest struct {
	ix    *Index
	a, b  orb.Point
	box   orb.Bound
	best  int
	distM float64
}

func (q *nearest) visit(level, node int) {
	lo := node * fanout
	if level == 0 {
		for i := lo; i < min(lo+fanout, len(q.ix.seg)); i++ {
			s := q.ix.seg[i]
			if boxGapM(q.box, segBox(s[0], s[1])) >= q.distM {
				continue
			}
			if d := SegmentDistanceM(q.a, q.b, s[0], s[1]); d < q.distM {
				q.best, q.distM = i, d
			}
		}
		return
	}
	var order [fanout]int
	var gap [fanout]float64
	n := 0
	for i := lo; i < min(lo+fanout, len(q.ix.levels[level-1])); i++ {
		g := boxGapM(q.box, q.ix.levels[level-1][i])
		k := n
		for ; k > 0 && gap[k-1] > g; k-- {
			gap[k], order[k] = gap[k-1], order[k-1]
		}
		gap[k], order[k] = g, i
		n++
	}
	for k := range n {
		if gap[k] < q.distM {
			q.visit(level-1, order[k])
		}
	}
}

// boxGapM is the distance between two boxes, 0 if they meet.
func boxGapM(a, b orb.Bound) float64 {
	dx := max(0, b.Min[0]-a.Max[0], a.Min[0]-b.Max[0])
	dy := max(0, b.Min[1]-a.Max[1], a.Min[1]-b.Max[1])
	return math.Sqrt(dx*dx + dy*dy)
}
