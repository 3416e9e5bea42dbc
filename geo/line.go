package geo

import (
	"math"

	"github.com/paulmach/orb"
	geom "github.com/twpayne/go-geom"
)

// Line is a course over the ground in a frame: a go-geom LineString of layout
// XYZM. X and Y are frame metres, Z is height in metres (NaN where none is
// known), M is ground chainage in metres from the first vertex, strictly
// increasing.
//
// A Line is a view of its flat coordinates (x, y, z, m, x, y, z, m, …): many
// lines may share one array, so copy before changing. The zero Line is empty.
type Line struct{ flat []float64 }

// LineStride is the number of values a vertex takes in a line's flat form.
const LineStride = 4

// NewLine makes a line through points of the frame without heights: chainage
// is [Frame.PlanM] times [Frame.GroundFactor]. A vertex nearer than
// [CoincidentM] to the one before it is left out, since chainage must grow; a
// line of fewer than two vertices is empty.
func NewLine(f Frame, pts []orb.Point) Line {
	flat := make([]float64, 0, LineStride*len(pts))
	g := f.GroundFactor()
	var m float64
	for i, p := range pts {
		if i > 0 && len(flat) > 0 {
			q := orb.Point{flat[len(flat)-4], flat[len(flat)-3]}
			d := f.PlanM(q, p)
			if d < CoincidentM {
				continue
			}
			m += d * g
		}
		flat = append(flat, p[0], p[1], math.NaN(), m)
	}
	if len(flat) < 2*LineStride {
		return Line{}
	}
	return Line{flat}
}

// LineOfFlat takes flat XYZM coordinates as a line, without copying.
// It is for makers of many lines; the caller answers for the chainage.
func LineOfFlat(flat []float64) Line { return Line{flat} }

// Len is the number of vertices.
func (l Line) Len() int { return len(l.flat) / LineStride }

// At is vertex i in the frame.
func (l Line) At(i int) orb.Point { return orb.Point{l.flat[LineStride*i], l.flat[LineStride*i+1]} }

// Ends are the first and the last vertex of a line that is not empty.
func (l Line) Ends() (first, last orb.Point) { return l.At(0), l.At(l.Len() - 1) }

// HeightAt is the height of vertex i in metres; known is false if it has none.
func (l Line) HeightAt(i int) (zM float64, known bool) {
	z := l.flat[LineStride*i+2]
	return z, !math.IsNaN(z)
}

// ChainageM is the ground chainage of vertex i in metres.
func (l Line) ChainageM(i int) float64 { return l.flat[LineStride*i+3] }

// GroundM is the ground length of the whole line in metres; an empty line has
// length 0.
func (l Line) GroundM() float64 {
	if len(l.flat) == 0 {
		return 0
	}
	return l.flat[len(l.flat)-1]
}

// PlanM is the horizontal length of the whole line in frame f, in metres.
func (l Line) PlanM(f Frame) float64 {
	var sum float64
	for i := 1; i < l.Len(); i++ {
		sum += f.PlanM(l.At(i-1), l.At(i))
	}
	return sum
}

// PointAt is the place at ground chainage m, linear between vertices. Chainages
// before the start or past the end give the nearest end.
func (l Line) PointAt(chainageM float64) orb.Point {
	p, _ := l.PointFrom(1, chainageM)
	return p
}

// PointFrom is PointAt for chainages that rise from call to call: the search
// begins at the segment that ends in vertex i, 1 at first, and the one found is
// where the next goes on.
func (l Line) PointFrom(i int, chainageM float64) (p orb.Point, found int) {
	n := l.Len()
	if n == 0 {
		return orb.Point{}, i
	}
	for ; i < n; i++ {
		m0, m1 := l.ChainageM(i-1), l.ChainageM(i)
		if chainageM > m1 && i < n-1 {
			continue
		}
		t := math.Max(0, math.Min(1, (chainageM-m0)/(m1-m0)))
		a, b := l.At(i-1), l.At(i)
		return orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}, i
	}
	return l.At(0), i
}

// Points is a copy of the line's vertices in plan.
func (l Line) Points() orb.LineString {
	ls := make(orb.LineString, l.Len())
	for i := range ls {
		ls[i] = l.At(i)
	}
	return ls
}

// GoGeom is the line as a go-geom LineString of layout XYZM that shares its
// coordinates.
func (l Line) GoGeom() *geom.LineString {
	return geom.NewLineStringFlat(geom.XYZM, l.flat)
}
