package field_test

import (
	"context"
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/crs"
	"hemrow/geo/field"
	"hemrow/geo/format"
)

// slopeAt is the ground of these tests at x, y metres of the site.
func slopeAt(x, y float64) float64 { return 200 + 0.03*x - 0.05*y }

// surveyed is a grid of points on that slope, x0 to x1.
func (s site) surveyed(x0, x1 float64) format.File {
	f := format.File{Name: "heights.csv", Format: "points", Reference: format.Reference{WGS84: true}}
	one := format.Feature{Number: 1}
	for x := x0; x <= x1; x += 20 {
		for y := -40.0; y <= 140; y += 20 {
			c := s.line([2]float64{x, y})[0]
			c.Z = slopeAt(x, y)
			one.Points = append(one.Points, c)
		}
	}
	f.Features = []format.Feature{one}
	return f
}

// ramp is the same slope as a raster of a national grid, 5 m cells.
type ramp struct {
	l    format.Layout
	unit float64
	code int
	sys  *crs.System
	at   geo.Frame
}

func rampOf(t *testing.T, s site, code int, unitM float64, shiftM float64) *ramp {
	t.Helper()
	d, err := crs.ByCode(code)
	require.NoError(t, err)
	sys, err := crs.New(d)
	require.NoError(t, err)
	f, _ := geo.NewFrame(geo.LonLat{LonDeg: s.lon, LatDeg: s.lat})
	xy, ok := sys.FromWGS84(f.ToLonLat(orb.Point{-150 + shiftM, 250}))
	require.True(t, ok)
	return &ramp{format.Layout{Cols: 120, Rows: 90, OriginX: xy.X, OriginY: xy.Y, ColX: 5, RowY: -5}, unitM, code, sys, f}
}

func (r *ramp) Head() format.File {
	return format.File{Name: "dem.tif", Format: "GeoTIFF", Reference: format.Reference{Code: r.code}}
}
func (r *ramp) Layout() format.Layout { return r.l }
func (r *ramp) HeightUnitM() float64  { return r.unit }

func (r *ramp) Window(c0, r0, c1, r1 int) (format.Grid, error) {
	g := format.Grid{Layout: r.l}
	g.Cols, g.Rows = c1-c0, r1-r0
	g.OriginX += float64(c0) * r.l.ColX
	g.OriginY += float64(r0) * r.l.RowY
	for j := range g.Rows {
		for i := range g.Cols {
			ll, ok := r.sys.ToWGS84(crs.XY{X: g.OriginX + float64(i)*g.ColX, Y: g.OriginY + float64(j)*g.RowY})
			if !ok {
				return g, assert.AnError
			}
			p := r.at.ToLocal(ll)
			u := r.unit
			if u == 0 {
				u = 1
			}
			g.Heights = append(g.Heights, slopeAt(p[0], p[1])/u)
		}
	}
	return g, nil
}

func onSlope(t *testing.T, s site) geo.Field {
	t.Helper()
	f, _, err := field.Build(context.Background(), fileOf(area("Long Piece", s.rect(0, 0, 200, 100))), nil, field.Spec{Terrain: true})
	require.NoError(t, err)
	return f
}

