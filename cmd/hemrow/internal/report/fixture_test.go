package report

import (
	"context"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"

	"hemrow/cmd/hemrow/internal/result"
	"hemrow/geo"
	"hemrow/materials"
	"hemrow/rows"
)

func box(x0, y0, x1, y1 float64) orb.Polygon {
	return orb.Polygon{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}}
}

// round is a pond of so many corners.
func round(cx, cy, rx, ry float64, corners int) orb.Polygon {
	var r orb.Ring
	for i := range corners {
		a := 2 * math.Pi * float64(i) / float64(corners)
		r = append(r, orb.Point{cx + rx*math.Cos(a), cy + ry*math.Sin(a)})
	}
	return orb.Polygon{append(r, r[0])}
}

// turned is a polygon turned about the origin, degrees counter-clockwise.
func turned(p orb.Polygon, deg float64) orb.Polygon {
	s, c := math.Sincos(deg * math.Pi / 180)
	out := make(orb.Polygon, len(p))
	for i, r := range p {
		for _, q := range r {
			out[i] = append(out[i], orb.Point{q[0]*c - q[1]*s, q[0]*s + q[1]*c})
		}
	}
	return out
}

func lShape(a, b, arm float64) orb.Polygon {
	return orb.Polygon{{{-a, -b}, {a, -b}, {a, arm - b}, {arm - a, arm - b}, {arm - a, b}, {-a, b}, {-a, -b}}}
}

func frameAt(t testing.TB, lonDeg, latDeg float64) geo.Frame {
	t.Helper()
	f, ok := geo.NewFrame(geo.LonLat{LonDeg: lonDeg, LatDeg: latDeg})
	require.True(t, ok)
	return f
}

// scene is an invented field to draw.
type scene struct {
	name    string
	units   string
	field   geo.Field
	spec    rows.Spec
	outline bool // working areas are not drawn
}

func specOf(spacingM, headingDeg float64) rows.Spec {
	s := rows.DefaultSpec()
	s.SpacingM = spacingM
	s.Heading = rows.Heading{Mode: rows.HeadingFixed, Bearing: geo.Bearing(headingDeg)}
	s.FirstRow = rows.FirstRow{OffsetM: 3}
	return s
}

func scenes(t testing.TB) []scene {
	f := frameAt(t, -18.4, 47.2).WithHeight(215)
	field := func(name string, blocks []geo.Block, obs ...geo.Obstacle) geo.Field {
		return geo.Field{Name: name, Frame: f, Blocks: blocks, Obstacles: obs}
	}
	one := func(p orb.Polygon) []geo.Block { return []geo.Block{{Name: "Main", Outline: p}} }
	ell := scene{name: "ell", field: field("Kestrel Corner", one(lShape(110, 100, 90)),
		geo.Obstacle{Name: "Heron Pond", Area: round(-60, -40, 22, 15, 24)},
		geo.Obstacle{Name: "Pole", Path: orb.LineString{{40, -75}}},
		geo.Obstacle{Name: "Ditch", Path: orb.LineString{{-110, 60}, {-20, 40}}}), spec: specOf(5, 12)}
	ell.spec.LongestM, ell.spec.CrossAlleyM = 90, 6
	strip := scene{name: "strip", units: "us", field: field("Long Acre", one(turned(box(-300, -12, 300, 12), 20))), spec: specOf(3, 70)}
	garden := scene{name: "garden", field: field("Cottage Garden", one(box(-6, -9, 6, 9))), spec: specOf(4, 0)}
	garden.spec.HeadlandM, garden.spec.SideM, garden.spec.ShortestM = 1, 2, 5
	big := turned(box(-505, -500, 505, 500), 8)
	big[0] = append(big[0][:0:0], big[0]...)
	large := scene{name: "large", field: field("Broad Plain", []geo.Block{{Name: "Main", Outline: append(big, turned(orb.Polygon{reversed(box(100, 100, 180, 220)[0])}, 8)...)}},
		geo.Obstacle{Name: "Anvil Outcrop", Area: round(-200, -150, 60, 40, 9)}), spec: specOf(3.3, 172)}
	three := scene{name: "three", field: field("Three Crofts", []geo.Block{
		{Name: "West Croft", Outline: box(-200, -60, -90, 70)},
		{Name: "Mill Croft", Outline: turned(box(-50, -40, 60, 45), 30)},
		{Name: "East Croft", Outline: lShapeAt(150, 20)},
	}), spec: specOf(6, 45)}
	diagonal := scene{name: "diagonal", field: field("Anvil Bank", one(round(0, 0, 140, 90, 17))), spec: specOf(4.5, 128)}
	bare := scene{name: "bare", field: field("Bare Ground", one(box(-3, -3, 3, 3))), spec: specOf(4, 0), outline: true}
	return []scene{ell, strip, garden, large, three, diagonal, bare}
}

func reversed(r orb.Ring) orb.Ring {
	out := r.Clone()
	out.Reverse()
	return out
}

func lShapeAt(x, y float64) orb.Polygon {
	p := lShape(50, 45, 40)
	for _, r := range p {
		for i := range r {
			r[i] = orb.Point{r[i][0] + x, r[i][1] + y}
		}
	}
	return p
}

