package geo_test

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo"
)

// readFigures reads a CSV of numbers with a header line and # comments.
func readFigures(t *testing.T, name string) [][]float64 {
	t.Helper()
	f, err := os.Open("testdata/reference/" + name)
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	recs, err := r.ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(recs), 1)
	var out [][]float64
	for _, rec := range recs[1:] {
		row := make([]float64, len(rec))
		for i, s := range rec {
			row[i], err = strconv.ParseFloat(s, 64)
			require.NoError(t, err)
		}
		out = append(out, row)
	}
	return out
}

func newFrame(t testing.TB, lon, lat float64) geo.Frame {
	t.Helper()
	f, ok := geo.NewFrame(geo.LonLat{LonDeg: lon, LatDeg: lat})
	require.True(t, ok)
	return f
}

// Row lengths against geodesics, ten origins from 60 S to 70 N and both sides
// of the antimeridian, up to 50 km off the origin.
// Source: GeographicLib 2.1.2, GeodSolve -i (testdata/reference/make_geodesics.py).
func TestPlanLengthAgainstGeodesics(t *testing.T) {
	var worst float64
	for _, r := range readFigures(t, "geodesics.csv") {
		f := newFrame(t, r[0], r[1])
		a := f.ToLocal(geo.LonLat{LonDeg: r[2], LatDeg: r[3]})
		b := f.ToLocal(geo.LonLat{LonDeg: r[4], LatDeg: r[5]})
		want := r[7]
		ppm := math.Abs(f.PlanM(a, b)-want) / want * 1e6
		worst = max(worst, ppm)
		assert.InDelta(t, want, f.PlanM(a, b), want*2e-9, "%v", r) // 0.002 mm per km
		az := geo.BearingOf(b[0]-a[0], b[1]-a[1]).Deg() + f.ConvergenceDeg(a)
		// The chord of a geodesic differs from its tangent by the arc-to-chord
		// angle, below 0.02 degrees for 1 km at 50 km.
		assert.InDelta(t, 0, math.Remainder(az-r[6], 360), 0.02, "azimuth %v", r)
	}
	t.Logf("worst %.6f ppm", worst)
}

// Source: GeographicLib 2.1.2, TransverseMercatorProj.
func TestFrameAgainstProjection(t *testing.T) {
	for _, r := range readFigures(t, "projections.csv") {
		f := newFrame(t, r[0], 0)
		p := geo.LonLat{LonDeg: r[1], LatDeg: r[2]}
		q := f.ToLocal(p)
		assert.InDelta(t, r[3], q[0], 1e-8, "x of %v", p)
		assert.InDelta(t, r[4], q[1], 1e-8, "y of %v", p)
		assert.InDelta(t, r[5], f.ConvergenceDeg(q), 1e-11, "convergence at %v", p)
		back := f.ToLonLat(orb.Point{r[3], r[4]})
		assert.InDelta(t, p.LatDeg, back.LatDeg, 1e-13)
		assert.InDelta(t, 0, geo.WrapLonDeg(p.LonDeg-back.LonDeg), 1e-12)
	}
}

func TestFrameRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := geo.LonLat{LonDeg: rapid.Float64Range(-180, 180).Draw(t, "lon"), LatDeg: rapid.Float64Range(-85, 85).Draw(t, "lat")}
		f, ok := geo.NewFrame(o)
		require.True(t, ok)
		p := orb.Point{rapid.Float64Range(-25000, 25000).Draw(t, "x"), rapid.Float64Range(-25000, 25000).Draw(t, "y")}
		q := f.ToLocal(f.ToLonLat(p))
		assert.InDelta(t, p[0], q[0], 2e-8)
		assert.InDelta(t, p[1], q[1], 2e-8)
	})
}

func TestFrameRefuses(t *testing.T) {
	for name, p := range map[string]geo.LonLat{
		"pole":         {LonDeg: 0, LatDeg: 89.5},
		"latitude 91":  {LonDeg: 0, LatDeg: 91},
		"longitude":    {LonDeg: 400, LatDeg: 0},
		"NaN":          {LonDeg: math.NaN(), LatDeg: 0},
		"NaN latitude": {LonDeg: 0, LatDeg: math.NaN()},
	} {
		_, ok := geo.NewFrame(p)
		assert.False(t, ok, name)
	}
}

// +157 ppm at 1000 m (hand: 1000/6371000 = 157.0e-6).
func TestGroundFactor(t *testing.T) {
	f := newFrame(t, 17.5, 48.2)
	assert.Equal(t, 1.0, f.GroundFactor(), "no height, no factor")
	_, known := f.Height()
	assert.False(t, known)
	f = f.WithHeight(1000)
	assert.InDelta(t, 1+1000.0/6371000, f.GroundFactor(), 1e-6)
}

func TestQuarterMeridian(t *testing.T) {
	f := newFrame(t, 0, 45)
	// the quarter meridian of WGS84 is 10 001 965.729 m (Karney 2011b, from memory)
	q := newFrame(t, 0, 0).ToLocal(geo.LonLat{LonDeg: 0, LatDeg: 89.999999999})
	assert.InDelta(t, 10001965.729, q[1], 0.001)
	assert.Equal(t, orb.Point{}, f.ToLocal(f.Origin()))
}

func ExampleFrame() {
	f, _ := geo.NewFrame(geo.LonLat{LonDeg: 17.48, LatDeg: 48.14})
	a := f.ToLocal(geo.LonLat{LonDeg: 17.48, LatDeg: 48.14})
	b := f.ToLocal(geo.LonLat{LonDeg: 17.482, LatDeg: 48.141})
	fmt.Printf("row of %.3f m, bearing %s\n", f.PlanM(a, b), geo.BearingOf(b[0]-a[0], b[1]-a[1]))
	// Output: row of 185.792 m, bearing 053.24°
}

func BenchmarkToLocal(b *testing.B) {
	f := newFrame(b, 17.5, 48.2)
	p := geo.LonLat{LonDeg: 17.501, LatDeg: 48.203}
	b.ReportAllocs()
	for b.Loop() {
		_ = f.ToLocal(p)
	}
}

// Forward and inverse share no series for the longitude, and meet again on
// both sides of the places where the forward one changes its method.
func TestRoundTripAcrossMethods(t *testing.T) {
	f := newFrame(t, 0, 0)
	for lat := -88.0; lat <= 88; lat += 0.5 {
		for _, lon := range []float64{0, 0.0001, 0.7, 1.6, 1.8, 3} {
			q := f.ToLocal(geo.LonLat{LonDeg: lon, LatDeg: lat})
			back := f.ToLonLat(q)
			assert.InDelta(t, lat, back.LatDeg, 1e-13, "%g %g", lon, lat)
			assert.InDelta(t, lon, back.LonDeg, 1e-12, "%g %g", lon, lat)
		}
	}
}
