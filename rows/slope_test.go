package rows

import (
	"context"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/terrain"
)

// hill is triangles on the plane z = 300 + east x + north y, from x0 to x1.
func hill(t testing.TB, f geo.Field, east, north, x0, x1 float64) geo.Field {
	t.Helper()
	var pts []terrain.Point
	for x := x0; x <= x1; x += 20 {
		for y := -20.0; y <= 120; y += 20 {
			pts = append(pts, terrain.Point{X: x, Y: y, Z: 300 + east*x + north*y})
		}
	}
	s, _, err := terrain.FromPoints(pts, nil, terrain.TINOptions{})
	require.NoError(t, err)
	f.Surface = s
	f.Frame = f.Frame.WithHeight(300)
	return f
}

func northward() Spec {
	s := straight(5)
	s.Heading = Heading{Mode: HeadingFixed, Bearing: 0}
	s.FirstRow = FirstRow{OffsetM: 3}
	return s
}

func noted(notes geo.Notes, code geo.Code) (geo.Note, bool) {
	for _, n := range notes {
		if n.Code == code {
			return n, true
		}
	}
	return geo.Note{}, false
}

// On a plane every figure of a row is arithmetic: 15 % along 100 m is
// 101.119 m (geometry; sqrt(1 + 0.15²)).
func TestRowsOnAPlane(t *testing.T) {
	f := hill(t, fieldOf(nil, orb.Polygon{rect(0, 0, 100, 100)}), 0.08, 0.15, -20, 120)
	s := northward()
	s.HeadlandM = 0
	s.Plants = []Planting{{Plant: "hazel", PitchM: 5, StartM: 1, Every: 1, From: 1}}
	l := mustPlan(t, f, s)
	k := f.Frame.GroundFactor()
	require.NotEmpty(t, l.Rows)
	for _, r := range l.Rows {
		p := r.Pieces[0]
		require.NotNil(t, p.Slope)
		assert.InDelta(t, math.Sqrt(k*k+0.15*0.15)*p.PlanM, p.GroundM, 1e-6)
		assert.InDelta(t, 15, p.Slope.ChordGradePct*k, 1e-6, "uphill from A to B")
		assert.InDelta(t, -8, p.Slope.ChordSidePct*k, 1e-6, "the right side is higher")
		z0, ok := p.Line.HeightAt(0)
		assert.True(t, ok)
		a, _ := p.Line.Ends()
		assert.InDelta(t, 300+0.08*a[0]+0.15*a[1], z0, 1e-9)
		require.Greater(t, len(p.Stations), 1)
		u, v := p.Stations[0].At, p.Stations[1].At
		assert.InDelta(t, 5/math.Sqrt(k*k+0.15*0.15), math.Hypot(v[0]-u[0], v[1]-u[1]), 1e-6, "a pitch along the slope")
	}
}

func TestTerrainNotes(t *testing.T) {
	outline := orb.Polygon{rect(0, 0, 100, 100)}
	for _, c := range []struct {
		name        string
		east, north float64
		bare        bool
		side        geo.Severity // of the note on side slope; -1 for none
		sideLimit   float64
		grade       float64 // limit of the note on grade, 0 for none
		farming     bool    // standard 330 speaks too
	}{
		{"level", 0, 0, false, -1, 0, 0, false},
		{"gentle up and down", 0, 0.015, false, -1, 0, 0, false}, // flatter than the standards are for
		{"along the contour", 0.08, 0, false, -1, 0, 0, false},
		{"leaning 12 %", 0.12, 0, false, geo.Caution, 10, 0, false},
		{"leaning 18 %", 0.18, 0, false, geo.Caution, 15, 0, false},
		{"leaning 27 %", 0.27, 0, false, geo.Serious, 25, 0, false},
		{"12 % uphill, covered alleys", 0, 0.12, false, -1, 0, 6, false}, // half the slope
		{"12 % uphill, bare alleys", 0, 0.12, true, -1, 0, 4, false},
		{"24 % uphill, covered alleys", 0, 0.24, false, -1, 0, 10, false},
		{"8 % uphill", 0, 0.08, false, -1, 0, 4, true},
		{"4.5 % on a slope of 9.18 %, covered", 0.08, 0.045, false, -1, 0, 0, true},
		{"4.5 % on a slope of 9.18 %, bare", 0.08, 0.045, true, -1, 0, 4, true},
		{"a cliff", 0, 1.2, false, -1, 0, 100, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := northward()
			s.AlleyCover = !c.bare
			_, notes, err := Plan(context.Background(), hill(t, fieldOf(nil, outline), c.east, c.north, -20, 120), s)
			require.NoError(t, err)
			n, ok := noted(notes, geo.NoteSideSlope)
			assert.Equal(t, c.side >= 0, ok)
			if ok {
				assert.Equal(t, c.side, n.Severity)
				assert.InDelta(t, c.sideLimit, n.Limit, 0)
				assert.InDelta(t, 100*c.east, n.Value, 0.01)
				assert.Contains(t, n.Hint, "operator's manual")
				assert.Contains(t, n.Text, "R001")
			}
			n, ok = noted(notes, geo.NoteRowGrade)
			assert.Equal(t, c.grade > 0, ok)
			if ok {
				assert.InDelta(t, c.grade, n.Limit, 0.01)
				assert.InDelta(t, 100*c.north, n.Value, 0.01)
			}
			if ok && c.grade < 100 {
				assert.Contains(t, n.Text, "Standard 331")
				assert.Equal(t, c.farming, strings.Contains(n.Text, "Standard 330"))
			}
			_, ok = noted(notes, geo.NoteOffTerrain)
			assert.False(t, ok)
		})
	}
}

