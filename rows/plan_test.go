package rows

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/polygon"
)

func mustPlan(t testing.TB, f geo.Field, s Spec) Layout {
	t.Helper()
	l, _, err := Plan(context.Background(), f, s)
	require.NoError(t, err)
	require.NoError(t, l.Check())
	return l
}

// A rectangle of 100 by 60 m, rows north: the answer is arithmetic.
func TestRectangle(t *testing.T) {
	f := fieldOf(nil, orb.Polygon{rect(0, 0, 100, 60)})
	s := straight(5)
	s.Heading = Heading{Mode: HeadingFixed, Bearing: 0}
	s.FirstRow = FirstRow{OffsetM: 3}
	l := mustPlan(t, f, s)
	// rows at 3, 8, … 93 (98 is within 3 m of the far side): 19 rows of
	// 60 - 2·6 = 48 m
	require.Len(t, l.Rows, 19)
	for i, r := range l.Rows {
		require.Len(t, r.Pieces, 1)
		p := r.Pieces[0]
		assert.InDelta(t, 48, p.PlanM, 1e-6)
		assert.InDelta(t, 3+5*float64(i), p.Line.At(0)[0], 1e-9, "numbered from the west")
		assert.InDelta(t, 6, p.Line.At(0)[1], 1e-6)
		assert.InDelta(t, 54, p.Line.At(1)[1], 1e-6)
		assert.Equal(t, geo.South, r.EndA)
		assert.Equal(t, geo.North, r.EndB)
	}
	assert.InDelta(t, 19*48, l.Blocks[0].Tally.PlantedM, 1e-5)
	assert.Equal(t, "R001", l.Name(l.Rows[0]))
	assert.Equal(t, "R019", l.PieceName(l.Rows[18], l.Rows[18].Pieces[0]))
}

// Corners round off about a reflex corner: the row end beside it keeps the
// clearance to the corner itself (3-4-5 triangle, by hand).
func TestReflexCornerIsRound(t *testing.T) {
	// an L: the notch's corner at (50, 50)
	f := fieldOf(nil, orb.Polygon{orb.Ring{{0, 0}, {100, 0}, {100, 50}, {50, 50}, {50, 100}, {0, 100}, {0, 0}}})
	s := straight(50)
	s.HeadlandM, s.SideM = 5, 5
	s.Heading = Heading{Mode: HeadingFixed, Bearing: 0}
	s.FirstRow = FirstRow{OffsetM: 47} // x = 47, 3 m beside the corner
	l := mustPlan(t, f, s)
	p := l.Rows[0].Pieces[0]
	// the side x = 50 above the corner is 3 m away: the row ends 4 m below
	assert.InDelta(t, 46, p.Line.At(1)[1], 1e-6)
}

// A pond divides the rows that meet it; the parts keep their row's number.
func TestObstacleMakesParts(t *testing.T) {
	f := fieldOf(
		[]geo.Obstacle{{Name: "pond", Area: orb.Polygon{rect(40, 25, 60, 35)}}, {Name: "pole", Path: orb.LineString{{21, 30}}}},
		orb.Polygon{rect(0, 0, 100, 60)})
	s := straight(10)
	s.HeadlandM, s.SideM, s.ObstacleM, s.ShortestM = 5, 5, 2, 5
	s.Heading = Heading{Mode: HeadingFixed, Bearing: 90}
	s.FirstRow = FirstRow{OffsetM: 10} // y = 50, 40, 30, 20, 10 from the north
	l := mustPlan(t, f, s)
	require.Len(t, l.Rows, 5)
	mid := l.Rows[2] // y = 30 runs through the pond and past the pole 1 m off
	require.Len(t, mid.Pieces, 3)
	assert.InDelta(t, 21-2-5, mid.Pieces[0].PlanM, 1e-6, "to the pole's circle, which the row meets at its middle")
	assert.InDelta(t, 38, mid.Pieces[1].Line.At(1)[0], 1e-6)
	assert.InDelta(t, 62, mid.Pieces[2].Line.At(0)[0], 1e-6)
	assert.Equal(t, []string{"R003.1", "R003.2", "R003.3"},
		[]string{l.PieceName(mid, mid.Pieces[0]), l.PieceName(mid, mid.Pieces[1]), l.PieceName(mid, mid.Pieces[2])})
	assert.Equal(t, geo.West, mid.EndA)
	assert.Len(t, l.Rows[1].Pieces, 1, "y = 40 is 5 m clear of the pond")
}

