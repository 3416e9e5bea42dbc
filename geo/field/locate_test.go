package field_test

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/crs"
	"hemrow/geo/field"
	"hemrow/geo/format"
)

// inSystem rewrites a file of longitude and latitude in another system, as a
// surveyor would deliver it.
func inSystem(t *testing.T, f format.File, code int) format.File {
	t.Helper()
	d, err := crs.ByCode(code)
	require.NoError(t, err)
	at := f.Features[0].Polygons[0][0][0]
	d = d.Near(geo.LonLat{LonDeg: at.X, LatDeg: at.Y})
	s, err := crs.New(d)
	require.NoError(t, err)
	out := cloneFile(f)
	for i := range out.Features {
		for _, p := range out.Features[i].Polygons {
			for _, r := range p {
				for k, c := range r {
					xy, ok := s.FromWGS84(geo.LonLat{LonDeg: c.X, LatDeg: c.Y})
					require.True(t, ok)
					r[k] = format.Coord{X: xy.X, Y: xy.Y, Z: c.Z}
				}
			}
		}
	}
	out.Reference = format.Reference{Code: code, Declared: d.Name}
	out.Format = "Shapefile"
	return out
}

func swapped(f format.File) format.File {
	g := cloneFile(f)
	for _, x := range g.Features {
		for _, p := range x.Polygons {
			for _, r := range p {
				for i := range r {
					r[i].X, r[i].Y = r[i].Y, r[i].X
				}
			}
		}
	}
	return g
}

func with(f format.File, ref format.Reference) format.File {
	f.Reference = ref
	return f
}

func TestSystemTraps(t *testing.T) {
	here := fileOf(area("Long Piece", kestrel.rect(0, 0, 200, 100))) // Britain
	coast := site{-118.2431127, 34.0522361}                          // California
	nz := fileOf(area("Long Piece", south.rect(0, 0, 200, 100)))     // New Zealand
	feet := fileOf(area("Long Piece", coast.rect(0, 0, 200, 100)))   //
	utm := inSystem(t, here, 32630)                                  // its own zone
	none := func(f format.File) format.File { return with(f, format.Reference{}) }
	wkt := func(s string) format.Reference { return format.Reference{WKT: s, Declared: "Odd"} }
	check(t, []trap{
		{name: "14 metres, the system given", file: with(utm, format.Reference{WGS84: true}), spec: field.Spec{CRS: "EPSG:32630"}, notes: []geo.Code{geo.NoteSystemForced, geo.NoteSystem}, areaM2: 20000},
		{name: "15 degrees with a projected system", file: with(here, format.Reference{Code: 32630}), problem: "look like degrees", hint: "--crs EPSG:4326"},
		{name: "15 degrees, the system given", file: with(here, format.Reference{Code: 32630}), spec: field.Spec{CRS: "EPSG:4326"}, notes: []geo.Code{geo.NoteSystemForced}, areaM2: 20000},
		{name: "16 another grid than meant", file: with(utm, format.Reference{Code: 2154}), notes: []geo.Code{geo.NoteOutsideArea}, value: 5},
		{name: "17 degrees without a system", file: none(here), notes: []geo.Code{geo.NoteSystemAssumed}, areaM2: 20000},
		{name: "17 metres without a system", file: none(utm), problem: "does not say in which reference system its coordinates are; x = ", hint: "--crs EPSG:25832"},
		{name: "17 the system given", file: none(utm), spec: field.Spec{CRS: "32630"}, notes: []geo.Code{geo.NoteSystemForced}, areaM2: 20000},
		{name: "17 nonsense given", file: none(utm), spec: field.Spec{CRS: "the usual"}, problem: "the reference system asked for cannot be read", hint: "EPSG:25832"},
		{name: "18 method nobody knows", file: with(utm, wkt(`PROJCS["Odd",GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Moebius_Strip"],UNIT["Meter",1.0]]`)), problem: "Moebius_Strip", hint: "ogr2ogr"},
		{name: "18 no well-known text", file: with(utm, wkt("utm zone thirty")), problem: `its reference system "Odd" cannot be read`, hint: "ogr2ogr"},
		{name: "18 number nobody knows", file: with(utm, format.Reference{Code: 999999}), problem: "999999"},
		{name: "19 US survey feet", file: inSystem(t, feet, 2229), notes: []geo.Code{geo.NoteSystem, geo.NoteDatumNull}, areaM2: 20000},
		{name: "20 national grid named in the file", file: inSystem(t, here, 27700), notes: []geo.Code{geo.NoteSystem, geo.NoteDatumShift}, areaM2: 20000},
		{name: "54 northing first", file: swapped(inSystem(t, nz, 2193)), problem: "easting and northing look swapped", hint: "swap_axes"},
		{name: "54 northing first, on request", file: swapped(inSystem(t, nz, 2193)), spec: field.Spec{SwapAxes: true}, notes: []geo.Code{geo.NoteAxesSwapped}, areaM2: 20000},
		{name: "54 asked for nothing", file: inSystem(t, nz, 2193), spec: field.Spec{SwapAxes: true}, problem: "with northing first", hint: "leave swap_axes off"},
		{name: "Web Mercator", file: inSystem(t, here, 3857), notes: []geo.Code{geo.NoteWebMercator}, areaM2: 20000},
		{name: "obstacles in another system", file: here, obstacles: []format.File{inSystem(t, fileOf(area("Pond", kestrel.rect(20, 20, 10, 10))), 27700)}, notes: []geo.Code{geo.NoteSystem}, areaM2: 20000},
		{name: "the same, with a system given for the outline", file: none(utm), spec: field.Spec{CRS: "32630"}, obstacles: []format.File{inSystem(t, fileOf(area("Pond", kestrel.rect(20, 20, 10, 10))), 27700)}, areaM2: 20000},
		{name: "51 whole metres", file: whole(inSystem(t, here, 27700)), notes: []geo.Code{geo.NoteRounded}, value: 1},
	})
}

