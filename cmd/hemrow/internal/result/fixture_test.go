package result

import (
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/materials"
	"hemrow/rows"
)

// frameAt is a frame of the invented field, or at another place.
func frameAt(t testing.TB, lonDeg, latDeg float64) geo.Frame {
	t.Helper()
	f, ok := geo.NewFrame(geo.LonLat{LonDeg: lonDeg, LatDeg: latDeg})
	require.True(t, ok)
	return f
}

func box(x0, y0, x1, y1 float64) orb.Polygon {
	return orb.Polygon{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}}
}

// piece lays a piece through points with a plant every 10 m.
func piece(f geo.Frame, part int, pts ...orb.Point) rows.Piece {
	line := geo.NewLine(f, pts)
	p := rows.Piece{Part: part, Line: line, PlanM: line.PlanM(f), GroundM: line.GroundM()}
	for m := 1.0; m < p.GroundM; m += 10 {
		p.Stations = append(p.Stations, rows.Station{ChainageM: m, At: line.PointAt(m)})
	}
	return p
}

// smallInput is a field of 60 by 100 m with a pond and a pole, three rows to
// the north, the middle one in two pieces around the pond.
func smallInput(t testing.TB) Input {
	f := frameAt(t, -18.4, 47.2).WithHeight(215)
	field := geo.Field{
		Name: "Kestrel Corner", Frame: f,
		Blocks: []geo.Block{{Name: "Main", Outline: box(-30, -50, 30, 50)}},
		Obstacles: []geo.Obstacle{
			{Name: "Heron Pond", Area: box(-5, -5, 5, 5)},
			{Name: "Pole", Path: orb.LineString{{25, 0}}},
		},
	}
	l := rows.Layout{Field: field, Spec: rows.DefaultSpec()}
	l.Spec.SpacingM = 20
	l.Spec.Plants = []rows.Planting{{Plant: "hazel", PitchM: 10, StartM: 1, Every: 1, From: 1}}
	l.Rows = []rows.Row{
		{Number: 1, EndA: geo.South, EndB: geo.North, AcrossM: 0, Pieces: []rows.Piece{piece(f, 1, orb.Point{-20, -40}, orb.Point{-20, 40})}},
		{Number: 2, EndA: geo.South, EndB: geo.North, AcrossM: 20, Pieces: []rows.Piece{
			piece(f, 1, orb.Point{0, -40}, orb.Point{0, -8}), piece(f, 2, orb.Point{0, 8}, orb.Point{0, 40}),
		}},
		{Number: 3, EndA: geo.South, EndB: geo.North, AcrossM: 40, Pieces: []rows.Piece{piece(f, 1, orb.Point{20, -40}, orb.Point{20, 40})}},
	}
	l.Blocks = []rows.Block{{
		Name: "Main", OffsetM: 10, FirstRow: 1, RowCount: 3,
		Tally:     rows.Tally{Rows: 3, Pieces: 4, PlantedM: 224, WorthScore: 184},
		LeftCount: 1, LeftM: 4.25,
		Turning: rows.Turning{Skip: 1, Plain: 2, PathM: 66.8, NeedM: 4, LongestM: 33.4, AheadM: 16, AheadPast: 1},
	}}
	l.Passes = []rows.Pass{
		{Row: 0},
		{Row: 1, Piece: 1, FromB: true, TurnM: 33.4, TurnKind: rows.TurnPlain},
		{Row: 1, Piece: 0, FromB: true, TurnM: 16, TurnKind: rows.TurnAhead},
		{Row: 2, TurnM: 33.4, TurnKind: rows.TurnPlain},
	}
	take := materials.Takeoff{Spec: materials.Spec{Cover: materials.OneSheet}}
	take.Quantities = []materials.Quantity{{
		Key: "film_area", Name: "Film area", Value: 268.83333, Unit: "m2", Basis: "cut length times width",
		Inputs: []materials.Input{{Name: "width", Value: 1.2, Unit: "m"}, {Name: "thickness", Value: 0.00008, Unit: "m"}},
		Source: "common practice, no source",
	}}
	for r := range l.Rows {
		for p := range l.Rows[r].Pieces {
			take.Rows = append(take.Rows, materials.RowTake{Row: r, Piece: p, FilmCutM: 33.12345, FilmM2: 39.748, PlantsNo: []int{4}})
		}
	}
	return Input{
		Program: "hemrow", Version: "v0.1.0", Units: "metric",
		PlanEcho: []EchoLine{{Section: "rows", Key: "spacing", Text: "20 m", FromFile: true}},
		Files:    []InputFile{{File: "corner.geojson", Format: "GeoJSON", Role: "outline", Bytes: 812, SHA256: strings.Repeat("0a", 32)}},
		Field:    field, Layout: l, Takeoff: take,
		WorkingAreas: []orb.MultiPolygon{{box(-27, -44, 27, 44)}},
		Notes: geo.Notes{
			{Code: geo.NoteShortLeft, Severity: geo.Info, Place: "block Main", Text: "1 piece left out", Value: 4.25, Limit: 10, Unit: "m"},
			{Code: geo.NoteHeadlandTight, Severity: geo.Caution, Text: "tight <headland> & \"narrow\""},
		},
	}
}

func smallDocument(t testing.TB) Document {
	t.Helper()
	d, err := New(smallInput(t))
	require.NoError(t, err)
	return d
}
