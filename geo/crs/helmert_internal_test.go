package crs

import (
	"math"
	"sort"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
)

// WGS 72 to WGS 84: geocentric (3657660.66, 255768.55, 5201382.11) becomes
// (3657660.78, 255778.43, 5201387.75). Source: IOGP Guidance Note 7-2, worked
// example of EPSG method 1033, from memory.
func TestHelmertOnCentres(t *testing.T) {
	h := newHelmertShift(Helmert{DZM: 4.5, RZSec: 0.554, ScalePPM: 0.219}, Ellipsoid{6378135, 298.26}).(*helmertShift)
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

// The size that the note of a lost shift names is the median of the table, to
// a quarter.
func TestLikelyShifts(t *testing.T) {
	table, err := epsg()
	require.NoError(t, err)
	sizes := map[float64][]float64{}
	for _, line := range table.geoLines {
		f := strings.Split(line, "\t")
		g, b := table.parseGeographic(f), parseBounds(f[8])
		if g.Shift == nil || g.Shift.Null || b == nil {
			continue
		}
		if b.EastDeg < b.WestDeg {
			b.EastDeg += 360
		}
		p := geo.LonLat{LonDeg: (b.WestDeg + b.EastDeg) / 2, LatDeg: (b.SouthDeg + b.NorthDeg) / 2}
		q, ok := newHelmertShift(g.Shift.Helmert, g.Ellipsoid).forward(p)
		require.True(t, ok)
		east := math.Remainder(q.LonDeg-p.LonDeg, 360) * math.Cos(p.LatDeg*radPerDegree)
		for _, l := range likelyShifts {
			if math.Abs(g.Ellipsoid.SemiMajorM-l.semiMajorM) <= l.withinM {
				sizes[l.semiMajorM] = append(sizes[l.semiMajorM], 111e3*math.Hypot(east, q.LatDeg-p.LatDeg))
				break
			}
		}
	}
	for _, l := range likelyShifts {
		if l.shiftM == nullGapM {
			continue
		}
		v := sizes[l.semiMajorM]
		sort.Float64s(v)
		require.NotEmpty(t, v, l.semiMajorM)
		assert.InEpsilon(t, v[len(v)/2], l.shiftM, 0.25, "%.3f", l.semiMajorM)
	}
}
