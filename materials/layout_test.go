package materials

import (
	"context"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/rows"
)

// Layouts made by hand, in frame metres.

func testFrame() geo.Frame {
	f, _ := geo.NewFrame(geo.LonLat{LonDeg: 17.5, LatDeg: 48.2})
	return f
}

// piece runs east along y for a length, without heights.
func piece(part int, lengthM, y float64) rows.Piece {
	line := geo.NewLine(testFrame(), []orb.Point{{0, y}, {lengthM, y}})
	return rows.Piece{Part: part, Line: line, PlanM: lengthM, GroundM: lengthM}
}

// layoutOf has one row of one piece for each length, 5 m apart.
func layoutOf(lengthsM ...float64) rows.Layout {
	l := rows.Layout{Field: geo.Field{Frame: testFrame()}}
	l.Spec.SpacingM = 5
	for i, m := range lengthsM {
		l.Rows = append(l.Rows, rows.Row{Number: i + 1, Pieces: []rows.Piece{piece(1, m, 5*float64(i))}})
	}
	return l
}

// planted sets every pitchM a plant of the kind, from the start of each piece,
// as many as whole pitches.
func planted(l rows.Layout, kind string, pitchM float64) rows.Layout {
	k := len(l.Spec.Plants)
	l.Spec.Plants = append(l.Spec.Plants, rows.Planting{Plant: kind, PitchM: pitchM, Every: 1, From: 1})
	for i := range l.Rows {
		for j := range l.Rows[i].Pieces {
			p := &l.Rows[i].Pieces[j]
			for n := range int(p.GroundM/pitchM + 0.5) {
				m := float64(n) * pitchM
				p.Stations = append(p.Stations, rows.Station{Plant: k, ChainageM: m, At: p.Line.PointAt(m)})
			}
		}
	}
	return l
}

func joined(a, b rows.Layout) rows.Layout {
	out := a
	out.Rows = append(append([]rows.Row{}, a.Rows...), b.Rows...)
	for i := range out.Rows {
		out.Rows[i].Number = i + 1
	}
	return out
}

func compute(t require.TestingT, l rows.Layout, s Spec) Takeoff {
	out, notes, err := Compute(context.Background(), l, s)
	require.NoError(t, err)
	require.Equal(t, out.Notes, notes)
	return out
}

func value(t require.TestingT, out Takeoff, key string) float64 {
	q, ok := out.Get(key)
	require.True(t, ok, "no quantity %s", key)
	return q.Value
}

func allKinds() []CoverKind { return []CoverKind{NoCover, OneSheet, TwoSheet, Chips} }

func eachKind(t *testing.T, f func(t *testing.T, s Spec)) {
	for _, k := range allKinds() {
		t.Run(k.String(), func(t *testing.T) { f(t, DefaultSpec(k)) })
	}
}
