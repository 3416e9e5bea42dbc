package terrain

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// Point is a surveyed point in the frame.
type Point struct{ X, Y, Z float64 } //unit:metres

// TINOptions says how points become a surface; the zero value is a good start.
type TINOptions struct {
	// Place goes into the notes: the file the points come from.
	Place string
	// LongestEdgeM leaves out triangles at the outer edge of the survey that
	// have a longer side, from outside inwards. 0 takes five times the median
	// side; +Inf keeps all.
	LongestEdgeM float64
}

// longEdgeFactor: neighbours in a survey with an even spread are within two
// median sides of each other; five bridge a missed station or a pond, not a
// bay of the outline (common practice, no source).
const longEdgeFactor = 5

// mostPoints keeps the corner numbers of the triangles within 31 bits.
const mostPoints = 1 << 28

// FromPoints makes a surface of plane triangles between surveyed points: the
// Delaunay triangulation, in which break lines (ditches, banks, edges of a
// track) run along edges of triangles. Decisions are exact, so that no order
// or pattern of points spoils the triangles; the same points in another order
// give the same triangles, of equals too. Break lines are lists of points with
// heights of their own.
//
// Coordinates are rounded to geo.LatticeM. Points within geo.SurveySnapM of
// each other become one with the mean of their heights; a point as near to a
// break line becomes part of it; where two break lines cross they get a common
// vertex. At the outer edge, long and flat triangles are left out. Each of
// these leaves a note.
//
// It errs if a number is not finite or out of range, if all points lie in one
// line, if crossing break lines differ in height by more than geo.RepeatZM, or
// if opt leaves no triangle.
func FromPoints(pts []Point, breaks [][]Point, opt TINOptions) (*TIN, geo.Notes, error) {
	if math.IsNaN(opt.LongestEdgeM) || opt.LongestEdgeM < 0 {
		return nil, nil, fmt.Errorf("the longest side of a triangle is %g m; it must be positive", opt.LongestEdgeM)
	}
	s := survey{place: opt.Place}
	if err := s.collect(pts, breaks); err != nil {
		return nil, nil, err
	}
	m, same, ok := delaunay(s.pts)
	if !ok {
		return nil, nil, s.fault("%s in one line make no surface; survey points on both sides of it", geo.Counted(len(s.pts), "point"))
	}
	again := s.merge(m, same)
	if len(s.segs) > 0 {
		added, err := s.tie()
		if err != nil {
			return nil, nil, err
		}
		again = again || added
	}
	if again {
		if m, same, ok = delaunay(s.pts); !ok {
			return nil, nil, s.fault("all points lie within %g m of one line; survey points on both sides of it", geo.SurveySnapM)
		}
	}
	if len(s.segs) > 0 {
		s.force(m, same)
	}
	t := &TIN{mesh: *m, z: s.z}
	if err := s.trim(t, opt.LongestEdgeM); err != nil {
		return nil, nil, err
	}
	t.index()
	s.tell(t)
	return t, s.notes, nil
}

// survey is the points and break lines on their way to a TIN.
type survey struct {
	place string
	pts   []orb.Point
	z     []float64
	segs  []segment
	notes geo.Notes
}

// segment is a piece of break line number line, from 1.
type segment struct {
	a, b int32
	line int
}

func (s *survey) fault(format string, a ...any) error {
	return &geo.InputError{File: s.place, Problem: fmt.Sprintf(format, a...)}
}

func (s *survey) collect(pts []Point, breaks [][]Point) error {
	n := len(pts)
	for _, l := range breaks {
		n += len(l)
	}
	if n > mostPoints {
		return s.fault("%d points; at most %d can be joined to a surface, thin them first", n, mostPoints)
	}
	s.pts, s.z = make([]orb.Point, 0, n), make([]float64, 0, n)
	for i, p := range pts {
		if !s.add(p) {
			return s.fault("point %d (%g, %g, height %g): not a place within %.0f km of the field", i+1, p.X, p.Y, p.Z, mostM/1000)
		}
	}
	for k, l := range breaks {
		for i, p := range l {
			if !s.add(p) {
				return s.fault("break line %d, vertex %d (%g, %g, height %g): not a place within %.0f km of the field", k+1, i+1, p.X, p.Y, p.Z, mostM/1000)
			}
			if v := int32(len(s.pts) - 1); i > 0 {
				s.segs = append(s.segs, segment{v - 1, v, k + 1})
			}
		}
	}
	if len(s.pts) < 3 {
		return s.fault("%s; a surface needs three or more", geo.Counted(len(s.pts), "point"))
	}
	s.arrange()
	return nil
}

