package crs_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo"
	"hemrow/geo/crs"
)

// greenwich is the base that tests need no more of.
var greenwich = crs.Geographic{Name: "WGS 84", Ellipsoid: wgs84, AngleDeg: 1}

func utm33() crs.Definition {
	return crs.Definition{
		Name: "WGS 84 / UTM zone 33N", Code: 32633, Base: greenwich, UnitM: 1, Method: crs.TransverseMercator,
		Params: crs.Params{LonOriginDeg: 15, ScaleFactor: 0.9996, FalseEastM: 500000},
	}
}

func Example() {
	s, err := crs.New(crs.Definition{
		Name: "WGS 84 / UTM zone 33N", Code: 32633,
		Base: crs.Geographic{
			Name: "WGS 84", AngleDeg: 1,
			Ellipsoid: crs.Ellipsoid{SemiMajorM: 6378137, InvFlatteningRatio: 298.257223563},
		},
		Method: crs.TransverseMercator,
		Params: crs.Params{LonOriginDeg: 15, ScaleFactor: 0.9996, FalseEastM: 500000},
		UnitM:  1,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	p, _ := s.FromWGS84(geo.LonLat{LonDeg: 15.45, LatDeg: 46.95})
	ll, _ := s.ToWGS84(p)
	fmt.Printf("%s: %.3f, %.3f is %v\n", s.Name(), p.X, p.Y, ll)
	// Output: EPSG:32633 WGS 84 / UTM zone 33N: 534243.388, 5199706.084 is 15.4500000, 46.9500000
}

// roundTripDeg is a tenth of a millimetre.
const roundTripDeg = 1e-9

// There and back, anywhere in the area of use of every system of the fixture.
func TestRoundTrip(t *testing.T) {
	ids, defs := definitions(t)
	boxes := map[string][]geo.LonLat{}
	for _, r := range readTable(t, "projections.csv") {
		boxes[r["system"]] = append(boxes[r["system"]], geo.LonLat{LonDeg: number(t, r["lon"]), LatDeg: number(t, r["lat"])})
	}
	for _, id := range ids {
		s := system(t, defs[id])
		first := boxes[id][0]
		var east, south, north float64
		for _, p := range boxes[id] {
			east = max(east, math.Mod(p.LonDeg-first.LonDeg+360, 360))
			south, north = min(south, p.LatDeg-first.LatDeg), max(north, p.LatDeg-first.LatDeg)
		}
		rapid.Check(t, func(t *rapid.T) {
			p := geo.LonLat{
				LonDeg: geo.WrapLonDeg(first.LonDeg + rapid.Float64Range(0, east).Draw(t, "east")),
				LatDeg: first.LatDeg + rapid.Float64Range(south, north).Draw(t, "north"),
			}
			xy, ok := s.FromBase(p)
			require.True(t, ok, "%s %v", id, p)
			back, ok := s.ToBase(xy)
			require.True(t, ok, "%s %v", id, xy)
			assert.InDelta(t, p.LatDeg, back.LatDeg, roundTripDeg, id)
			assert.InDelta(t, 0, math.Remainder(p.LonDeg-back.LonDeg, 360), roundTripDeg, id)
			assert.LessOrEqual(t, math.Abs(back.LonDeg), 180.0)
		})
	}
}

// A projection of the south is that of the north in a mirror. The fixture has
// no oblique Mercator and no oblique stereographic system of the south.
func TestMirroredAcrossTheEquator(t *testing.T) {
	_, defs := definitions(t)
	for _, id := range []string{
		"EPSG:25832", "EPSG:2154", "EPSG:24200", "EPSG:28992", "EPSG:2056", "EPSG:3375", "EPSG:29873",
		"EPSG:5070", "EPSG:3035", "EPSG:3068", "EPSG:3395", "EPSG:3994", "EPSG:5041", "EPSG:3995",
	} {
		d := defs[id]
		north := system(t, d)
		d.Params.LatOriginDeg, d.Params.FalseNorthM = -d.Params.LatOriginDeg, -d.Params.FalseNorthM
		d.Params.Parallel1Deg, d.Params.Parallel2Deg = -d.Params.Parallel1Deg, -d.Params.Parallel2Deg
		d.Params.AzimuthDeg, d.Params.SkewDeg = -d.Params.AzimuthDeg, -d.Params.SkewDeg
		south := system(t, d)
		for _, r := range readTable(t, "projections.csv") {
			if r["system"] != id {
				continue
			}
			p := geo.LonLat{LonDeg: number(t, r["lon"]), LatDeg: number(t, r["lat"])}
			a, ok := north.FromBase(p)
			require.True(t, ok)
			b, ok := south.FromBase(geo.LonLat{LonDeg: p.LonDeg, LatDeg: -p.LatDeg})
			require.True(t, ok, id)
			assert.InDelta(t, a.X, b.X, 2e-8, id)
			assert.InDelta(t, a.Y, -b.Y, 2e-8, id)
		}
	}
}

// A cone that counts westing is the same cone. Source: IOGP Guidance Note 7-2,
// section 3.1.1.2 (W = FE - E; from memory); PROJ 9.1.1 does not have it.
func TestConeCountedWestwards(t *testing.T) {
	d := crs.Definition{
		Name: "Greenland zone 5 east", Base: greenwich, UnitM: 1, Method: crs.LambertConic1SP,
		Params: crs.Params{LatOriginDeg: 70.5, LonOriginDeg: -24, ScaleFactor: 1, FalseEastM: 1000, FalseNorthM: 50},
	}
	east := system(t, d)
	d.Method = crs.LambertConicWest
	west := system(t, d)
	p := geo.LonLat{LonDeg: -23, LatDeg: 70}
	a, _ := east.FromBase(p)
	b, _ := west.FromBase(p)
	assert.InDelta(t, a.X-1000, 1000-b.X, 1e-8)
	assert.InDelta(t, a.Y, b.Y, 1e-8)
	back, ok := west.ToBase(b)
	require.True(t, ok)
	assert.InDelta(t, 0, groundM(p, back), 1e-8)
}

// Longitudes of a system in grads from Paris. Source: the EPSG dataset gives
// the meridian of Paris as 2.5969213 grads east of Greenwich (from memory).
func TestGeographicInGrads(t *testing.T) {
	s := system(t, crs.Definition{Name: "NTF (Paris)", Base: crs.Geographic{
		Ellipsoid: crs.Ellipsoid{SemiMajorM: 6378249.2, InvFlatteningRatio: 293.4660213}, MeridianDeg: 2.33722917, AngleDeg: 0.9,
	}})
	require.True(t, s.Geographic())
	ll, ok := s.ToBase(crs.XY{X: -2.5969213, Y: 52})
	require.True(t, ok)
	assert.InDelta(t, 0, ll.LonDeg, 1e-12)
	assert.InDelta(t, 46.8, ll.LatDeg, 1e-12)
	p, ok := s.FromWGS84(ll)
	require.True(t, ok)
	assert.InDelta(t, -2.5969213, p.X, 1e-12)
	assert.InDelta(t, 52, p.Y, 1e-12)
}

// The shift is applied on the way to WGS84 and only there; a datum taken for
// WGS84, and one without a known shift, is left alone.
func TestShiftOfTheDatum(t *testing.T) {
	d := utm33()
	d.Base.Ellipsoid = bessel
	place := crs.XY{X: 534243, Y: 5199706}
	plain := system(t, d)
	base, ok := plain.ToWGS84(place)
	require.True(t, ok)

	d.Base.Shift = &crs.Shift{Null: true}
	same, _ := system(t, d).ToWGS84(place)
	assert.Equal(t, base, same)

	d.Base.Shift = &crs.Shift{Helmert: crs.Helmert{DXM: 577.326, DYM: 90.129, DZM: 463.919, RXSec: 5.137, RYSec: 1.474, RZSec: 5.297, ScalePPM: 2.4232}}
	shifted := system(t, d)
	d.Base.Shift.Helmert = crs.Helmert{} // the system has its own copy
	assert.NotZero(t, shifted.Definition().Base.Shift.Helmert.DXM)
	far, ok := shifted.ToWGS84(place)
	require.True(t, ok)
	assert.InDelta(t, 120, groundM(base, far), 60, "the size of a national datum's shift, metres")
	own, _ := shifted.ToBase(place)
	assert.Equal(t, base, own)
	back, ok := shifted.FromWGS84(far)
	require.True(t, ok)
	assert.InDelta(t, place.X, back.X, 1e-7)
	assert.InDelta(t, place.Y, back.Y, 1e-7)
	assert.Same(t, shifted, shifted.WithGrid(nil))
}

func TestRefusedDefinitions(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*crs.Definition)
		want   string
	}{
		{"unknown method", func(d *crs.Definition) { d.Method = 9813 }, "EPSG:32633 WGS 84 / UTM zone 33N: the projection (method EPSG:9813) is not supported"},
		{"no scale factor", func(d *crs.Definition) { d.Params.ScaleFactor = 0 }, "scale factor is 0"},
		{"no unit", func(d *crs.Definition) { d.UnitM = 0 }, "unit of length (m) is 0"},
		{"not a number", func(d *crs.Definition) { d.Params.FalseEastM = math.NaN() }, "false easting (m) is NaN"},
		{"infinite", func(d *crs.Definition) { d.Params.LonOriginDeg = math.Inf(1) }, "longitude of origin (degrees) is +Inf"},
		{"flat earth", func(d *crs.Definition) { d.Base.Ellipsoid.InvFlatteningRatio = 1 }, "inverse flattening of the ellipsoid is 1"},
		{"earth in feet", func(d *crs.Definition) { d.Base.Ellipsoid.SemiMajorM = 20925604 }, "semi-major axis of the ellipsoid (m) is 20925604"},
		{"unit of angle", func(d *crs.Definition) { d.Method, d.Base.AngleDeg = 0, 0 }, "unit of angle (degrees) is 0"},
		{"shift", func(d *crs.Definition) { d.Base.Shift = &crs.Shift{Helmert: crs.Helmert{RZSec: 1e5}} }, "datum rotation about Z"},
		{"latitude", func(d *crs.Definition) { d.Params.LatOriginDeg = 91 }, "latitude of origin (degrees) is 91"},
		{"cylinder", func(d *crs.Definition) {
			d.Method, d.Params.Parallel1Deg, d.Params.Parallel2Deg = crs.LambertConic2SP, 30, -30
		}, "make no cone"},
		{"cone at a pole", func(d *crs.Definition) {
			d.Method, d.Params.Parallel1Deg, d.Params.Parallel2Deg = crs.LambertConic2SP, 90, 30
		}, "make no cone"},
		{"cone's open end", func(d *crs.Definition) {
			d.Method, d.Params.Parallel1Deg, d.Params.Parallel2Deg, d.Params.LatOriginDeg = crs.LambertConic2SP, 40, 30, -90
		}, "the pole at which the cone is open"},
		{"equal-area cylinder", func(d *crs.Definition) {
			d.Method, d.Params.Parallel1Deg, d.Params.Parallel2Deg = crs.AlbersEqualArea, 30, -30
		}, "make no cone"},
		{"stereographic of a pole", func(d *crs.Definition) { d.Method, d.Params.LatOriginDeg = crs.ObliqueStereographic, 90 }, "short of the poles"},
		{"oblique at a pole", func(d *crs.Definition) { d.Method, d.Params.LatOriginDeg = crs.HotineA, -90 }, "short of the poles"},
		{"cylinder round a pole", func(d *crs.Definition) { d.Method, d.Params.Parallel1Deg = crs.MercatorB, 90 }, "short of the poles"},
		{"not a pole", func(d *crs.Definition) { d.Method, d.Params.LatOriginDeg = crs.PolarStereographicA, 71 }, "needs a pole"},
		{"no parallel", func(d *crs.Definition) { d.Method = crs.PolarStereographicB }, "the equator, or missing"},
		{"no pseudo parallel", func(d *crs.Definition) { d.Method = crs.KrovakEastNorth }, "pseudo standard parallel"},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := utm33()
			c.change(&d)
			_, err := crs.New(d)
			assert.ErrorContains(t, err, c.want)
		})
	}
	_, err := crs.New(crs.Definition{})
	assert.ErrorContains(t, err, "unnamed system")
}