// Sides take the side clearance, ends the headland; jags of a side shorter
// than the spacing do not make it a headland.
func TestSideAndHeadland(t *testing.T) {
	jagged := orb.Ring{{0, 0}, {100, 0}, {100, 60}}
	for y := 59.0; y > 1; y-- { // a west side that jumps 0.3 m to and fro
		jagged = append(jagged, orb.Point{0.3 * math.Mod(y, 2), y})
	}
	jagged = append(jagged, jagged[0])
	s := straight(5)
	s.HeadlandM, s.SideM = 8, 2
	s.Heading = Heading{Mode: HeadingFixed, Bearing: 0}
	s.FirstRow = FirstRow{OffsetM: 2.5}
	l := mustPlan(t, fieldOf(nil, orb.Polygon{jagged}), s)
	assert.InDelta(t, 60-16, l.Rows[0].Pieces[0].PlanM, 1.1, "a jag may stand in the end's way")
	assert.InDelta(t, 2.5, l.Rows[0].Pieces[0].Line.At(0)[0], 0.2)
}

func TestCrossAlleysLineUp(t *testing.T) {
	// a trapezium: rows of 100 to 400 m
	f := fieldOf(nil, orb.Polygon{orb.Ring{{0, 0}, {100, 0}, {400, 200}, {0, 200}, {0, 0}}})
	s := straight(5)
	s.HeadlandM, s.SideM, s.LongestM, s.CrossAlleyM = 6, 3, 150, 6
	s.Heading = Heading{Mode: HeadingFixed, Bearing: 90}
	l := mustPlan(t, f, s)
	b := l.Blocks[0]
	require.Len(t, b.Alleys, 2, "rows of up to 380 m in runs of 150 m with alleys of 6 m need two")
	x0, x1 := b.Alleys[0][0][0], b.Alleys[1][0][0]
	for _, r := range l.Rows {
		for i := 1; i < len(r.Pieces); i++ {
			gap := r.Pieces[i].Line.At(0)[0] - r.Pieces[i-1].Line.At(1)[0]
			assert.InDelta(t, 6, gap, 1e-6)
			mid := r.Pieces[i-1].Line.At(1)[0] + 3
			assert.True(t, math.Abs(mid-x0) < 1e-6 || math.Abs(mid-x1) < 1e-6, "alleys line up")
		}
	}
}

// The first row may be given beyond one spacing: nothing is laid before it.
func TestFirstRowGiven(t *testing.T) {
	f := fieldOf(nil, orb.Polygon{rect(0, 0, 100, 60)})
	s := straight(5)
	s.Heading = Heading{Mode: HeadingFixed, Bearing: 0}
	s.FirstRow = FirstRow{OffsetM: 22}
	l := mustPlan(t, f, s)
	assert.InDelta(t, 22, l.Rows[0].Pieces[0].Line.At(0)[0], 1e-9)
}

func TestHeadingAlongEdges(t *testing.T) {
	ring := orb.Ring{{0, 0}, {200, 50}, {180, 130}, {-20, 80}, {0, 0}}
	f := fieldOf(nil, orb.Polygon{ring})
	s := straight(5)
	s.Heading = Heading{Mode: HeadingLongestEdge}
	l := mustPlan(t, f, s)
	assert.InDelta(t, geo.BearingOf(200, 50).Deg(), l.Blocks[0].Heading.Deg(), 1e-9)
	s.Heading = Heading{Mode: HeadingEdge, Edge: 2}
	l = mustPlan(t, f, s)
	assert.InDelta(t, geo.BearingOf(-20, 80).Fold().Deg(), l.Blocks[0].Heading.Deg(), 1e-9)
	s.Heading.Edge = 5
	_, _, err := Plan(context.Background(), f, s)
	assert.ErrorContains(t, err, "edges 1 to 4, not 5")
}