// A slope surveyed as points, as contour lines, as a grid in metres and as one
// in feet is the same slope.
func TestTerrainOfAnyKind(t *testing.T) {
	lines := kestrel.surveyed(-40, 240)
	all := lines.Features[0].Points
	lines.Features = nil
	for i := 0; i+10 <= len(all); i += 10 {
		lines.Features = append(lines.Features, format.Feature{Number: i/10 + 1, Lines: [][]format.Coord{all[i : i+10]}})
	}
	feet := kestrel.surveyed(-40, 240)
	for i := range feet.Features[0].Points {
		feet.Features[0].Points[i].Z /= geo.FootM
	}
	stated := feet
	stated.Features = []format.Feature{feet.Features[0]}
	stated.Features[0].Properties = map[string]any{"height_unit": "ft"}
	for _, c := range []struct {
		name   string
		survey []field.Survey
		spec   field.TerrainSpec
	}{
		{"points", []field.Survey{{File: kestrel.surveyed(-40, 240)}}, field.TerrainSpec{}},
		{"points of two files", []field.Survey{{File: kestrel.surveyed(-40, 100)}, {File: kestrel.surveyed(120, 240)}}, field.TerrainSpec{}},
		{"contour lines", []field.Survey{{File: lines}}, field.TerrainSpec{}},
		{"feet as asked", []field.Survey{{File: feet}}, field.TerrainSpec{HeightUnitM: geo.FootM}},
		{"feet as the file says", []field.Survey{{File: stated}}, field.TerrainSpec{}},
		{"grid", []field.Survey{{Raster: rampOf(t, kestrel, 27700, 1, 0)}}, field.TerrainSpec{}},
		{"grid in feet", []field.Survey{{Raster: rampOf(t, kestrel, 27700, geo.FootM, 0)}}, field.TerrainSpec{}},
		{"grid, bicubic", []field.Survey{{Raster: rampOf(t, kestrel, 27700, 1, 0)}}, field.TerrainSpec{Bicubic: true}},
		{"two tiles", []field.Survey{{Raster: rampOf(t, kestrel, 27700, 1, 0)}, {Raster: east(rampOf(t, kestrel, 27700, 1, 0), 40)}}, field.TerrainSpec{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, relief, notes, err := field.Terrain(context.Background(), onSlope(t, kestrel), c.survey, nil, c.spec)
			require.NoError(t, err)
			o := f.Frame.ToLocal(geo.LonLat{LonDeg: kestrel.lon, LatDeg: kestrel.lat})
			for _, p := range []orb.Point{{0, 0}, {100, 50}, {199, 99}, {33.3, 66.6}} {
				z, ok := f.Surface.Height(orb.Point{o[0] + p[0], o[1] + p[1]})
				assert.True(t, ok, p)
				assert.InDelta(t, slopeAt(p[0], p[1]), z, 1e-3, "%v", p)
			}
			assert.InDelta(t, 100*math.Hypot(0.03, 0.05), relief.MeanSlopePct, 0.02)
			assert.InDelta(t, slopeAt(100, 50), relief.MeanM, 0.1)
			h, known := f.Frame.Height()
			assert.True(t, known)
			assert.InDelta(t, relief.MeanM, h, 0)
			_, ok := find(notes, geo.NoteTerrain)
			assert.True(t, ok)
			_, ok = find(notes, geo.NoteTerrainPart)
			assert.False(t, ok)
		})
	}
}

// east is a tile further east on the same grid.
func east(r *ramp, cols int) *ramp {
	r.l.OriginX += float64(cols) * r.l.ColX
	return r
}

func TestTerrainRefused(t *testing.T) {
	good := field.Survey{File: kestrel.surveyed(-40, 240)}
	flat := kestrel.surveyed(-40, 240)
	for i := range flat.Features[0].Points {
		flat.Features[0].Points[i].Z = math.NaN()
	}
	level := kestrel.surveyed(-40, 240)
	level.Features[0].Lines, level.Features[0].Points = [][]format.Coord{level.Features[0].Points[:5]}, nil
	between := east(rampOf(t, kestrel, 27700, 1, 0), 3)
	between.l.OriginX += 2.2
	for _, c := range []struct {
		name    string
		surveys []field.Survey
		breaks  []format.File
		problem string
	}{
		{"16 another place", []field.Survey{{File: south.surveyed(0, 200)}}, nil, "nothing lies within"},
		{"16 grid of another place", []field.Survey{{Raster: rampOf(t, kestrel, 27700, 1, 5000)}}, nil, "does not reach the field"},
		{"no heights", []field.Survey{{File: flat}}, nil, "none of its positions has a height"},
		{"empty", []field.Survey{{File: format.File{Name: "x.csv", Reference: format.Reference{WGS84: true}}}}, nil, "holds no points"},
		{"points beside a grid", []field.Survey{good, {Raster: rampOf(t, kestrel, 27700, 1, 0)}}, nil, "beside the grid"},
		{"break lines in a grid", []field.Survey{{Raster: rampOf(t, kestrel, 27700, 1, 0)}}, []format.File{level}, "cannot bend a grid"},
		{"break lines that are points", []field.Survey{good}, []format.File{good.File}, "no line with heights"},
		{"tiles between cells", []field.Survey{{Raster: rampOf(t, kestrel, 27700, 1, 0)}, {Raster: between}}, nil, "cells lie between the others"},
		{"tiles of other systems", []field.Survey{{Raster: rampOf(t, kestrel, 27700, 1, 0)}, {Raster: rampOf(t, kestrel, 32630, 1, 0)}}, nil, "reference system is another one"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, _, err := field.Terrain(context.Background(), onSlope(t, kestrel), c.surveys, c.breaks, field.TerrainSpec{})
			errs := field.Errors(err)
			require.Len(t, errs, 1, "%v", err)
			assert.Contains(t, errs[0].Error(), c.problem)
			assert.NotEmpty(t, errs[0].File)
			assert.NotEmpty(t, errs[0].Hint)
		})
	}
}

