package rows

import (
	"github.com/paulmach/orb"

	"hemrow/geo/polygon"
)

// WorkingArea is the open ground of block i as areas: the outline less
// headlands, side clearances and obstacles with theirs, for drawing and for
// hectares. Rows themselves are not cut from it: their ends are exact, while
// its round corners are chords (see [polygon.Clear] for the error).
func (l Layout) WorkingArea(i int) (orb.MultiPolygon, error) {
	st := newSite(l.Field.Blocks[i], l.Field.Obstacles, &l.Spec)
	x := axesOf(l.Blocks[i].Heading)
	cosSide := st.cosSide()
	head := polygon.Keep{DistanceM: l.Spec.HeadlandM}
	side := polygon.Keep{DistanceM: l.Spec.SideM}
	for k, e := range st.edges[:st.outer] {
		to := &head
		if st.isSide(k, x.ax, x.ay, cosSide) {
			to = &side
		}
		if n := len(to.Lines); n > 0 && k > 0 && last(to.Lines[n-1]) == e.a {
			to.Lines[n-1] = append(to.Lines[n-1], e.b)
			continue
		}
		to.Lines = append(to.Lines, orb.LineString{e.a, e.b})
	}
	off := polygon.Keep{DistanceM: l.Spec.ObstacleM}
	for _, r := range l.Field.Blocks[i].Outline[1:] {
		hole := r.Clone()
		hole.Reverse()
		off.Areas = append(off.Areas, orb.Polygon{hole})
	}
	near := l.Field.Blocks[i].Outline.Bound().Pad(l.Spec.ObstacleM)
	for _, o := range l.Field.Obstacles {
		if len(o.Area) > 0 && near.Intersects(o.Area.Bound()) {
			off.Areas = append(off.Areas, o.Area)
		}
		if len(o.Path) > 0 && near.Intersects(o.Path.Bound()) {
			off.Lines = append(off.Lines, o.Path)
		}
	}
	return polygon.Clear(l.Field.Blocks[i].Outline, []polygon.Keep{head, side, off})
}

func last(l orb.LineString) orb.Point { return l[len(l)-1] }
