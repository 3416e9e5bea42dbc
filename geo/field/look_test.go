package field_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/field"
	"hemrow/geo/format"
)

func TestLook(t *testing.T) {
	s := kestrel
	spiked := area("Long Piece", s.ring(pt{0, 0}, pt{200, 0}, pt{200, 100}, pt{80, 100}, pt{80, 130}, pt{80, 100}, pt{0, 100}), s.rect(10, 10, 10, 10))
	bow := area("Bow", s.ring(pt{0, 0}, pt{100, 80}, pt{100, 0}, pt{0, 80}))
	file := fileOf(spiked, bow, format.Feature{Points: s.line(pt{0, 0})}, area("Grid", format.Ring{{X: 5e5, Y: 5e6}, {X: 5e5, Y: 6e6}, {X: 6e5, Y: 6e6}}))
	r := field.Look(context.Background(), file, field.Spec{})
	require.Len(t, r.Features, 4)

	a := r.Features[0]
	assert.Equal(t, []int{1, 1, 11}, []int{a.Parts, a.Holes, a.Vertices})
	assert.NoError(t, a.Refused)
	assert.InDelta(t, 19900, a.AreaM2, 1e-3)
	assert.InDelta(t, 640, a.PerimeterM, 1e-4)
	assert.True(t, has(a.Repairs, geo.NoteSpike))
	require.NotEmpty(t, a.Faults)
	assert.Contains(t, a.Faults[0].String(), "vertex 4 (")

	b := r.Features[1]
	require.Error(t, b.Refused)
	require.Len(t, b.Faults, 1)
	assert.Equal(t, "ring crosses itself", b.Faults[0].Problem)
	assert.Equal(t, []int{1, 3}, []int{b.Faults[0].Vertex, b.Faults[0].OtherVertex})
	mid := s.line(pt{50, 40})[0]
	assert.InDelta(t, mid.X, b.Faults[0].At.LonDeg, 1e-9)
	assert.InDelta(t, mid.Y, b.Faults[0].At.LatDeg, 1e-9)

	assert.ErrorContains(t, r.Features[2].Refused, "1 point and no area")
	assert.ErrorContains(t, r.Features[3].Refused, "projected metres")
}
