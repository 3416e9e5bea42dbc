package field_test

import (
	"context"
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/field"
	"hemrow/geo/format"
	"hemrow/geo/polygon"
)

type pt = [2]float64

// trap is one way a file can go wrong and what the user should get.
// The numbers are those of testdata/TRAPS.md; behaviour: common practice, no
// source.
type trap struct {
	name      string
	file      format.File
	obstacles []format.File
	spec      field.Spec

	problem string     // part of the error, "" for none
	hint    string     // part of its hint
	vertex  int        // where it is, 0 not checked
	notes   []geo.Code // that must be there
	value   float64    // of the first of them, 0 not checked
	blocks  int        // 0 means 1
	holes   int
	areaM2  float64 // 0 not checked
}

func check(t *testing.T, traps []trap) {
	for _, c := range traps {
		t.Run(c.name, func(t *testing.T) {
			before := cloneFile(c.file)
			f, notes, err := field.Build(context.Background(), c.file, c.obstacles, c.spec)
			assert.Equal(t, fmt.Sprint(printable(before)), fmt.Sprint(printable(c.file)), "input changed")
			if c.problem != "" {
				refused(t, c, err)
				return
			}
			require.NoError(t, err)
			for i, code := range c.notes {
				n, ok := find(notes, code)
				if assert.True(t, ok, "%s missing in %v", code, notes) && i == 0 && c.value != 0 {
					assert.InEpsilon(t, c.value, n.Value, 0.01)
				}
			}
			require.Len(t, f.Blocks, max(1, c.blocks))
			var m2 float64
			holes := 0
			for _, b := range f.Blocks {
				assert.Empty(t, polygon.Faults(b.Outline))
				assert.Positive(t, polygon.SignedAreaM2(b.Outline[0]))
				m2 += polygon.AreaM2(b.Outline)
				holes += len(b.Outline) - 1
			}
			assert.Equal(t, c.holes, holes)
			if c.areaM2 > 0 {
				assert.InDelta(t, c.areaM2, m2, 1e-3)
			}
		})
	}
}

func refused(t *testing.T, c trap, err error) {
	errs := field.Errors(err)
	require.NotEmpty(t, errs, "%v", err)
	assert.Contains(t, errs[0].Error(), c.problem)
	assert.Contains(t, errs[0].Hint, c.hint)
	if c.vertex > 0 {
		assert.Equal(t, c.vertex, errs[0].Vertex)
	}
	assert.Contains(t, errs[0].File, ".geojson")
}

func find(ns geo.Notes, c geo.Code) (geo.Note, bool) {
	for _, n := range ns {
		if n.Code == c {
			return n, true
		}
	}
	return geo.Note{}, false
}

func cloneFile(f format.File) format.File {
	f.Features = slices.Clone(f.Features)
	for i := range f.Features {
		ps := slices.Clone(f.Features[i].Polygons)
		for k := range ps {
			ps[k] = slices.Clone(ps[k])
			for h := range ps[k] {
				ps[k][h] = slices.Clone(ps[k][h])
			}
		}
		f.Features[i].Polygons = ps
	}
	return f
}

// printable makes NaN heights comparable.
func printable(f format.File) (out []float64) {
	for _, x := range f.Features {
		for _, p := range x.Polygons {
			for _, r := range p {
				for _, c := range r {
					out = append(out, c.X, c.Y)
				}
			}
		}
	}
	return out
}

