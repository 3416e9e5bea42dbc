package terrain

import (
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// trim leaves out triangles at the outer edge, from outside inwards: those
// with a side longer than the limit, and those so flat that their corners were
// meant to be in one line. It does not pass a break line.
func (s *survey) trim(t *TIN, longestM float64) error {
	t.spacingM = t.medianSideM()
	if longestM == 0 {
		longestM = longEdgeFactor * t.spacingM
	}
	t.longestM = longestM
	t.covered = make([]bool, t.triangles())
	for i := range t.covered {
		t.covered[i] = true
	}
	var todo []int32 // edges with nothing covered on the other side
	for e, f := range t.twin {
		if f == none {
			todo = append(todo, int32(e))
		}
	}
	left, long, flat := len(t.covered), 0, 0
	var longM2, flatM2 geo.Sum
	for len(todo) > 0 {
		e := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		k := e / 3
		if !t.covered[k] || t.isFixed(e) {
			continue
		}
		switch {
		case t.longestSideM(k) > longestM:
			long++
			longM2.Add(t.areaM2(k))
		case t.isFlat(e):
			flat++
			flatM2.Add(t.areaM2(k))
		default:
			continue
		}
		t.covered[k] = false
		left--
		for _, e := range [2]int32{next(e), prev(e)} {
			if f := t.twin[e]; f != none {
				todo = append(todo, f)
			}
		}
	}
	if left == 0 {
		return s.fault("no triangle is left: every one at the edge is flat or has a side longer than %.3g m; allow longer sides or survey more points", longestM)
	}
	s.tellTrimmed(long, longM2.Value(), longestM, t.spacingM)
	if flatM2.Value() >= tellTrimmedM2 {
		s.notes = append(s.notes, geo.Note{
			Code: geo.NoteLongEdges, Place: s.place,
			Text:  fmt.Sprintf("%s at the edge of the survey left out, flatter than 1 in %.0f: %.2f m2", geo.Counted(flat, "triangle"), 1/geo.SliverRatio, flatM2.Value()),
			Value: flatM2.Value(), Unit: "m2",
		})
	}
	return nil
}

// tellTrimmedM2: less ground than this at the rim of a survey is not worth a
// note.
const tellTrimmedM2 = 1.0

func (s *survey) tellTrimmed(n int, areaM2, longestM, medianM float64) {
	if areaM2 < tellTrimmedM2 {
		return
	}
	s.notes = append(s.notes, geo.Note{
		Code: geo.NoteLongEdges, Place: s.place,
		Text: fmt.Sprintf("%s at the edge of the survey left out, with sides longer than %.1f m (half of all sides are under %.1f m): %.0f m2 without terrain",
			geo.Counted(n, "triangle"), longestM, medianM, areaM2),
		Hint:  "survey points there, or allow longer sides",
		Value: areaM2, Unit: "m2",
	})
}

// medianSideM is the median length of the sides, of at most some 20,000 of
// them evenly picked.
func (m *mesh) medianSideM() float64 {
	step := 1 + len(m.org)/40_000
	sides := make([]float64, 0, len(m.org)/step+1)
	for e := 0; e < len(m.org); e += step {
		if f := m.twin[e]; f < int32(e) { // each edge once
			a, b := m.ends(int32(e))
			sides = append(sides, distM(a, b))
		}
	}
	slices.Sort(sides)
	return sides[len(sides)/2]
}

func (m *mesh) longestSideM(t int32) float64 {
	a, b, c := m.corners(t)
	return max(distM(a, b), distM(b, c), distM(c, a))
}

func (m *mesh) areaM2(t int32) float64 {
	a, b, c := m.corners(t)
	return cross(a, b, c) / 2
}

// cross is twice the area of abc, positive if they turn left.
func cross(a, b, c orb.Point) float64 {
	return (b[0]-a[0])*(c[1]-a[1]) - (b[1]-a[1])*(c[0]-a[0])
}

// isFlat reports whether e is the long side of a triangle flatter than
// geo.SliverRatio.
func (m *mesh) isFlat(e int32) bool {
	a, b, c := m.corners(e / 3)
	p, q := m.ends(e)
	side := distM(p, q)
	return side >= max(distM(a, b), distM(b, c), distM(c, a)) &&
		math.Abs(cross(a, b, c)) < geo.SliverRatio*side*side
}
