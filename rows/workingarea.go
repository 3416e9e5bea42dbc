package rows

import (
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo/polygon"
)

// WorkingArea is the open ground of block i as areas: the outline less
// headlands, side clearances and obstacles with theirs, for drawing and for
// hectares. Rows themselves are not cut from it: their ends are exact, while
// its round corners are chords (see [polygon.Clear] for the error).
//
// What of the outline is a side and what has a headland goes by the heading of
// straight rows, and along bent ones by the row that runs nearest, in stretches
// of a spacing.
func (l Layout) WorkingArea(i int) (orb.MultiPolygon, error) {
	st := newSite(l.Field.Blocks[i], l.Field.Obstacles, &l.Spec)
	if l.Blocks[i].Bent && l.Blocks[i].RowCount > 0 {
		return l.ground(i, l.besideBent(i, st))
	}
	x := axesOf(l.Blocks[i].Heading)
	cosSide := st.cosSide()
	var b borders
	for k, e := range st.edges[:st.outer] {
		b.add(e.a, e.b, st.isSide(k, x.ax, x.ay, cosSide))
	}
	return l.ground(i, b.keeps(&l.Spec))
}

// besideBent is what bent rows keep from the outline.
func (l Layout) besideBent(i int, st *site) []polygon.Keep {
	var segs [][2]orb.Point
	for _, r := range l.Rows {
		for _, p := range r.Pieces {
			for k := 1; r.Block == i && k < p.Line.Len(); k++ {
				segs = append(segs, [2]orb.Point{p.Line.At(k - 1), p.Line.At(k)})
			}
		}
	}
	index := polygon.NewSegmentIndex(segs)
	cosSide := st.cosSide()
	var b borders
	for k, e := range st.edges[:st.outer] {
		n := math.Ceil(math.Hypot(e.b[0]-e.a[0], e.b[1]-e.a[1]) / l.Spec.SpacingM)
		for j := range int(n) {
			from, to := between(e.a, e.b, float64(j)/n), between(e.a, e.b, float64(j+1)/n)
			near, _ := index.NearestM(between(from, to, 0.5))
			p, q := index.Segment(near)
			lengthM := math.Hypot(q[0]-p[0], q[1]-p[1])
			b.add(from, to, st.isSide(k, (q[0]-p[0])/lengthM, (q[1]-p[1])/lengthM, cosSide))
		}
	}
	return b.keeps(&l.Spec)
}

// borders is the outline in lines that have a headland and lines that are
// sides.
type borders struct{ head, side []orb.LineString }

// add adds a piece of the outline, which goes on from the last one added.
func (b *borders) add(from, to orb.Point, side bool) {
	at := &b.head
	if side {
		at = &b.side
	}
	if n := len(*at); n > 0 && last((*at)[n-1]) == from {
		(*at)[n-1] = append((*at)[n-1], to)
		return
	}
	*at = append(*at, orb.LineString{from, to})
}

func (b *borders) keeps(s *Spec) []polygon.Keep {
	return []polygon.Keep{{Lines: b.head, DistanceM: s.HeadlandM}, {Lines: b.side, DistanceM: s.SideM}}
}

// ground is block i less what rows keep from its outline, its holes and the
// obstacles.
func (l Layout) ground(i int, outer []polygon.Keep) (orb.MultiPolygon, error) {
	outline := l.Field.Blocks[i].Outline
	off := polygon.Keep{DistanceM: l.Spec.ObstacleM}
	for _, r := range outline[1:] {
		hole := r.Clone()
		hole.Reverse()
		off.Areas = append(off.Areas, orb.Polygon{hole})
	}
	near := outline.Bound().Pad(l.Spec.ObstacleM)
	for _, o := range l.Field.Obstacles {
		if len(o.Area) > 0 && near.Intersects(o.Area.Bound()) {
			off.Areas = append(off.Areas, o.Area)
		}
		if len(o.Path) > 0 && near.Intersects(o.Path.Bound()) {
			off.Lines = append(off.Lines, o.Path)
		}
	}
	return polygon.Clear(outline, append(outer, off))
}

func last(l orb.LineString) orb.Point { return l[len(l)-1] }
