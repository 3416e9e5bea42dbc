package crs

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"hemrow/geo"
)

// WGS 72 to WGS 84: geocentric (3657660.66, 255768.55, 5201382.11) becomes
// (3657660.78, 255778.43, 5201387.75). Source: IOGP Guidance Note 7-2, worked
// example of EPSG method 1033, from memory.
func TestHelmertOnCentres(t *testing.T) {
	h := newHelmertShift(Helmert{DZM: 4.5, RZSec: 0.554, ScalePPM: 0.219}, Ellipsoid{6378135, 298.26})
	in := [3]float64{3657660.66, 255768.55, 5201382.11}
	want := [3]float64{3657660.78, 255778.43, 5201387.75}
	for i, row := range h.m {
		got := row[0]*in[0] + row[1]*in[1] + row[2]*in[2] + [3]float64{h.t.xM, h.t.yM, h.t.zM}[i]
		assert.InDelta(t, want[i], got, 0.01, "axis %d, two decimals printed of both", i)
	}
}

// The closed form of the way from the centre undoes the way there.
func TestCentreRoundTrip(t *testing.T) {
	for _, e := range []Ellipsoid{wgs84Ellipsoid, {6377563.396, 299.3249646}, {6378249.145, 293.465}, {6371000, 0}} {
		f := newFigure(e)
		for lat := -90.0; lat <= 90; lat += 7.5 {
			for lon := -180.0; lon <= 180; lon += 22.5 {
				got := f.fromCentre(f.toCentre(geo.LonLat{LonDeg: lon, LatDeg: lat}))
				assert.InDelta(t, lat, got.LatDeg, 1e-12)
				if math.Abs(lat) < 90 {
					assert.InDelta(t, 0, math.Remainder(lon-got.LonDeg, 360), 1e-12)
				}
			}
		}
	}
}
