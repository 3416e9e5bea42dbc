package geo

import (
	"math"

	"github.com/paulmach/orb"
)

// WGS84 (NIMA TR8350.2, third edition, 2000, table 3.1): semi-major axis and
// flattening. Do not "improve" the flattening to the GRS80 value: they differ.
const (
	wgs84AM = 6378137.0
	wgs84F  = 1 / 298.257223563
)

// Frame is the local metre frame of one field: a transverse Mercator
// projection on WGS84 centred on the field, scale 1 on its central meridian.
// x is metres east and y metres north of the origin; at the origin, frame
// north is true north.
//
// Accuracy: the projection itself is exact to 5 nm within 3900 km of the
// central meridian (Karney 2011, section 4; series to n⁶). Taken as lengths,
// frame coordinates are long by the point scale 1 + x²/2R²: 4e-9 over a field
// of 2 km and 4e-7 over 20 km. [Frame.PlanM] takes that out again and agrees
// with the geodesic to better than 1 mm per km up to 50 km from the origin.
//
// The zero Frame is not usable; make one with [NewFrame].
type Frame struct {
	origin  LonLat
	y0M     float64 // northing of the origin from the equator
	radiusM float64 // Gaussian radius sqrt(M N) at the origin
	heightM float64
	hasH    bool
}

// NewFrame returns the frame with its origin at p. p must be valid and not
// within 1 degree of a pole, where no field is; otherwise ok is false.
func NewFrame(p LonLat) (f Frame, ok bool) {
	if !p.Valid() || math.Abs(p.LatDeg) > 89 {
		return Frame{}, false
	}
	_, y := tmForward(0, p.LatDeg*radPerDeg)
	s := math.Sin(p.LatDeg * radPerDeg)
	w2 := 1 - ecc2*s*s
	return Frame{
		origin:  p,
		y0M:     y,
		radiusM: wgs84AM * math.Sqrt(1-ecc2) / w2,
	}, true
}

// Origin is the place where the frame's coordinates are (0, 0).
func (f Frame) Origin() LonLat { return f.origin }

// WithHeight returns the frame with a known mean height of the ground in
// metres above the ellipsoid; from then on [Frame.GroundFactor] is not 1.
// Heights above the geoid may be given: 50 m of geoid are 8 mm in 1 km.
func (f Frame) WithHeight(heightM float64) Frame {
	f.heightM, f.hasH = heightM, true
	return f
}

// Height is the mean height of the ground in metres, and whether it is known.
func (f Frame) Height() (heightM float64, known bool) { return f.heightM, f.hasH }

// GroundFactor is the ratio of a horizontal length at the height of the ground
// to the same length on the ellipsoid, 1 + h/R, with R the Gaussian radius of
// curvature at the origin. It is 1 when no height is known. Taking R the same
// in all directions costs at most 0.6 ppm at 1000 m.
// Source: Torge and Müller, Geodesy, 4th ed. 2012, reduction to the ellipsoid
// (from memory).
func (f Frame) GroundFactor() float64 {
	if !f.hasH {
		return 1
	}
	return 1 + f.heightM/f.radiusM
}

// ToLocal projects a place into the frame, in metres.
func (f Frame) ToLocal(p LonLat) orb.Point {
	x, y := tmForward(WrapLonDeg(p.LonDeg-f.origin.LonDeg)*radPerDeg, p.LatDeg*radPerDeg)
	return orb.Point{x, y - f.y0M}
}

// ToLonLat is the inverse of [Frame.ToLocal], to 1e-14 degrees. The longitude
// comes back in [-180, 180].
func (f Frame) ToLonLat(p orb.Point) LonLat {
	lam, phi := tmInverse(p[0], p[1]+f.y0M)
	return LonLat{WrapLonDeg(f.origin.LonDeg + lam/radPerDeg), phi / radPerDeg}
}

// PlanM is the horizontal length in metres between two points of the frame,
// on the ellipsoid: the distance in the plane less the mean point scale of the
// segment, 1 + (x₁² + x₁x₂ + x₂²)/6R² (the exact mean of 1 + x²/2R²).
// Against GeographicLib's geodesics: within 1 mm per km up to 50 km.
func (f Frame) PlanM(a, b orb.Point) float64 {
	r := f.radiusM
	scale := 1 + (a[0]*a[0]+a[0]*b[0]+b[0]*b[0])/(6*r*r)
	dx, dy := b[0]-a[0], b[1]-a[1]
	return math.Sqrt(dx*dx+dy*dy) / scale
}

// AreaScale is the ratio of an area in the frame's plane to the same area on
// the ellipsoid at point p, 1 + x²/R².
func (f Frame) AreaScale(p orb.Point) float64 {
	return 1 + p[0]*p[0]/(f.radiusM*f.radiusM)
}

// ConvergenceDeg is the meridian convergence at p in degrees: a line's true
// azimuth is its frame bearing plus the convergence. It is zero on the
// central meridian and about x·tan(latitude)/R elsewhere.
// Source: Karney 2011, equations 23 to 26.
func (f Frame) ConvergenceDeg(p orb.Point) float64 {
	lam, phi := tmInverse(p[0], p[1]+f.y0M)
	return tmConvergence(lam, phi) / radPerDeg
}
