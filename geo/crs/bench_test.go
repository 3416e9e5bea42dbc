package crs_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hemrow/geo"
	"hemrow/geo/crs"
)

var (
	sinkLonLat geo.LonLat
	sinkXY     crs.XY
)

// One point of each system of the fixture, without its datum step.
func BenchmarkToWGS84(b *testing.B) {
	eachBenchmark(b, func(b *testing.B, s *crs.System, p crs.XY, _ geo.LonLat) {
		for b.Loop() {
			sinkLonLat, _ = s.ToWGS84(p)
		}
	})
}

// Turning points must not allocate: files hold millions of them.
func TestPointsDoNotAllocate(t *testing.T) {
	ids, defs := definitions(t)
	for _, id := range ids {
		d := defs[id]
		d.Base.Shift = &crs.Shift{Helmert: crs.Helmert{DXM: 100, RXSec: 1}}
		s := system(t, d)
		p := crs.XY{X: d.Params.FalseEastM / d.UnitM, Y: d.Params.FalseNorthM / d.UnitM}
		assert.Zero(t, testing.AllocsPerRun(10, func() {
			sinkLonLat, _ = s.ToWGS84(p)
			sinkXY, _ = s.FromWGS84(sinkLonLat)
		}), id)
	}
}

func BenchmarkFromWGS84(b *testing.B) {
	eachBenchmark(b, func(b *testing.B, s *crs.System, _ crs.XY, ll geo.LonLat) {
		for b.Loop() {
			sinkXY, _ = s.FromWGS84(ll)
		}
	})
}

func eachBenchmark(b *testing.B, run func(*testing.B, *crs.System, crs.XY, geo.LonLat)) {
	_, defs := definitions(b)
	points := map[string]map[string]string{}
	for _, r := range readTable(b, "projections.csv") {
		points[r["system"]] = r // the last, off the centre
	}
	for _, c := range []struct{ name, id string }{
		{"transverse Mercator", "EPSG:25832"},
		{"Lambert cone", "EPSG:2154"},
		{"oblique stereographic", "EPSG:28992"},
		{"Swiss oblique", "EPSG:2056"},
		{"Krovak", "EPSG:5514"},
		{"Albers", "EPSG:3577"},
		{"Lambert azimuthal", "EPSG:3035"},
		{"polar stereographic", "EPSG:3031"},
		{"Web Mercator", "EPSG:3857"},
		{"Cassini", "EPSG:3377"},
		{"New Zealand", "EPSG:27200"},
	} {
		s, r := system(b, defs[c.id]), points[c.id]
		p := crs.XY{X: number(b, r["x"]), Y: number(b, r["y"])}
		ll := geo.LonLat{LonDeg: number(b, r["lon"]), LatDeg: number(b, r["lat"])}
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			run(b, s, p, ll)
		})
	}
}