// Where a projection has no answer it says so.
func TestOutsideTheProjection(t *testing.T) {
	_, defs := definitions(t)
	nan, inf := math.NaN(), math.Inf(1)
	for id, d := range defs {
		s := system(t, d)
		for _, p := range []crs.XY{{X: nan}, {Y: nan}, {X: inf}, {Y: -inf}, {X: 1e300, Y: 1e300}, {X: 1e12}} {
			_, ok := s.ToWGS84(p)
			assert.False(t, ok, "%s %v", id, p)
		}
		for _, ll := range []geo.LonLat{{LonDeg: nan}, {LatDeg: nan}, {LatDeg: 91}, {LonDeg: inf}} {
			_, ok := s.FromWGS84(ll)
			assert.False(t, ok, "%s %v", id, ll)
		}
	}
	for _, c := range []struct {
		id string
		ll geo.LonLat
	}{
		{"EPSG:25832", geo.LonLat{LonDeg: 100, LatDeg: 0}},
		{"EPSG:2154", geo.LonLat{LonDeg: 3, LatDeg: -90}},
		{"EPSG:3857", geo.LonLat{LonDeg: 0, LatDeg: 90}},
		{"EPSG:28992", geo.LonLat{LonDeg: -175, LatDeg: -52}},
		{"EPSG:2056", geo.LonLat{LonDeg: 7.4, LatDeg: -43.2}},
		{"EPSG:5041", geo.LonLat{LonDeg: 0, LatDeg: -10}},
		{"EPSG:3035", geo.LonLat{LonDeg: -170, LatDeg: -52}},
		{"EPSG:5514", geo.LonLat{LonDeg: 17, LatDeg: -80}},
		{"EPSG:3068", geo.LonLat{LonDeg: 50, LatDeg: 52}},
		{"EPSG:27200", geo.LonLat{LonDeg: 10, LatDeg: 50}},
	} {
		_, ok := system(t, defs[c.id]).FromBase(c.ll)
		assert.False(t, ok, "%s %v", c.id, c.ll)
	}
}