// Along the longest edge with the best first row, a row lies flush with the
// open ground on one side: just the side clearance from the fence.
func TestFlushFirstRow(t *testing.T) {
	ring := orb.Ring{{0, 0}, {200, 50}, {180, 137}, {-20, 87}, {0, 0}}
	s := straight(5)
	s.Heading = Heading{Mode: HeadingLongestEdge}
	l := mustPlan(t, fieldOf(nil, orb.Polygon{ring}), s)
	near := math.Inf(1)
	for _, r := range l.Rows {
		p := r.Pieces[0].Line
		near = min(near, polygon.SegmentDistanceM(p.At(0), p.At(1), ring[0], ring[1]), polygon.SegmentDistanceM(p.At(0), p.At(1), ring[2], ring[3]))
	}
	assert.InDelta(t, s.SideM, near, 1e-5)
}

func TestEmptyAndDegenerate(t *testing.T) {
	s := straight(5)
	l, notes, err := Plan(context.Background(), fieldOf(nil, orb.Polygon{rect(0, 0, 9, 9)}), s)
	require.NoError(t, err)
	assert.Empty(t, l.Rows)
	require.Len(t, notes, 1)
	assert.Equal(t, geo.NoteEmptyBlock, notes[0].Code)
	require.NoError(t, l.Check())

	l, _, err = Plan(context.Background(), geo.Field{Frame: testFrame()}, s)
	require.NoError(t, err)
	assert.Empty(t, l.Blocks)

	_, _, err = Plan(context.Background(), fieldOf(nil, orb.Polygon{rect(0, 0, 9, 9)}), Spec{})
	var fault *SpecFault
	require.ErrorAs(t, err, &fault)

	s.SpacingM = 0.2
	_, _, err = Plan(context.Background(), fieldOf(nil, orb.Polygon{rect(0, 0, 3e5, 3e5)}), s)
	assert.ErrorContains(t, err, "rows.spacing")
	// a strip that is narrow on the first heading and long on others
	_, _, err = Plan(context.Background(), fieldOf(nil, orb.Polygon{rect(0, 0, 50, 4e5)}), s)
	assert.ErrorContains(t, err, "rows.spacing")

	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, _, err = Plan(ctx, fieldOf(nil, orb.Polygon{rect(0, 0, 900, 900)}), straight(5))
	assert.ErrorIs(t, err, context.Canceled)
}

func TestNotesOfRows(t *testing.T) {
	codes := func(f geo.Field, change func(*Spec)) map[geo.Code]bool {
		s := straight(5)
		change(&s)
		_, notes, err := Plan(context.Background(), f, s)
		require.NoError(t, err)
		m := map[geo.Code]bool{}
		for _, n := range notes {
			m[n.Code] = true
		}
		return m
	}
	tri := fieldOf(nil, orb.Polygon{orb.Ring{{0, 0}, {200, 0}, {0, 150}, {0, 0}}})
	assert.True(t, codes(tri, func(s *Spec) {})[geo.NoteShortLeft])
	assert.True(t, codes(tri, func(s *Spec) { s.LongestM = 40 })[geo.NoteRunDivided])
	assert.True(t, codes(tri, func(s *Spec) { s.TurnRadiusM = 8 })[geo.NoteHeadlandTight])
	u := fieldOf(nil, orb.Polygon{orb.Ring{{0, 0}, {150, 0}, {150, 100}, {100, 100}, {100, 30}, {50, 30}, {50, 100}, {0, 100}, {0, 0}}})
	assert.True(t, codes(u, func(s *Spec) { s.Heading = Heading{Mode: HeadingFixed, Bearing: 90} })[geo.NoteGapOutside])
	strip := fieldOf(nil, orb.Polygon{rect(0, 0, 9, 200)})
	assert.True(t, codes(strip, func(s *Spec) { s.Heading = Heading{Mode: HeadingFixed} })[geo.NoteSpacingWide])
}