func TestRingTraps(t *testing.T) {
	s := kestrel
	square := []pt{{0, 0}, {200, 0}, {200, 100}, {0, 100}}
	gap := func(m float64) format.File { // a square whose last side stops m short
		return fileOf(area("Long Piece", format.Ring(s.line(pt{0, 0}, pt{60, 0}, pt{60, 60}, pt{0, 60}, pt{0, m}))))
	}
	bowtie := fileOf(area("Long Piece", s.ring(pt{0, 0}, pt{100, 80}, pt{100, 0}, pt{0, 80})))
	check(t, []trap{
		{name: "clean", file: fileOf(area("Long Piece", s.ring(square...))), notes: []geo.Code{geo.NoteNoHeight}, areaM2: 20000},
		{name: "1 open, gap below 1 m", file: gap(0.9), notes: []geo.Code{geo.NoteRingClosed}, value: 0.9, areaM2: 3600},
		{name: "1 open, gap below three sides", file: gap(59), notes: []geo.Code{geo.NoteRingClosed}, value: 59},
		{
			name: "1 open, gap too wide", file: fileOf(area("Long Piece", format.Ring(s.line(pt{0, 0}, pt{10, 0}, pt{20, 0}, pt{30, 5}, pt{30, 40})))),
			problem: "ring is not closed: 50.00 m", hint: "missing vertices", vertex: 5,
		},
		{name: "2 last vertex beside the first", file: gap(0.004), notes: []geo.Code{geo.NoteRingSnapped}, value: 0.004, areaM2: 3600},
		{
			name: "2 closed twice", file: fileOf(area("Long Piece", append(s.ring(square...), s.line(square[0])...))),
			notes: []geo.Code{geo.NoteDuplicate}, value: 1, areaM2: 20000,
		},
		{name: "3 bow-tie", file: bowtie, problem: "ring crosses itself: the side from vertex 1 meets the side from vertex 3", hint: "split_crossings", vertex: 1},
		{
			name: "3 bow-tie split, with a sliver", spec: field.Spec{SplitCrossings: true},
			file:  fileOf(area("Long Piece", s.ring(pt{0, 0}, pt{100, 80}, pt{100, 0}, pt{0, 80}, pt{0, 45}, pt{-2, 40}, pt{-2, 43}, pt{0, 39}))),
			notes: []geo.Code{geo.NotePartDropped, geo.NoteSplit}, value: 1, blocks: 2,
		},
		{name: "3 bow-tie split", file: bowtie, spec: field.Spec{SplitCrossings: true}, notes: []geo.Code{geo.NoteSplit, geo.NoteBlocks}, value: 2, blocks: 2, areaM2: 4000},
		{
			name: "3 small loop at a corner", file: fileOf(area("Long Piece",
				s.ring(pt{0, 0}, pt{200, 0}, pt{200.5, 0.4}, pt{200.5, -0.4}, pt{199.8, 0.2}, pt{200, 100}, pt{0, 100}))),
			notes: []geo.Code{geo.NoteCrossingMended},
		},
		{
			name: "4 spike", file: fileOf(area("Long Piece", s.ring(pt{0, 0}, pt{200, 0}, pt{200, 100}, pt{80, 100}, pt{80, 130}, pt{80, 100}, pt{0, 100}))),
			notes: []geo.Code{geo.NoteSpike}, value: 30, areaM2: 20000,
		},
		{
			name: "4 needle kept", file: fileOf(area("Long Piece", s.ring(pt{0, 0}, pt{200, 0}, pt{200, 100}, pt{80, 100}, pt{80.005, 70}, pt{79.99, 100}, pt{0, 100}))),
			notes: []geo.Code{geo.NoteNeedle}, value: 30,
		},
		{
			name: "5 repeated vertices", file: fileOf(area("Long Piece", s.ring(pt{0, 0}, pt{200, 0}, pt{200, 0}, pt{200, 0}, pt{200, 100}, pt{0, 100}))),
			notes: []geo.Code{geo.NoteDuplicate}, value: 2, areaM2: 20000,
		},
		{
			name: "6 hole drawn as part of the ring", file: fileOf(area("Long Piece",
				s.ring(pt{0, 0}, pt{200, 0}, pt{200, 100}, pt{0, 100}, pt{0, 0}, pt{50, 60}, pt{100, 60}, pt{100, 20}))),
			notes: []geo.Code{geo.NoteTouchSplit}, holes: 1,
		},
		{
			name: "38 ring direction", file: fileOf(area("Long Piece", s.ring(pt{0, 100}, pt{200, 100}, pt{200, 0}, pt{0, 0}))),
			notes: []geo.Code{geo.NoteRingTurned}, value: 20000, areaM2: 20000,
		},
		{name: "no area", file: fileOf(area("Long Piece", equator.ring(pt{0, 0}, pt{0, 50}, pt{0, 100}))), problem: "different vertices"},
		{name: "two vertices", file: fileOf(area("Long Piece", s.ring(pt{0, 0}, pt{50, 0}))), problem: "at least 3 are needed"},
		{name: "strict", file: gap(0.9), spec: field.Spec{Strict: true}, problem: "repairs are refused: open ring closed", hint: "leave strict off", vertex: 5},
	})
}