// The poles are places like any other to the projections that reach them.
func TestPoles(t *testing.T) {
	_, defs := definitions(t)
	for _, c := range []struct {
		id     string
		latDeg float64
		want   crs.XY
	}{
		{"EPSG:5041", 90, crs.XY{X: 2e6, Y: 2e6}},
		{"EPSG:5042", -90, crs.XY{X: 2e6, Y: 2e6}},
		{"EPSG:3031", -90, crs.XY{}},
		{"EPSG:6931", 90, crs.XY{}},
	} {
		s := system(t, defs[c.id])
		p, ok := s.FromBase(geo.LonLat{LonDeg: 33, LatDeg: c.latDeg})
		require.True(t, ok, c.id)
		assert.InDelta(t, c.want.X, p.X, 1e-8, c.id)
		assert.InDelta(t, c.want.Y, p.Y, 1e-8, c.id)
		ll, ok := s.ToBase(c.want)
		require.True(t, ok, c.id)
		assert.InDelta(t, c.latDeg, ll.LatDeg, 1e-13, c.id)
	}
}

func TestMethodNames(t *testing.T) {
	assert.Equal(t, "Transverse Mercator", crs.TransverseMercator.String())
	assert.Equal(t, "Krovak (North Orientated)", crs.Method(1041).String())
	assert.Equal(t, "method EPSG:1", crs.Method(1).String())
	assert.Equal(t, "longitude and latitude", crs.Method(0).String())
	assert.True(t, crs.Method(9822).Supported())
	assert.False(t, crs.Method(9818).Supported())
}

