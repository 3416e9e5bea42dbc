package rows

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo/polygon"
)

// The drawn working area holds the rows: every row end lies on its boundary or
// inside, to the error of its chords, and planted length times spacing is
// close to its area.
func TestWorkingAreaHoldsTheRows(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 22))
	for i := range 20 {
		f := randomField(rng)
		s := straight(3)
		s.Heading = Heading{Mode: HeadingFixed, Bearing: 33}
		s.ShortestM = 0
		l := mustPlan(t, f, s)
		area, err := l.WorkingArea(0)
		require.NoError(t, err, "field %d", i)
		for _, r := range l.Rows {
			for _, p := range r.Pieces {
				for _, end := range p.Line.Points() {
					near := false
					for _, a := range area {
						near = near || polygon.Contains(a, end) || polygon.DistanceM(a, end) < 2*(polygon.BufferSlackM(s.HeadlandM)+polygon.BufferLossM(s.HeadlandM))
					}
					assert.True(t, near, "field %d row %d", i, r.Number)
				}
			}
		}
		if open := polygon.TotalAreaM2(area); open > 5000 {
			assert.InDelta(t, 1, l.Blocks[0].Tally.PlantedM*s.SpacingM/open, 0.1, "field %d", i)
		}
	}
}