func TestTerrainOfAPart(t *testing.T) {
	_, relief, notes, err := field.Terrain(context.Background(), onSlope(t, kestrel), []field.Survey{{File: kestrel.surveyed(-40, 100)}}, nil, field.TerrainSpec{})
	require.NoError(t, err)
	assert.InDelta(t, 0.5, relief.CoveredRatio, 0.02)
	n, ok := find(notes, geo.NoteTerrainPart)
	require.True(t, ok)
	assert.Equal(t, geo.Caution, n.Severity)
	assert.InDelta(t, 50, n.Value, 2)
}

func TestBreakLineBendsTheGround(t *testing.T) {
	bank := kestrel.line([2]float64{-30, 50}, [2]float64{230, 50})
	for i := range bank {
		bank[i].Z = 230
	}
	f, _, _, err := field.Terrain(context.Background(), onSlope(t, kestrel), []field.Survey{{File: kestrel.surveyed(-40, 240)}},
		[]format.File{fileOf(format.Feature{Lines: [][]format.Coord{bank}})}, field.TerrainSpec{})
	require.NoError(t, err)
	o := f.Frame.ToLocal(geo.LonLat{LonDeg: kestrel.lon, LatDeg: kestrel.lat})
	z, ok := f.Surface.Height(orb.Point{o[0] + 100, o[1] + 50})
	assert.True(t, ok)
	assert.InDelta(t, 230, z, 0.02, "the two frames are turned by 2e-5")
}

func TestLookRaster(t *testing.T) {
	rep, err := field.LookRaster(rampOf(t, kestrel, 27700, 1, 0), field.Spec{})
	require.NoError(t, err)
	assert.Contains(t, rep.System, "EPSG:27700")
	assert.InDelta(t, 5, rep.CellEastM, 0.01)
	assert.InDelta(t, 600, rep.EastM, 1)
	assert.InDelta(t, 450, rep.NorthM, 1)
	assert.Equal(t, 120*90, rep.KnownCount)
	assert.InDelta(t, slopeAt(150, 25), (rep.LowestNo+rep.HighestNo)/2, 1)
}

// Lines are cut to what matters, not dropped for a far vertex; and a vertex
// whose neighbours have no height is a point by itself.
func TestLinesFromAfar(t *testing.T) {
	high := func(pts ...[3]float64) []format.Coord {
		var out []format.Coord
		for _, p := range pts {
			c := kestrel.line([2]float64{p[0], p[1]})[0]
			c.Z = p[2]
			out = append(out, c)
		}
		return out
	}
	var contours format.File
	for y := -40.0; y <= 140; y += 20 { // across the field, ends 20 km away
		z := 200 - 0.05*y
		contours.Features = append(contours.Features, format.Feature{Number: len(contours.Features) + 1, Lines: [][]format.Coord{high([3]float64{-20000, y, z}, [3]float64{20000, y, z})}})
	}
	lone := high([3]float64{100, 50, 212}, [3]float64{100, 60, 0}, [3]float64{100, 70, 0})
	lone[1].Z, lone[2].Z = math.NaN(), math.NaN()
	contours.Features = append(contours.Features, format.Feature{Number: 99, Lines: [][]format.Coord{lone}})
	contours.Name, contours.Reference = "contours.geojson", format.Reference{WGS84: true}
	f, relief, _, err := field.Terrain(context.Background(), onSlope(t, kestrel), []field.Survey{{File: contours}}, nil, field.TerrainSpec{LongestSideM: 20000})
	require.NoError(t, err)
	assert.InDelta(t, 1, relief.CoveredRatio, 0)
	o := f.Frame.ToLocal(geo.LonLat{LonDeg: kestrel.lon, LatDeg: kestrel.lat})
	z, ok := f.Surface.Height(orb.Point{o[0] + 100, o[1] + 50})
	assert.True(t, ok)
	assert.InDelta(t, 212, z, 0.1, "the lone vertex")
	z, _ = f.Surface.Height(orb.Point{o[0] + 20, o[1] + 20})
	assert.InDelta(t, 199, z, 0.05, "on a contour line")
}