// whole rounds every number of a file to a whole one.
func whole(f format.File) format.File {
	g := cloneFile(f)
	for _, x := range g.Features {
		for _, p := range x.Polygons {
			for _, r := range p {
				for i := range r {
					r[i].X, r[i].Y = math.Round(r[i].X), math.Round(r[i].Y)
				}
			}
		}
	}
	return g
}

// Every system that is read leaves a field in the same place, to a tenth of a
// millimetre, with the same area: the way there and back.
func TestLocateAgrees(t *testing.T) {
	file := fileOf(area("Long Piece", kestrel.rect(0, 0, 200, 100)))
	want, _, err := field.Build(context.Background(), file, nil, field.Spec{})
	require.NoError(t, err)
	for _, code := range []int{4326, 4258, 27700, 32630, 32631, 25830, 3857, 23030, 3395, 3035} {
		located, _, err := field.Locate(inSystem(t, file, code), field.Spec{})
		require.NoError(t, err, code)
		for i, c := range located.Features[0].Polygons[0][0] {
			p := want.Frame.ToLocal(geo.LonLat{LonDeg: c.X, LatDeg: c.Y})
			o := file.Features[0].Polygons[0][0][i]
			q := want.Frame.ToLocal(geo.LonLat{LonDeg: o.X, LatDeg: o.Y})
			assert.InDelta(t, 0, math.Hypot(p[0]-q[0], p[1]-q[1]), 1e-4, "EPSG:%d vertex %d", code, i+1)
		}
	}
}

func TestHeightsFollowTheGrid(t *testing.T) {
	coast := site{-118.2431127, 34.0522361}
	f := fileOf(area("Long Piece", coast.rect(0, 0, 200, 100)))
	for i := range f.Features[0].Polygons[0][0] {
		f.Features[0].Polygons[0][0][i].Z = 1000
	}
	_, notes, err := field.Build(context.Background(), inSystem(t, f, 2229), nil, field.Spec{})
	require.NoError(t, err)
	n, ok := find(notes, geo.NoteGroundFactor)
	require.True(t, ok)
	assert.InDelta(t, 1000*geo.SurveyFootM, n.Value, 1e-9)
	_, ok = find(notes, geo.NoteHeightUnit)
	assert.True(t, ok, "a guess is told")
	_, notes, err = field.Build(context.Background(), inSystem(t, f, 2229), nil, field.Spec{HeightUnitM: 1})
	require.NoError(t, err)
	n, _ = find(notes, geo.NoteGroundFactor)
	assert.InDelta(t, 1000, n.Value, 1e-9)
	f.Features[0].Properties = map[string]any{"height_unit": "ft"} // longitude and latitude, heights titled in feet
	_, notes, err = field.Build(context.Background(), f, nil, field.Spec{})
	require.NoError(t, err)
	n, _ = find(notes, geo.NoteGroundFactor)
	assert.InDelta(t, 1000*geo.FootM, n.Value, 1e-9)
}
