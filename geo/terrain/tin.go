package terrain

import (
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/polygon"
)

// TIN is a surface of plane triangles between surveyed points, made by
// [FromPoints]. It is safe for concurrent use.
//
// The triangulation reaches over the convex hull of the points; covered says
// which of its triangles are part of the surface. The border of a covered
// triangle is covered.
type TIN struct {
	mesh
	z        []float64
	covered  []bool
	bound    orb.Bound
	spacingM float64
	longestM float64
	area     float64 // covered, m2
	points   int     // that are corners of the surface

	hull []int32 // its edges

	// starts holds a triangle near each cell of an even net over the bound.
	starts     []int32
	cols, rows int
	perCellM   [2]float64 // cells per metre, east and north
}

var _ Surface = (*TIN)(nil)

// perBucket is the number of points for each cell of the net: a walk then
// takes one or two steps.
const perBucket = 1

// index sets up the net and the figures of the surface.
func (t *TIN) index() {
	used := make([]bool, len(t.pts))
	var area geo.Sum
	for k := range t.triangles() {
		if !t.covered[k] {
			continue
		}
		area.Add(t.areaM2(k))
		for _, v := range t.org[3*k : 3*k+3] {
			used[v] = true
		}
	}
	lo, hi := orb.Point{math.Inf(1), math.Inf(1)}, orb.Point{math.Inf(-1), math.Inf(-1)}
	for v, p := range t.pts {
		if used[v] {
			t.points++
			lo = orb.Point{min(lo[0], p[0]), min(lo[1], p[1])}
			hi = orb.Point{max(hi[0], p[0]), max(hi[1], p[1])}
		}
	}
	t.bound = orb.Bound{Min: lo, Max: hi}
	t.area = area.Value()
	for e, f := range t.twin {
		if f == none {
			t.hull = append(t.hull, int32(e))
		}
	}
	t.net()
}

// net walks from cell to cell, to and fro, and keeps the triangle at the
// middle of each.
func (t *TIN) net() {
	w, h := t.bound.Max[0]-t.bound.Min[0], t.bound.Max[1]-t.bound.Min[1]
	cells := float64(1 + len(t.pts)/perBucket)
	side := math.Sqrt(w * h / cells)
	t.cols = max(1, int(min(cells, math.Round(w/side))))
	t.rows = max(1, int(min(cells, math.Round(h/side))))
	t.perCellM = [2]float64{float64(t.cols) / w, float64(t.rows) / h}
	t.starts = make([]int32, t.cols*t.rows)
	at := int32(0)
	for r := range t.rows {
		for c := range t.cols {
			if r%2 == 1 {
				c = t.cols - 1 - c
			}
			mid := orb.Point{
				t.bound.Min[0] + (float64(c)+0.5)/t.perCellM[0],
				t.bound.Min[1] + (float64(r)+0.5)/t.perCellM[1],
			}
			at, _, _ = t.walk(at, mid)
			t.starts[r*t.cols+c] = at
		}
	}
}

// start is a triangle near p, which lies in the bound.
func (t *TIN) start(p orb.Point) int32 {
	c := min(t.cols-1, int((p[0]-t.bound.Min[0])*t.perCellM[0]))
	r := min(t.rows-1, int((p[1]-t.bound.Min[1])*t.perCellM[1]))
	return t.starts[r*t.cols+c]
}

// locate is the covered triangle that holds p, border included; none outside.
// On an edge or a corner it is the first of those that meet there.
func (t *TIN) locate(p orb.Point) int32 {
	if !t.bound.Contains(p) { // false for NaN too
		return none
	}
	at, out, edge := t.walk(t.start(p), p)
	switch {
	case out != none:
		return none
	case edge:
		at = none
		var room [16]int32
		for _, k := range t.touching(p, room[:0]) {
			if t.covered[k] && (at == none || k < at) {
				at = k
			}
		}
		return at
	case !t.covered[at]:
		return none
	}
	return at
}

// touching adds to list, which is empty, all triangles that hold p on their
// border or inside.
func (t *TIN) touching(p orb.Point, list []int32) []int32 {
	at, out, _ := t.walk(t.start(p), p)
	if out != none {
		return nil
	}
	list = append(list, at)
	for i := 0; i < len(list); i++ {
		for k := range int32(3) {
			e := 3*list[i] + k
			f := t.twin[e]
			if f == none || slices.Contains(list, f/3) {
				continue
			}
			if a, b := t.ends(e); polygon.Orient(a, b, p) == 0 {
				list = append(list, f/3)
			}
		}
	}
	return list
}

// plane is the height of triangle k at p and its gradient.
func (t *TIN) plane(k int32, p orb.Point) (z, gx, gy float64) {
	v := t.org[3*k : 3*k+3 : 3*k+3]
	a := t.pts[v[0]]
	bx, by := t.pts[v[1]][0]-a[0], t.pts[v[1]][1]-a[1]
	cx, cy := t.pts[v[2]][0]-a[0], t.pts[v[2]][1]-a[1]
	za := t.z[v[0]]
	zb, zc := t.z[v[1]]-za, t.z[v[2]]-za
	det := bx*cy - by*cx
	gx, gy = (zb*cy-zc*by)/det, (zc*bx-zb*cx)/det
	return za + gx*(p[0]-a[0]) + gy*(p[1]-a[1]), gx, gy
}

func (t *TIN) sample(x, y float64) (z, gx, gy float64, ok bool) {
	p := orb.Point{x, y}
	k := t.locate(p)
	if k == none {
		return 0, 0, 0, false
	}
	z, gx, gy = t.plane(k, p)
	return z, gx, gy, true
}

// Height is the height of the triangle at p in metres.
func (t *TIN) Height(p orb.Point) (zM float64, ok bool) {
	z, _, _, ok := t.sample(p[0], p[1])
	return z, ok
}

// Gradient is the slope of the triangle at p. It jumps from one triangle to
// the next; on an edge it is that of one of them, always the same.
func (t *TIN) Gradient(p orb.Point) (eastRatio, northRatio float64, ok bool) {
	_, gx, gy, ok := t.sample(p[0], p[1])
	return gx, gy, ok
}

// Bounds is the box around the surface.
func (t *TIN) Bounds() orb.Bound { return t.bound }

// SpacingM is the median side of the triangles.
func (t *TIN) SpacingM() float64 { return t.spacingM }

// AreaM2 is the area covered, in the frame's plane.
func (t *TIN) AreaM2() float64 { return t.area }

// Describe says how heights are found.
func (t *TIN) Describe() string { return fmt.Sprintf("plane triangles between %d points", t.points) }

// tell notes what was read.
func (s *survey) tell(t *TIN) {
	s.notes = append(s.notes, geo.Note{
		Code: geo.NoteTerrain, Place: s.place,
		Text: fmt.Sprintf("terrain of plane triangles between %d points, %.2f ha, sides of %.1f m (median)",
			t.points, t.area/geo.HectareM2, t.spacingM),
	})
}
