package terrain

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/polygon"
)

// tie divides break lines at the points that lie on them and where they cross
// one another, until no two of them cross between vertices. added says that
// there are new points.
func (s *survey) tie() (added bool, err error) {
	s.divideAtPoints()
	before := len(s.pts)
	const rounds = 4 // a crossing is rounded by 1 nm, which may make another
	for range rounds {
		cuts, err := s.crossings()
		if err != nil {
			return false, err
		}
		if len(cuts) == 0 {
			break
		}
		s.divide(cuts)
	}
	if n := len(s.pts) - before; n > 0 {
		s.notes = append(s.notes, geo.Note{
			Code: geo.NoteBreakLine, Place: s.place,
			Text: fmt.Sprintf("break lines cross between their vertices in %s; each got a vertex with the mean of the two heights", geo.Counted(n, "place")),
		})
	}
	return len(s.pts) > before, nil
}

// cut divides a segment at a vertex, share t of the way along.
type cut struct {
	seg    int
	t      float64
	vertex int32
}

func (s *survey) index() *polygon.Index {
	list := make([][2]orb.Point, len(s.segs))
	for i, g := range s.segs {
		list[i] = [2]orb.Point{s.pts[g.a], s.pts[g.b]}
	}
	return polygon.NewSegmentIndex(list)
}

// divideAtPoints lets break lines run through the points within
// geo.SurveySnapM of them.
func (s *survey) divideAtPoints() {
	ix := s.index()
	const r = geo.SurveySnapM
	var cuts []cut
	for v, p := range s.pts {
		box := orb.Bound{Min: orb.Point{p[0] - r, p[1] - r}, Max: orb.Point{p[0] + r, p[1] + r}}
		ix.Search(box, func(i int) bool {
			g := s.segs[i]
			a, b := ix.Segment(i)
			if g.a != int32(v) && g.b != int32(v) && polygon.PointSegmentM(p, a, b) <= r {
				cuts = append(cuts, cut{i, shareAlong(a, b, p), int32(v)})
			}
			return true
		})
	}
	s.divide(cuts)
}

// shareAlong is how far p lies along ab, 0 to 1.
func shareAlong(a, b, p orb.Point) float64 {
	dx, dy := b[0]-a[0], b[1]-a[1]
	return ((p[0]-a[0])*dx + (p[1]-a[1])*dy) / (dx*dx + dy*dy)
}

// crossings makes a vertex for each pair of segments that cross properly.
func (s *survey) crossings() (cuts []cut, err error) {
	ix := s.index()
	for i, g := range s.segs {
		a, b := ix.Segment(i)
		ix.Search(orb.MultiPoint{a, b}.Bound(), func(j int) bool {
			if j <= i {
				return true
			}
			c, d := ix.Segment(j)
			if polygon.Orient(a, b, c)*polygon.Orient(a, b, d) >= 0 || polygon.Orient(c, d, a)*polygon.Orient(c, d, b) >= 0 {
				return true
			}
			t := crossShare(a, b, c, d)
			p := along(a, b, t)
			u := shareAlong(c, d, p)
			z1, z2 := s.zAt(g, t), s.zAt(s.segs[j], u)
			if math.Abs(z1-z2) > geo.RepeatZM {
				err = s.fault("break lines %d and %d cross at %.2f, %.2f with heights %.2f m and %.2f m; correct one of them or end it before the other",
					g.line, s.segs[j].line, p[0], p[1], z1, z2)
				return false
			}
			v := int32(len(s.pts))
			x, _ := onLattice(p[0])
			y, _ := onLattice(p[1])
			s.pts, s.z = append(s.pts, orb.Point{x, y}), append(s.z, (z1+z2)/2)
			cuts = append(cuts, cut{i, t, v}, cut{j, u, v})
			return true
		})
		if err != nil {
			return nil, err
		}
	}
	return cuts, nil
}

func (s *survey) zAt(g segment, t float64) float64 {
	return s.z[g.a] + t*(s.z[g.b]-s.z[g.a])
}

func along(a, b orb.Point, t float64) orb.Point {
	return orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}
}

// crossShare is where along ab the line of cd crosses it, 0 to 1.
func crossShare(a, b, c, d orb.Point) float64 {
	dx, dy := d[0]-c[0], d[1]-c[1]
	den := (b[0]-a[0])*dy - (b[1]-a[1])*dx
	if den == 0 { // parallel to rounding: any place is as good
		return 0
	}
	return max(0, min(1, ((c[0]-a[0])*dy-(c[1]-a[1])*dx)/den))
}

// divide replaces each segment by its pieces.
func (s *survey) divide(cuts []cut) {
	if len(cuts) == 0 {
		return
	}
	slices.SortFunc(cuts, func(a, b cut) int {
		return cmp.Or(cmp.Compare(a.seg, b.seg), cmp.Compare(a.t, b.t), cmp.Compare(a.vertex, b.vertex))
	})
	out := make([]segment, 0, len(s.segs)+len(cuts))
	for i, g := range s.segs {
		for len(cuts) > 0 && cuts[0].seg == i {
			if v := cuts[0].vertex; v != g.a && v != g.b {
				out = append(out, segment{g.a, v, g.line})
				g.a = v
			}
			cuts = cuts[1:]
		}
		out = append(out, g)
	}
	s.segs = out
}

// force puts all break lines into the mesh.
func (s *survey) force(m *mesh, same []int32) {
	m.constrain()
	lost := 0.0
	for _, g := range s.segs {
		if !m.force(same[g.a], same[g.b]) {
			lost += distM(s.pts[g.a], s.pts[g.b])
		}
	}
	if lost > 0 {
		s.notes = append(s.notes, geo.Note{
			Code: geo.NoteBreakLine, Severity: geo.Caution, Place: s.place,
			Text:  fmt.Sprintf("%.2f m of break lines run across others and were not followed", lost),
			Hint:  "give break lines that meet a common vertex",
			Value: lost, Unit: "m",
		})
	}
}