// arrange puts the points along a curve.
func (s *survey) arrange() {
	order := curveOrder(s.pts)
	pts, z, to := make([]orb.Point, len(order)), make([]float64, len(order)), make([]int32, len(order))
	for i, k := range order {
		pts[i], z[i], to[k] = s.pts[k], s.z[k], int32(i)
	}
	s.pts, s.z = pts, z
	for i, g := range s.segs {
		s.segs[i].a, s.segs[i].b = to[g.a], to[g.b]
	}
}

func (s *survey) add(p Point) bool {
	x, okX := onLattice(p.X)
	y, okY := onLattice(p.Y)
	if !okX || !okY || !(p.Z >= lowestZM && p.Z <= highestZM) {
		return false
	}
	s.pts = append(s.pts, orb.Point{x, y})
	s.z = append(s.z, p.Z)
	return true
}

// merge makes one point of those within geo.SurveySnapM of each other. The
// shortest path in a Delaunay triangulation's edges between two points at
// distance d needs no edge longer than d (it holds the minimum spanning tree),
// so only ends of short edges and points in the very same place are looked at.
func (s *survey) merge(m *mesh, same []int32) (changed bool) {
	near := make([]bool, len(s.pts))
	found := false
	for i, j := range same {
		if int(j) != i {
			near[i], near[j], found = true, true, true
		}
	}
	for e := range int32(len(m.org)) {
		a, b := m.org[e], m.org[next(e)]
		if distM(s.pts[a], s.pts[b]) <= geo.SurveySnapM {
			near[a], near[b], found = true, true, true
		}
	}
	if !found {
		return false
	}
	s.unite(near)
	return true
}

func distM(a, b orb.Point) float64 { return math.Hypot(b[0]-a[0], b[1]-a[1]) }

// unite keeps the first point of each place and gives it the mean height.
func (s *survey) unite(near []bool) {
	type cell [2]int64
	kept := map[cell][]int32{}
	to := make([]int32, len(s.pts)) // new number of each point
	count := make([]float64, 0, len(s.pts))
	pts, z := make([]orb.Point, 0, len(s.pts)), make([]float64, 0, len(s.pts))
	low, high := []float64{}, []float64{}
	for i, p := range s.pts {
		home := cell{int64(math.Floor(p[0] / geo.SurveySnapM)), int64(math.Floor(p[1] / geo.SurveySnapM))}
		to[i] = none
		for dx := int64(-1); near[i] && dx <= 1; dx++ {
			for dy := int64(-1); dy <= 1; dy++ {
				for _, k := range kept[cell{home[0] + dx, home[1] + dy}] {
					if to[i] == none && distM(pts[k], p) <= geo.SurveySnapM {
						to[i] = k
					}
				}
			}
		}
		if k := to[i]; k != none {
			z[k] += s.z[i]
			count[k]++
			low[k], high[k] = min(low[k], s.z[i]), max(high[k], s.z[i])
			continue
		}
		to[i] = int32(len(pts))
		if near[i] {
			kept[home] = append(kept[home], to[i])
		}
		pts, z, count = append(pts, p), append(z, s.z[i]), append(count, 1)
		low, high = append(low, s.z[i]), append(high, s.z[i])
	}
	worst, at := 0.0, 0
	for k := range z {
		z[k] = max(low[k], min(high[k], z[k]/count[k]))
		if d := high[k] - low[k]; d > worst {
			worst, at = d, k
		}
	}
	s.tellMerged(len(s.pts)-len(pts), worst, pts[at])
	s.pts, s.z = pts, z
	segs := s.segs[:0]
	for _, g := range s.segs {
		if g.a, g.b = to[g.a], to[g.b]; g.a != g.b {
			segs = append(segs, g)
		}
	}
	s.segs = segs
}

func (s *survey) tellMerged(n int, worstM float64, at orb.Point) {
	if n == 0 {
		return
	}
	note := geo.Note{
		Code: geo.NoteTerrainPoints, Place: s.place,
		Text: fmt.Sprintf("%s dropped, each within %g mm of another of the same height", geo.Counted(n, "survey point"), geo.SurveySnapM*1000),
	}
	if worstM > 0 {
		note.Text = fmt.Sprintf("%s dropped, each within %g mm of another; the mean height was kept, the worst differ by %.3f m at %.2f, %.2f",
			geo.Counted(n, "survey point"), geo.SurveySnapM*1000, worstM, at[0], at[1])
		note.Value, note.Limit, note.Unit = worstM, geo.RepeatZM, "m"
	}
	if worstM > geo.RepeatZM {
		note.Severity = geo.Caution
		note.Hint = "take out the heights that are wrong, or give the foot and the top of a wall as two break lines"
	}
	s.notes = append(s.notes, note)
}
