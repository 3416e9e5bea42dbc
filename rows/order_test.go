package rows

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// By hand: R 5 m, p 4 m: φ = acos(7/10) = 0.7954, depth 5 + √(100 - 49) = 12.141,
// path 5(π + 4·0.7954) = 31.616. R 5 m, p 10 m: half a circle. R 4 m, p 6 m:
// φ = acos(7/8) = 0.5054, depth 4 + √(64 - 49) = 7.873, path 4(π + 2.0216) = 20.65.
func TestTurnShapes(t *testing.T) {
	for _, c := range []struct {
		id              string
		r, p            float64
		depth, path     float64
		kind            TurnKind
		depthTol, pathT float64
	}{
		{"bulb", 5, 4, 12.141, 31.616, TurnBulb, 5e-4, 1e-3},
		{"half circle", 5, 10, 5.0, 15.708, TurnPlain, 1e-9, 1e-3},
		{"slight bulb", 4, 6, 7.87, 20.65, TurnBulb, 5e-3, 5e-3},
		{"wide", 3, 10, 3, math.Pi*3 + 4, TurnPlain, 1e-9, 1e-9},
		{"on the spot", 0, 5, 0, 5, TurnPlain, 1e-9, 1e-9},
	} {
		s := shapeOfTurn(c.p, c.r)
		assert.InDelta(t, c.depth, s.depthM, c.depthTol, c.id)
		assert.InDelta(t, c.path, s.pathM, c.pathT, c.id)
		assert.Equal(t, c.kind, s.kind, c.id)
	}
	// continuous where the bulb becomes a half circle
	assert.InDelta(t, shapeOfTurn(10, 5).pathM, shapeOfTurn(10-1e-9, 5).pathM, 1e-3)
}

func TestStepping(t *testing.T) {
	assert.Equal(t, []int{0, 1, 2, 3, 4}, stepping(nil, 5, 1, false))
	assert.Equal(t, []int{4, 3, 2, 1, 0}, stepping(nil, 5, 1, true))
	assert.Equal(t, []int{0, 3, 1, 4, 2, 5, 6, 7}, stepping(nil, 8, 3, false))
	assert.Empty(t, stepping(nil, 0, 2, false))
	for n := range 30 {
		for m := 1; m < 6; m++ {
			seen := map[int]bool{}
			for _, i := range stepping(nil, n, m, n%2 == 0) {
				seen[i] = true
			}
			assert.Len(t, seen, n, "every row once, n %d m %d", n, m)
		}
	}
}

// A rectangle of 20 rows 5 m apart: row after row takes 19 bulbs of R 4 m;
// stepping over rows is shorter and has fewer.
func TestSteppingOverRowsWhereItPays(t *testing.T) {
	f := fieldOf(nil, orb.Polygon{rect(0, 0, 101, 80)})
	s := straight(5)
	s.Heading = Heading{Mode: HeadingFixed}
	l := mustPlan(t, f, s)
	b := l.Blocks[0]
	require.Equal(t, 20, b.RowCount)
	every := 19 * shapeOfTurn(5, 4).pathM
	assert.Greater(t, b.Turning.Skip, 1)
	assert.Less(t, b.Turning.PathM, every)
	assert.Equal(t, 19, b.Turning.Plain+b.Turning.Bulb)

	s.TurnRadiusM = 2.5 // a plain turn to the next row
	l = mustPlan(t, f, s)
	assert.Equal(t, 1, l.Blocks[0].Turning.Skip)
	assert.Zero(t, l.Blocks[0].Turning.Bulb)
	assert.InDelta(t, 19*math.Pi*2.5, l.Blocks[0].Turning.PathM, 1e-6)
	assert.False(t, l.Passes[0].FromB)
	assert.True(t, l.Passes[1].FromB)
}

func TestStartSide(t *testing.T) {
	f := fieldOf(nil, orb.Polygon{rect(0, 0, 101, 80)})
	s := straight(5)
	s.TurnRadiusM = 2
	s.Heading = Heading{Mode: HeadingFixed}
	for side, want := range map[string]Pass{
		"": {Row: 0}, "W": {Row: 0}, "E": {Row: 19}, "SW": {Row: 0}, "S": {Row: 0},
		"N": {Row: 0, FromB: true}, "NW": {Row: 0, FromB: true}, "NE": {Row: 19, FromB: true}, "SE": {Row: 19},
	} {
		s.StartSide = side
		l := mustPlan(t, f, s)
		got := l.Passes[0]
		assert.Equal(t, want, Pass{Row: got.Row, FromB: got.FromB}, "from %q", side)
		assert.InDelta(t, 3, l.Rows[0].Pieces[0].Line.At(0)[0], 0.01, "numbers stay from the west")
	}
}