// Every layout of a few hundred odd fields is sound, whatever the spec.
func TestRandomFieldsAreSound(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for i := range 300 {
		f := randomField(rng)
		s := straight(2 + 6*rng.Float64())
		s.HeadlandM, s.SideM, s.ObstacleM = 8*rng.Float64(), 4*rng.Float64(), 4*rng.Float64()
		s.Heading.StepDeg = 15
		s.FirstRow.Steps = 4
		s.ShortestM = 20 * rng.Float64()
		if rng.IntN(2) == 0 {
			s.LongestM = 40 + 100*rng.Float64()
		}
		s.Plants = []Planting{{Plant: "hazel", PitchM: 4, StartM: 1, Every: 2, From: 1}, {Plant: "currant", PitchM: 1.5, StartM: 0.5, Every: 1, From: 1}}
		l, _, err := Plan(context.Background(), f, s)
		require.NoError(t, err)
		require.NoError(t, l.Check(), "field %d", i)
	}
}

// The same field turned, moved, reversed or started at another corner gives
// the same rows.
func TestLayoutFollowsTheField(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 60 {
		f := randomField(rng)
		s := straight(5)
		s.Heading = Heading{Mode: HeadingLongestEdge}
		s.FirstRow.Steps = 8
		want := mustPlan(t, f, s)

		ring := f.Blocks[0].Outline[0]
		again := append(orb.Ring{}, ring[2:]...)
		again = append(again, ring[1], ring[2])
		g := f
		g.Blocks = []geo.Block{{Name: "A", Outline: append(orb.Polygon{again}, f.Blocks[0].Outline[1:]...)}}
		got := mustPlan(t, g, s)
		assert.Equal(t, len(want.Rows), len(got.Rows))
		assert.InDelta(t, want.Blocks[0].Tally.PlantedM, got.Blocks[0].Tally.PlantedM, 1e-6)
	}
}

// Planted length times spacing comes close to the open area.
func TestRowsFillTheField(t *testing.T) {
	f := fieldOf(nil, nineHectares())
	s := straight(5)
	s.HeadlandM, s.SideM, s.ShortestM, s.PieceCostM = 0, 0, 0, 0
	l := mustPlan(t, f, s)
	area := areaM2(f.Blocks[0].Outline)
	assert.InDelta(t, 1, l.Blocks[0].Tally.PlantedM*5/area, 0.01)
	assert.InDelta(t, 9, area/1e4, 0.5)
}

func TestMultipleBlocksNumberOn(t *testing.T) {
	f := fieldOf(nil, orb.Polygon{rect(0, 0, 60, 60)}, orb.Polygon{rect(200, 0, 300, 60)})
	l := mustPlan(t, f, straight(5))
	require.Len(t, l.Blocks, 2)
	assert.Equal(t, l.Blocks[0].RowCount+1, l.Blocks[1].FirstRow)
}

func ExamplePlan() {
	frame, _ := geo.NewFrame(geo.LonLat{LonDeg: 17.5, LatDeg: 48.2})
	field := geo.Field{Frame: frame, Blocks: []geo.Block{{
		Name:    "Long Acre",
		Outline: orb.Polygon{{{0, 0}, {120, 0}, {120, 80}, {0, 80}, {0, 0}}},
	}}}
	spec := DefaultSpec()
	spec.SpacingM = 5
	spec.Heading = Heading{Mode: HeadingLongestEdge}
	layout, _, err := Plan(context.Background(), field, spec)
	if err != nil {
		fmt.Println(err)
		return
	}
	b := layout.Blocks[0]
	fmt.Printf("%d rows, %.1f m, heading %s, first row %s\n", b.RowCount, b.Tally.PlantedM, b.Heading, layout.Name(layout.Rows[0]))
	// Output: 15 rows, 1530.0 m, heading 090.00°, first row R001
}