func TestHoleTraps(t *testing.T) {
	s := kestrel
	outer := s.rect(0, 0, 300, 200)
	with := func(holes ...format.Ring) format.File {
		return fileOf(area("Long Piece", append([]format.Ring{outer}, holes...)...))
	}
	check(t, []trap{
		{name: "40 hole outside", file: with(s.rect(400, 0, 10, 10)), problem: "hole 1, vertex 1", hint: "remove the hole"},
		{name: "40 hole crossing", file: with(s.rect(290, 50, 40, 40)), problem: "hole crosses the outline: 1200.0 m2 of it lie outside", hint: "inside the outline"},
		{name: "40 hole crossing by noise", file: with(s.rect(260, 50, 40.02, 40)), notes: []geo.Code{geo.NoteHoleClipped}, value: 0.8, areaM2: 60000 - 1600},
		{name: "40 hole in a hole", file: with(s.rect(100, 50, 80, 80), s.rect(120, 70, 20, 20)), notes: []geo.Code{geo.NoteIsland}, value: 400, blocks: 2, holes: 1, areaM2: 60000 - 6400 + 400},
		{name: "41 overlapping holes", file: with(s.rect(100, 50, 80, 80), s.rect(150, 100, 80, 80)), notes: []geo.Code{geo.NoteHolesJoined}, value: 900, holes: 1, areaM2: 60000 - 2*6400 + 900},
		{name: "41 same hole twice", file: with(s.rect(100, 50, 80, 80), s.rect(100, 50, 80, 80)), notes: []geo.Code{geo.NoteHolesJoined}, value: 6400, holes: 1},
		{name: "42 hole below 1 m2", file: with(s.rect(100, 50, 0.6, 0.6)), notes: []geo.Code{geo.NoteSmallHole}, value: 0.36, holes: 1},
		{name: "hole without area", file: with(s.ring(pt{100, 50}, pt{120, 50}, pt{100, 50})), notes: []geo.Code{geo.NoteHoleDropped}},
		{name: "hole cutting a corner off", file: with(s.ring(pt{0, 0}, pt{300, 200}, pt{150, 120})), notes: []geo.Code{geo.NoteTouchSplit}, blocks: 2},
		{name: "sliver beside a hole dropped", file: with(s.ring(pt{0, 0}, pt{300, 0}, pt{299.9999, 0.0001}, pt{150, 50})), notes: []geo.Code{geo.NoteHoleClipped}},
	})
}