// No definition makes New panic, and no system answers with what is not a
// number.
func FuzzNew(f *testing.F) {
	_, defs := definitions(f)
	for _, d := range defs {
		p, e := d.Params, d.Base.Ellipsoid
		f.Add(int(d.Method), e.SemiMajorM, e.InvFlatteningRatio, d.Base.MeridianDeg, d.UnitM, p.LatOriginDeg, p.LonOriginDeg,
			p.Parallel1Deg, p.Parallel2Deg, p.ScaleFactor, p.FalseEastM, p.FalseNorthM, p.AzimuthDeg, p.SkewDeg, 4e5, 5e6)
	}
	f.Fuzz(func(t *testing.T, method int, a, rf, meridian, unit, lat0, lon0, sp1, sp2, k, fe, fn, az, skew, x, y float64) {
		s, err := crs.New(crs.Definition{
			Method: crs.Method(method), UnitM: unit,
			Base: crs.Geographic{MeridianDeg: meridian, AngleDeg: unit, Ellipsoid: crs.Ellipsoid{SemiMajorM: a, InvFlatteningRatio: rf}},
			Params: crs.Params{
				LatOriginDeg: lat0, LonOriginDeg: lon0, Parallel1Deg: sp1, Parallel2Deg: sp2, ScaleFactor: k,
				FalseEastM: fe, FalseNorthM: fn, AzimuthDeg: az, SkewDeg: skew,
			},
		})
		if err != nil {
			return
		}
		if ll, ok := s.ToWGS84(crs.XY{X: x, Y: y}); ok {
			require.True(t, ll.Valid() && math.Abs(ll.LonDeg) <= 180, "%v", ll)
		}
		if p, ok := s.FromWGS84(geo.LonLat{LonDeg: x, LatDeg: y}); ok {
			require.False(t, math.IsNaN(p.X+p.Y) || math.IsInf(p.X, 0) || math.IsInf(p.Y, 0), "%v", p)
		}
	})
}