// Three points around a field, hundreds of metres away, are a survey.
func TestFewPointsFarAway(t *testing.T) {
	s := format.File{Name: "three.csv", Reference: format.Reference{WGS84: true}, Features: []format.Feature{{Number: 1}}}
	for _, p := range [][2]float64{{-400, -300}, {800, -300}, {100, 900}} {
		c := kestrel.line(p)[0]
		c.Z = slopeAt(p[0], p[1])
		s.Features[0].Points = append(s.Features[0].Points, c)
	}
	_, relief, _, err := field.Terrain(context.Background(), onSlope(t, kestrel), []field.Survey{{File: s}}, nil, field.TerrainSpec{LongestSideM: 3000})
	require.NoError(t, err)
	assert.InDelta(t, 1, relief.CoveredRatio, 0)
	assert.InDelta(t, slopeAt(100, 50), relief.MeanM, 0.1)
}

// What a survey of heights must say, or be told.
func TestTerrainThatSaysTooLittle(t *testing.T) {
	coast := site{-118.2431127, 34.0522361}
	feet := rampOf(t, coast, 2229, 0, 0)
	feet.l.ColX, feet.l.RowY = 15, -15
	for _, c := range []struct {
		name    string
		site    site
		survey  field.Survey
		spec    field.TerrainSpec
		problem string
		hint    string
	}{
		{"grid in feet, heights in what?", coast, field.Survey{Raster: feet}, field.TerrainSpec{}, "does not say the unit of its heights", "height_unit"},
		{"the unit given", coast, field.Survey{Raster: feet}, field.TerrainSpec{HeightUnitM: 1}, "", ""},
		{"grid without a system", kestrel, field.Survey{Raster: silentRamp{rampOf(t, kestrel, 27700, 1, 0)}}, field.TerrainSpec{}, "does not say in which reference system", "--heights-crs"},
		{"northing first", south, field.Survey{Raster: turnedRamp{rampOf(t, south, 2193, 1, 0)}}, field.TerrainSpec{}, "its first coordinate is the northing", "gdalwarp"},
		{"the system given", kestrel, field.Survey{Raster: silentRamp{rampOf(t, kestrel, 27700, 1, 0)}}, field.TerrainSpec{CRS: "EPSG:27700"}, "", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, _, err := field.Terrain(context.Background(), onSlope(t, c.site), []field.Survey{c.survey}, nil, c.spec)
			if c.problem == "" {
				require.NoError(t, err)
				return
			}
			errs := field.Errors(err)
			require.Len(t, errs, 1, "%v", err)
			assert.Contains(t, errs[0].Problem, c.problem)
			assert.Contains(t, errs[0].Hint, c.hint)
		})
	}
	_, err := field.LookRaster(silentRamp{rampOf(t, kestrel, 27700, 1, 0)}, field.Spec{})
	require.Error(t, err)
	assert.Contains(t, err.Error(), "does not say in which reference system")
}

// turnedRamp stores northing before easting.
type turnedRamp struct{ *ramp }

func (r turnedRamp) Layout() format.Layout {
	l := r.l
	l.OriginX, l.OriginY = l.OriginY, l.OriginX
	l.ColX, l.ColY, l.RowX, l.RowY = l.ColY, l.ColX, l.RowY, l.RowX
	return l
}

type silentRamp struct{ *ramp }

func (r silentRamp) Head() format.File {
	return format.File{Name: "dem.asc", Format: "ESRI ASCII grid"}
}