func TestChoosing(t *testing.T) {
	s := kestrel
	a, b, c := s.rect(0, 0, 200, 100), s.rect(300, 0, 100, 100), s.rect(0, 300, 50, 50)
	three := func() format.File {
		f := fileOf(area("Upper", a), area("Lower", b), area("", c))
		f.Features[2].ID = "K7"
		return f
	}
	line := func(pts ...pt) format.Feature {
		return format.Feature{Name: "Track", Lines: [][]format.Coord{s.line(pts...)}}
	}
	closed := line(pt{0, 0}, pt{200, 0}, pt{200, 100}, pt{0, 100}, pt{0, 0.3})
	half1, half2 := line(pt{0, 0}, pt{200, 0}, pt{200, 100}), line(pt{0, 0.2}, pt{0, 100}, pt{199.8, 100})
	points := format.Feature{Points: s.line(pt{0, 0}, pt{200, 0}, pt{200, 100})}
	point := func(p pt) format.Feature { return format.Feature{Points: s.line(p)} }
	single := []format.Feature{point(pt{0, 0}), point(pt{200, 0}), point(pt{200, 100}), point(pt{0, 100})}
	loop, open := line(pt{0, 0}, pt{200, 0}, pt{200, 100}, pt{0, 100}, pt{0, 0}), line(pt{0, 0}, pt{50, 50}, pt{100, 0}, pt{150, 40})
	loop2 := line(pt{300, 0}, pt{400, 0}, pt{400, 100}, pt{300, 100}, pt{300, 0})
	loop2.Name = "Walk two"
	gpx := func(f format.File) format.File {
		f.Format = format.GPX
		return f
	}
	keyed := area("", b)
	keyed.Properties = map[string]any{"PARCEL": "F-15"}
	task := func(fs ...format.Feature) format.File {
		for i := range fs {
			kind := map[string]any{"kind": "field"}
			switch fs[i].Name {
			case "pond":
				kind = map[string]any{"kind": "water surface", "keep": "clear"}
			case "zone":
				kind = map[string]any{"kind": "treatment zone"}
			}
			fs[i].Properties = kind
		}
		f := fileOf(fs...)
		f.Format = format.TaskData
		return f
	}
	mixed := area("Upper", a)
	mixed.Points = s.line(pt{10, 10})
	yes := field.Spec{CloseLines: true}
	twice := func() format.File { // once more from another corner and the other way round
		turned := format.Ring{a[2], a[1], a[0], a[3], a[2]}
		return fileOf(area("Upper", a), area("Copy", turned))
	}
	check(t, []trap{
		{name: "9 several, none chosen", file: three(), problem: `1 "Upper" (2.00 ha), 2 "Lower" (1.00 ha), 3 "K7" (0.25 ha)`, hint: `"all"`},
		{name: "9 by name", file: three(), spec: field.Spec{Choose: "Lower"}, areaM2: 10000},
		{name: "9 by name, other case", file: three(), spec: field.Spec{Choose: "lower"}, areaM2: 10000},
		{name: "9 by ID", file: three(), spec: field.Spec{Choose: "K7"}, areaM2: 2500},
		{name: "9 by number", file: three(), spec: field.Spec{Choose: "#3"}, areaM2: 2500},
		{name: "9 unknown name", file: three(), spec: field.Spec{Choose: "Middle"}, problem: `no feature is called "Middle"`, hint: `"Upper"`},
		{name: "9 name twice", file: fileOf(area("Upper", a), area("Upper", b)), spec: field.Spec{Choose: "Upper"}, problem: "2 features are called", hint: "by number"},
		{name: "9 all", file: three(), spec: field.Spec{Choose: "all"}, notes: []geo.Code{geo.NoteBlocks}, value: 3, blocks: 3, areaM2: 32500},
		{
			name: "10 several parts", file: fileOf(polygons("Upper", format.Polygon{a}, format.Polygon{b}, format.Polygon{s.rect(250, 0, 9, 9)})),
			notes: []geo.Code{geo.NoteSmallPart, geo.NoteBlocks}, value: 81, blocks: 3,
		},
		{name: "11 line", file: fileOf(closed), problem: "1 line and no area", hint: "close_lines"},
		{name: "11 line closed on request", file: fileOf(closed), spec: yes, notes: []geo.Code{geo.NoteLineClosed}, value: 0.3},
		{name: "11 lines joined", file: fileOf(half1, half2), spec: yes, notes: []geo.Code{geo.NoteLineClosed}, value: 0.2},
		{name: "11 lines that do not come round", file: fileOf(half1, line(pt{0, 30}, pt{0, 100}, pt{150, 100})), spec: yes, problem: "open ends at", hint: "draw the missing side"},
		{name: "12 points", file: fileOf(points), notes: []geo.Code{geo.NotePointsJoined}, value: 3},
		{name: "12 points, one in each feature", file: fileOf(single[0], single[1], single[2], single[3]), notes: []geo.Code{geo.NotePointsJoined}, value: 4, areaM2: 20000},
		{name: "12 points, not in order", file: fileOf(single[0], single[2], single[1], single[3]), problem: "an outline that crosses itself, between points", hint: "a column called seq"},
		{name: "12 two points", file: fileOf(single[0], single[1]), problem: "point", hint: "three or more"},
		{name: "56 tracks, closed and open", file: gpx(fileOf(loop, open)), notes: []geo.Code{geo.NoteLineClosed, geo.NoteGeometryLeft}, areaM2: 20000},
		{name: "56 two closed tracks", file: gpx(fileOf(loop, loop2)), problem: "2 outlines", hint: "choose one"},
		{name: "56 track by name", file: gpx(fileOf(loop, loop2, open)), spec: field.Spec{Choose: "Walk two"}, notes: []geo.Code{geo.NoteLineClosed}, areaM2: 10000},
		{name: "57 task data, one field and a pond", file: task(area("Long Piece", a), area("pond", s.rect(20, 20, 10, 10))), spec: field.Spec{ObstacleMark: "keep=clear"}, areaM2: 20000},
		{name: "57 task data, one field and a zone", file: task(area("Long Piece", a), area("zone", s.rect(0, 0, 90, 90))), areaM2: 20000},
		{name: "57 task data, two fields", file: task(area("Upper", a), area("Lower", b)), problem: "2 outlines", hint: "choose one"},
		{name: "an outcrop inside, not marked", file: fileOf(area("Upper", a), area("Outcrop", s.rect(20, 20, 10, 10))), spec: field.Spec{Choose: "Upper"}, notes: []geo.Code{geo.NotePlantedOver}, value: 1, areaM2: 20000},
		{name: "an outcrop inside, marked by its name", file: fileOf(area("Upper", a), area("Outcrop", s.rect(20, 20, 10, 10))), spec: field.Spec{ObstacleMark: "name=outcrop"}, areaM2: 20000},
		{name: "a neighbour is not inside", file: fileOf(area("Upper", a), area("Next", s.rect(199.9, 0, 50, 100))), spec: field.Spec{Choose: "Upper", ObstacleMark: "name=Pond"}, notes: []geo.Code{geo.NoteMarkUnused}, areaM2: 20000},
		{name: "9 by property", file: fileOf(area("", a), keyed), spec: field.Spec{Choose: "PARCEL=F-15"}, areaM2: 10000},
		{name: "obstacles alone", file: fileOf(area("Pond", a)), spec: field.Spec{ObstacleMark: "name=pond"}, problem: "every feature is marked as an obstacle", hint: "obstacle_mark"},
		{name: "31 nothing", file: fileOf(format.Feature{}), problem: "no outline in the file"},
		{name: "31 no features", file: fileOf(), problem: "no outline in the file"},
		{name: "31 empty polygon", file: fileOf(polygons("Upper", format.Polygon{})), problem: "no vertices"},
		{name: "33 points beside the area", file: fileOf(mixed), notes: []geo.Code{geo.NoteGeometryLeft}, value: 1},
		{name: "33 other features without area", file: fileOf(area("Upper", a), points), notes: []geo.Code{geo.NoteFeatureLeft}, value: 1},
		{name: "7 narrow gap", file: fileOf(area("Upper", a), area("Lower", s.rect(200.3, 0, 100, 100))), spec: field.Spec{Choose: "all"}, notes: []geo.Code{geo.NoteNear}, value: 0.3, blocks: 2},
		{name: "8 overlap", file: fileOf(area("Upper", a), area("Lower", s.rect(190, 0, 100, 100))), spec: field.Spec{Choose: "all"}, problem: `overlaps feature 1 "Upper" by 1000.00 m2`, hint: "shared boundary"},
		{name: "8 overlap by rounding", file: fileOf(area("Upper", a), area("Lower", s.rect(199.99, 0, 100, 100))), spec: field.Spec{Choose: "all"}, notes: []geo.Code{geo.NoteOverlapCut}, value: 1, blocks: 2, areaM2: 29999},
		{name: "50 same polygon twice", file: fileOf(area("Upper", a), area("Copy", append(slices.Clone(a[2:4]), a[0], a[1], a[2]))), spec: field.Spec{Choose: "all"}, notes: []geo.Code{geo.NoteTwin}, areaM2: 20000},
		{name: "50 same polygon twice, none chosen", file: twice(), notes: []geo.Code{geo.NoteTwin}, value: 1, areaM2: 20000},
		{name: "50 same polygon twice by the same name", file: fileOf(area("Upper", a), area("Upper", a)), spec: field.Spec{Choose: "Upper"}, notes: []geo.Code{geo.NoteTwin}, areaM2: 20000},
		{name: "50 twin and another", file: fileOf(area("Upper", a), area("Copy", a), area("Lower", b)), problem: `2 outlines, and no word which is the field: 1 "Upper" (2.00 ha), 3 "Lower"`, hint: `"all"`},
		{name: "50 twins but for a hole", file: fileOf(area("Upper", a), area("Copy", a, s.rect(50, 50, 9, 9))), problem: "2 outlines", hint: `"all"`},
		{name: "50 strict, none chosen", file: twice(), spec: field.Spec{Strict: true}, problem: "2 outlines", hint: `"all"`},
		{name: "50 strict, all", file: fileOf(area("Upper", a), area("Copy", a)), spec: field.Spec{Choose: "all", Strict: true}, problem: `overlaps feature 1 "Upper" by 20000.00 m2`, hint: "choose one"},
	})
}