// Five centimetres of noise on every metre do not make a slope of 9 % one of
// 15, nor hide that rows run straight up one of 6.
func TestNoiseDoesNotDecide(t *testing.T) {
	noisy := func(east, north float64) geo.Field {
		rng := rand.New(rand.NewPCG(3, 26))
		var pts []terrain.Point
		for x := -20.0; x <= 120; x++ {
			for y := -20.0; y <= 120; y++ {
				pts = append(pts, terrain.Point{X: x, Y: y, Z: 300 + east*x + north*y + 0.05*rng.NormFloat64()})
			}
		}
		s, _, err := terrain.FromPoints(pts, nil, terrain.TINOptions{})
		require.NoError(t, err)
		f := fieldOf(nil, orb.Polygon{rect(0, 0, 100, 100)})
		f.Surface, f.Frame = s, f.Frame.WithHeight(300)
		return f
	}
	_, notes, err := Plan(context.Background(), noisy(0.09, 0), northward())
	require.NoError(t, err)
	if n, ok := noted(notes, geo.NoteSideSlope); ok {
		assert.Equal(t, geo.Caution, n.Severity, n.Text)
		assert.InDelta(t, 10, n.Limit, 0, n.Text)
	}
	_, notes, err = Plan(context.Background(), noisy(0, 0.06), northward())
	require.NoError(t, err)
	n, ok := noted(notes, geo.NoteRowGrade)
	require.True(t, ok)
	assert.Regexp(t, `^(1[67]\d\d) of 1[67]\d\d m of row`, n.Text, "all of it")
}

// A survey that ends within the field: rows go on, and say what is missing.
func TestRowsLeaveTheTerrain(t *testing.T) {
	f := hill(t, fieldOf(nil, orb.Polygon{rect(0, 0, 100, 60)}), 0, 0, -20, 60)
	s := straight(5)
	s.Heading = Heading{Mode: HeadingFixed, Bearing: 90}
	s.FirstRow = FirstRow{OffsetM: 3}
	l, notes, err := Plan(context.Background(), f, s)
	require.NoError(t, err)
	require.NoError(t, l.Check())
	var off float64
	for _, r := range l.Rows {
		p := r.Pieces[0]
		_, b := p.Line.Ends()
		assert.InDelta(t, b[0]-60, p.Slope.OutsideM, 1e-6)
		assert.InDelta(t, p.PlanM*f.Frame.GroundFactor(), p.GroundM, 1e-6, "level, so nothing is lost")
		_, ok := p.Line.HeightAt(p.Line.Len() - 1)
		assert.False(t, ok, "no height where none is known")
		off += p.Slope.OutsideM
	}
	n, ok := noted(notes, geo.NoteOffTerrain)
	require.True(t, ok)
	assert.InDelta(t, off, n.Value, 1e-6)
}

func BenchmarkPlanOnTerrain(b *testing.B) {
	f := hill(b, fieldOf(nil, orb.Polygon{rect(0, 0, 100, 100)}), 0.05, 0.03, -20, 120)
	s := northward()
	var p Planner
	for b.Loop() {
		if _, _, err := p.Plan(context.Background(), f, s); err != nil {
			b.Fatal(err)
		}
	}
}