// Every projected system of the table can be made and turns a lattice of places
// over its whole area of use there and back.
func TestEverySystemOfTheTable(t *testing.T) {
	var count int
	var worst float64
	for code := 2000; code < 33000; code++ {
		d, err := crs.ByCode(code)
		if err != nil || d.Method == 0 || d.Bounds == nil {
			continue
		}
		count++
		s := system(t, d)
		b := *d.Bounds
		width := math.Mod(b.EastDeg-b.WestDeg+360, 360)
		if width == 0 {
			width = 360
		}
		for i := 1; i < 8; i++ {
			for j := 1; j < 8; j++ {
				p := geo.LonLat{
					LonDeg: geo.WrapLonDeg(b.WestDeg + width*float64(i)/8),
					LatDeg: b.SouthDeg + (b.NorthDeg-b.SouthDeg)*float64(j)/8,
				}
				xy, ok := s.FromBase(p)
				require.True(t, ok, "%s %v", s.Name(), p)
				back, ok := s.ToBase(xy)
				require.True(t, ok, "%s %v", s.Name(), xy)
				worst = max(worst, math.Abs(p.LatDeg-back.LatDeg), math.Abs(math.Remainder(p.LonDeg-back.LonDeg, 360)))
			}
		}
	}
	assert.Greater(t, count, 5000)
	assert.Less(t, worst, roundTripDeg)
	t.Logf("%d systems, worst %.1e degrees", count, worst)
}