func TestCoordinateTraps(t *testing.T) {
	s := kestrel
	raw := func(c ...format.Coord) format.File {
		for i := range c {
			c[i].Z = math.NaN()
		}
		return fileOf(area("Long Piece", append(format.Ring(c), c[0])))
	}
	good := fileOf(area("Long Piece", s.rect(0, 0, 200, 100)))
	east := fileOf(area("Long Piece", south.rect(0, 0, 200, 100)))
	stated := func(ha any) format.File {
		f := cloneFile(good)
		f.Features[0].Properties = map[string]any{"area_ha": ha}
		return f
	}
	rounded := cloneFile(good)
	for i, c := range rounded.Features[0].Polygons[0][0] {
		rounded.Features[0].Polygons[0][0][i].X = math.Round(c.X*1e4) / 1e4
		rounded.Features[0].Polygons[0][0][i].Y = math.Round(c.Y*1e4) / 1e4
	}
	check(t, []trap{
		{name: "13 swapped, certain", file: swapped(east), problem: "is no latitude: longitude and latitude look swapped", hint: "swap_axes", vertex: 1},
		{name: "13 swapped on request", file: swapped(good), spec: field.Spec{SwapAxes: true}, notes: []geo.Code{geo.NoteAxesSwapped}, areaM2: 20000},
		{name: "13 swapped on request for nothing", file: east, spec: field.Spec{SwapAxes: true}, problem: "look swapped", hint: "leave swap_axes off"},
		{name: "13 obstacles swapped", file: good, obstacles: []format.File{swapped(fileOf(area("Pond", s.rect(20, 20, 10, 10))))}, problem: "may be swapped: as written it lies at 52.0", hint: "wrong way round"},
		{name: "13 stated area fits the swapped place only", file: swapped(stated(2.0)), problem: "may be swapped", hint: "swap_axes"},
		{
			name: "14 metres, UTM", file: raw(format.Coord{X: 534243.1, Y: 5338000}, format.Coord{X: 534343.1, Y: 5338000}, format.Coord{X: 534343.1, Y: 5338100}),
			problem: "x = 534243.1 is no longitude: these look like projected metres (perhaps UTM: then north of the equator, near latitude 48, or south of it, near latitude -42", hint: "--crs EPSG:25832", vertex: 1,
		},
		{
			name: "14 metres, zone before the easting", file: raw(format.Coord{X: 32534243, Y: 5338000}, format.Coord{X: 32534343, Y: 5338000}, format.Coord{X: 32534343, Y: 5338100}),
			problem: "writes its zone, 32", hint: "--crs",
		},
		{
			name: "14 metres, national grid", file: raw(format.Coord{X: -480000, Y: -1270000}, format.Coord{X: -480100, Y: -1270000}, format.Coord{X: -480100, Y: -1270100}),
			problem: "national grid", hint: "--crs",
		},
		{name: "36 not finite", file: raw(format.Coord{X: 15, Y: 48}, format.Coord{X: math.NaN(), Y: 48}, format.Coord{X: 15.001, Y: 48.001}), problem: "not a pair of finite numbers", vertex: 2},
		{name: "36 infinite", file: raw(format.Coord{X: 15, Y: 48}, format.Coord{X: 15.001, Y: math.Inf(1)}, format.Coord{X: 15.001, Y: 48.001}), problem: "not a pair of finite numbers", vertex: 2},
		{name: "37 null island among others", file: raw(format.Coord{X: 15, Y: 48}, format.Coord{X: 0, Y: 0}, format.Coord{X: 15.001, Y: 48.001}), problem: "0, 0, in the sea", hint: "survey it again", vertex: 2},
		{name: "49 pole", file: raw(format.Coord{X: 15, Y: 89.5}, format.Coord{X: 15.01, Y: 89.5}, format.Coord{X: 15.01, Y: 89.5001}), problem: "within 1 degree of a pole"},
		{name: "49 tiny", file: fileOf(area("Bed", s.rect(0, 0, 5, 5))), notes: []geo.Code{geo.NoteUnusualSize}, value: 25, areaM2: 25},
		{name: "49 huge", file: fileOf(area("Plain", s.rect(0, 0, 5000, 5000))), notes: []geo.Code{geo.NoteUnusualSize}, value: 25e6},
		{name: "wide", file: fileOf(area("Plain", s.rect(0, 0, 30000, 30))), notes: []geo.Code{geo.NoteWideField}},
		{name: "too wide", file: fileOf(area("Plain", s.rect(0, 0, 60000, 100))), problem: "60 km across, more than 50 km", hint: "stray vertex"},
		{name: "51 few decimals", file: rounded, notes: []geo.Code{geo.NoteRounded}, value: 11.1},
		{name: "stated area fits", file: stated(2.0), notes: nil, areaM2: 20000},
		{name: "stated area differs", file: stated(3.1), notes: []geo.Code{geo.NoteAreaDiffers}, value: 20000},
		{name: "stated area differs, as text", file: stated("3.1"), notes: []geo.Code{geo.NoteAreaDiffers}, value: 20000},
	})
}

