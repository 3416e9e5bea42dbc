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

func TestObstacles(t *testing.T) {
	s := kestrel
	pond := area("Pond", s.ring(pt{60, 40}, pt{60, 40}, pt{90, 40}, pt{75, 70}))
	pole := format.Feature{Name: "Pole", Points: s.line(pt{20, 20})}
	ditch := format.Feature{Lines: [][]format.Coord{s.line(pt{-20, 50}, pt{-20, 50}, pt{250, 60})}}
	far := area("Barn", s.rect(400, 0, 20, 20))
	outside := area("Shed", s.rect(250, 0, 20, 20))
	around := area("Reserve", s.rect(-500, -500, 2000, 2000))
	second := fileOf(pond, pole, ditch, far, outside, around)
	second.Name = "obstacles.geojson"

	rock := area("Outcrop", s.rect(120, 20, 10, 10))
	rock.Properties = map[string]any{"kind": "rock"}
	outline := fileOf(area("Long Piece", s.rect(0, 0, 200, 100)), rock)

	f, notes, err := field.Build(context.Background(), outline, []format.File{second}, field.Spec{ObstacleMark: "kind=rock"})
	require.NoError(t, err)
	var names []string
	for _, o := range f.Obstacles {
		names = append(names, o.Name)
		assert.NotEqual(t, len(o.Area) > 0, len(o.Path) > 0, "exactly one of area and path")
	}
	assert.Equal(t, []string{"Outcrop", "Pond", "Pole", "obstacle 3", "Shed", "Reserve"}, names)
	assert.Len(t, f.Obstacles[2].Path, 1)
	assert.Len(t, f.Obstacles[3].Path, 2, "a repeated vertex is dropped")
	n, ok := find(notes, geo.NoteObstacleAway)
	require.True(t, ok)
	assert.InDelta(t, 200, n.Value, 1e-3)
	assert.Contains(t, n.Place, `obstacles.geojson: feature 4 "Barn"`)
	n, ok = find(notes, geo.NoteDuplicate)
	require.True(t, ok)
	assert.Contains(t, n.Place, `obstacles.geojson: feature 1 "Pond", vertex`)
}

func TestObstacleErrorsAreGathered(t *testing.T) {
	s := kestrel
	bow := s.ring(pt{0, 0}, pt{10, 8}, pt{10, 0}, pt{0, 8})
	second := fileOf(area("One", bow), area("Two", bow))
	second.Name = "obstacles.geojson"
	_, _, err := field.Build(context.Background(), fileOf(area("Long Piece", s.rect(0, 0, 200, 100))), []format.File{second}, field.Spec{})
	errs := field.Errors(err)
	require.Len(t, errs, 2)
	assert.Equal(t, 2, errs[1].Feature)
	assert.Equal(t, "obstacles.geojson", errs[1].File)
}

func TestMarks(t *testing.T) {
	s := kestrel
	for _, c := range []struct {
		mark  string
		value any
		is    bool
	}{
		{"avoid", true, true},
		{"avoid", "yes", true},
		{"avoid", false, false},
		{"avoid", nil, false},
		{"avoid", 0.0, false},
		{"avoid", "", false},
		{"avoid=2", 2.0, true},
		{"avoid=Rock", "rock", true},
		{"avoid=rock", "pond", false},
		{"other", true, false},
	} {
		o := area("Rock", s.rect(50, 50, 10, 10))
		o.Properties = map[string]any{"avoid": c.value}
		file := fileOf(area("Long Piece", s.rect(0, 0, 200, 100)), o)
		f, _, err := field.Build(context.Background(), file, nil, field.Spec{Choose: "1", ObstacleMark: c.mark})
		require.NoError(t, err)
		assert.Equal(t, c.is, len(f.Obstacles) == 1, "%s %v", c.mark, c.value)
	}
}
