package geo

import (
	"fmt"
	"math"
)

// LonLat is a place in degrees: WGS84 longitude (east positive) and latitude
// (north positive). It is the only type of hemrow that holds degrees of place.
type LonLat struct {
	LonDeg float64
	LatDeg float64
}

// Valid reports whether p is finite, with |longitude| at most 360 and
// |latitude| at most 90. Longitudes beyond 180 are allowed because a field
// over the antimeridian is unwrapped to one side of it.
func (p LonLat) Valid() bool {
	return math.Abs(p.LonDeg) <= 360 && math.Abs(p.LatDeg) <= 90
}

// String prints longitude, latitude with 7 decimals (11 mm), the order of
// GeoJSON (RFC 7946 section 3.1.1, 2016).
func (p LonLat) String() string {
	return fmt.Sprintf("%.7f, %.7f", p.LonDeg, p.LatDeg)
}

// WrapLonDeg folds a longitude into [-180, 180]. An odd multiple of 180 keeps
// the sign that [math.Remainder] gives it.
func WrapLonDeg(lonDeg float64) float64 { return math.Remainder(lonDeg, 360) }