func TestAntimeridian(t *testing.T) {
	s := islands // 7 m west of the 180th meridian at 16.8 S
	fold := func(r format.Ring) format.Ring {
		for i := range r {
			r[i].X = geo.WrapLonDeg(r[i].X)
		}
		return r
	}
	jump := fileOf(area("Shore", fold(s.rect(-100, 0, 250, 100))))
	xs := []float64{}
	for _, c := range jump.Features[0].Polygons[0][0] {
		xs = append(xs, c.X)
	}
	require.Less(t, slices.Min(xs), -179.0)
	require.Greater(t, slices.Max(xs), 179.0)
	lat := func(y float64) float64 { return s.lat + y/110.6e3 }
	w := format.Ring{{X: 179.999, Y: lat(0)}, {X: 180, Y: lat(0)}, {X: 180, Y: lat(100)}, {X: 179.999, Y: lat(100)}, {X: 179.999, Y: lat(0)}}
	e := format.Ring{{X: -180, Y: lat(0)}, {X: -179.999, Y: lat(0)}, {X: -179.999, Y: lat(100)}, {X: -180, Y: lat(100)}, {X: -180, Y: lat(0)}}
	check(t, []trap{
		{name: "48 ring jumps", file: jump, notes: []geo.Code{geo.NoteAntimeridian}, areaM2: 25000},
		{name: "48 cut in two parts", file: fileOf(polygons("Shore", format.Polygon{w}, format.Polygon{e})), notes: []geo.Code{geo.NoteAntimeridian}},
		{name: "48 unwrapped by the file", file: fileOf(area("Shore", s.rect(-100, 0, 250, 100))), areaM2: 25000, notes: []geo.Code{geo.NoteAntimeridian}},
	})
}

func TestHeights(t *testing.T) {
	at := func(z ...float64) format.File {
		r := kestrel.rect(0, 0, 200, 100)
		for i := range r {
			r[i].Z = z[i%len(z)]
		}
		return fileOf(area("Long Piece", r))
	}
	for _, c := range []struct {
		name  string
		file  format.File
		mean  float64
		known bool
		code  geo.Code
	}{
		{"all", at(412), 412, true, geo.NoteGroundFactor},
		{"all, no terrain", at(412), 412, true, geo.NoteHeightDropped},
		{"32 some missing", at(412, math.NaN()), 412, true, geo.NoteHeightMissing},
		{"32 marks of none", at(0, -9999, -1e38), 0, false, geo.NoteHeightMissing},
		{"none", at(math.NaN()), 0, false, geo.NoteNoHeight},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, notes, err := field.Build(context.Background(), c.file, nil, field.Spec{})
			require.NoError(t, err)
			h, known := f.Frame.Height()
			assert.Equal(t, c.known, known)
			assert.InDelta(t, c.mean, h, 1e-9)
			assert.True(t, has(notes, c.code), "%v", notes)
		})
	}
}
