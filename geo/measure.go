package geo

import (
	"math"

	"github.com/paulmach/orb"
)

// AreaM2 is the area of a polygon of the frame on the ellipsoid, in square
// metres: outer ring less holes, whichever way they run. It is the area of the
// plane less the areal scale 1 + x²/R², whose mean over the polygon is exact at
// the root mean square of x (Green's theorem:
// 12 ∫x² = Σ (x₀² + x₀x₁ + x₁²)(x₀y₁ - x₁y₀)). Sums are taken from the first
// vertex, to keep digits far from the origin. Against geodesic areas it is
// right to 2e-8, since geodesic sides bend in the projection. A polygon
// without area gives 0; rings may be open.
func (f Frame) AreaM2(p orb.Polygon) float64 {
	var total float64
	for k, r := range p {
		a := math.Abs(f.ringAreaM2(r))
		if k > 0 {
			a = -a
		}
		total += a
	}
	return total
}

// ringAreaM2 is positive for a ring that runs counter-clockwise.
func (f Frame) ringAreaM2(r orb.Ring) float64 {
	if len(r) < 3 {
		return 0
	}
	base, oy := r[0][0], r[0][1]
	var area2, moment6, moment12 float64
	for i := range r {
		a, b := r[i], r[(i+1)%len(r)]
		x0, y0, x1, y1 := a[0]-base, a[1]-oy, b[0]-base, b[1]-oy
		cross := x0*y1 - x1*y0
		area2 += cross
		moment6 += (x0 + x1) * cross
		moment12 += (x0*x0 + x0*x1 + x1*x1) * cross
	}
	plane := area2 / 2
	if plane == 0 {
		return 0
	}
	// ∫(base+x')² = base² A + 2 base ∫x' + ∫x'²
	meanX2 := base*base + 2*base*(moment6/6)/plane + (moment12/12)/plane
	return plane / f.AreaScale(orb.Point{math.Sqrt(max(0, meanX2)), 0})
}

// AroundM is the plan length of a ring in metres, closed or open.
func (f Frame) AroundM(r orb.Ring) (sumM float64) {
	for i := range r {
		sumM += f.PlanM(r[i], r[(i+1)%len(r)])
	}
	return sumM
}