// document plans a scene.
func (s scene) document(t testing.TB) result.Document {
	t.Helper()
	l, notes, err := rows.Plan(context.Background(), s.field, s.spec)
	require.NoError(t, err)
	var areas []orb.MultiPolygon
	if !s.outline {
		for i := range l.Blocks {
			a, err := l.WorkingArea(i)
			require.NoError(t, err)
			areas = append(areas, a)
		}
	}
	units := s.units
	if units == "" {
		units = "metric"
	}
	d, err := result.New(result.Input{Program: "hemrow", Version: "v0.1.0", Units: units, Field: s.field, Layout: l, WorkingAreas: areas, Notes: notes})
	require.NoError(t, err)
	return d
}

// hostile is text that means harm to every format at once.
const hostile = "<script>alert('1')</script> & \"q\"\r\nnext, line;\x1b[31m \u202egnp.exe\u0000"

// smallDocument is laid by hand, so that golden files depend on nothing else:
// 60 by 100 m, three rows to the north, the middle one around a pond.
func smallDocument(t testing.TB, units string) result.Document {
	t.Helper()
	f := frameAt(t, -18.4, 47.2).WithHeight(215)
	field := geo.Field{
		Name: "Kestrel Corner", Frame: f,
		Blocks: []geo.Block{{Name: "Main", Outline: box(-30, -50, 30, 50)}},
		Obstacles: []geo.Obstacle{
			{Name: "Heron Pond", Area: box(-6, -6, 6, 6)},
			{Name: "Pole", Path: orb.LineString{{25, 0}}},
		},
	}
	piece := func(part int, x, y0, y1 float64) rows.Piece {
		line := geo.NewLine(f, []orb.Point{{x, y0}, {x, y1}})
		return rows.Piece{Part: part, Line: line, PlanM: line.PlanM(f), GroundM: line.GroundM()}
	}
	l := rows.Layout{Field: field, Spec: rows.DefaultSpec()}
	l.Spec.SpacingM = 20
	l.Spec.Plants = []rows.Planting{{Plant: "hazel", PitchM: 10, StartM: 1, Every: 1, From: 1}}
	row := func(n int, pieces ...rows.Piece) rows.Row {
		return rows.Row{Number: n, EndA: geo.South, EndB: geo.North, AcrossM: float64(n-1) * 20, Pieces: pieces}
	}
	l.Rows = []rows.Row{
		row(1, piece(1, -20, -40, 40)),
		row(2, piece(1, 0, -40, -9), piece(2, 0, 9, 40)),
		row(3, piece(1, 20, -40, 40)),
	}
	l.Blocks = []rows.Block{{
		Name: "Main", OffsetM: 10, FirstRow: 1, RowCount: 3,
		Tally: rows.Tally{Rows: 3, Pieces: 4, PlantedM: 222}, LeftCount: 1, LeftM: 4.25,
		Alleys:  []orb.LineString{{{-30, 20}, {30, 20}}},
		Turning: rows.Turning{Skip: 1, Plain: 2, PathM: 66.8, NeedM: 4, LongestM: 33.4, AheadM: 18, AheadPast: 1},
	}}
	take := materials.Takeoff{Spec: materials.Spec{Cover: materials.OneSheet}, Quantities: quantities()}
	for r := range l.Rows {
		for p := range l.Rows[r].Pieces {
			take.Rows = append(take.Rows, materials.RowTake{Row: r, Piece: p, FilmCutM: 33.12345, FilmM2: 39.7, PlantsNo: []int{4}})
		}
	}
	d, err := result.New(result.Input{
		Program: "hemrow", Version: "v0.1.0", Units: units,
		Field: field, Layout: l, Takeoff: take, WorkingAreas: []orb.MultiPolygon{{box(-27, -44, 27, 44)}},
		Files: []result.InputFile{{File: "corner.geojson", Format: "GeoJSON", Role: "outline", SHA256: strings.Repeat("0a", 32)}},
		Notes: geo.Notes{
			{Code: geo.NoteHeadlandTight, Severity: geo.Caution, Place: "block Main", Text: "the headland of 6 m is shallower than the 8.4 m that a turn takes", Hint: "deepen the headland, turn outside the field, or reverse at the row ends, whichever the crew can do with the machine they have"},
			{Code: geo.NoteShortLeft, Severity: geo.Info, Place: "block Main", Text: "1 piece shorter than 10 m left out", Value: 4.25, Limit: 10, Unit: "m"},
			{Code: geo.NoteBuriedService, Severity: geo.Serious, Text: "digging edge trenches: ask for buried services first"},
		},
	})
	require.NoError(t, err)
	return d
}

func quantities() []materials.Quantity {
	const practice = "common practice, no source"
	q := func(key, name string, value float64, unit, basis string, estimate bool) materials.Quantity {
		return materials.Quantity{Key: key, Name: name, Value: value, Unit: unit, Basis: basis, Source: practice, Estimate: estimate}
	}
	list := []materials.Quantity{
		q("film_length", "Film, cut", 225.6, "m", "ground length + end tucks", false),
		q("film_area", "Film area", 338.4, "m2", "cut length x width", false),
		q("film_mass", "Film mass", 25.1, "kg", "area x thickness x density", false),
		q("film_rolls", "Rolls of film", 1, "rolls", "order length / roll length, rounded up", false),
		q("trench_soil", "Soil out of the edge trenches, loose", 16.9, "m3", "length x width x depth x swell", true),
		q("plants", "Plants: hazel", 24, "plants", "stations", false),
	}
	list[1].Inputs = []materials.Input{{Name: "cut length", Value: 225.6, Unit: "m"}, {Name: "width", Value: 1.5, Unit: "m"}}
	return list
}
