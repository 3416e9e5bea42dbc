package rows

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
)

// bruteForce clips every choice that a search had before it and keeps the
// first of the greatest worth.
func bruteForce(st *site, tried []bounded) (best choice, worth float64) {
	worth = math.Inf(-1)
	var k clipper
	for _, t := range tried {
		if w := st.exactWorth(&k, t.choice, st.spec.valuer()); w > worth {
			best, worth = t.choice, w
		}
	}
	return best, worth
}

// The search answers exactly as clipping every heading and offset does.
func TestSearchEqualsBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for i := range 100 {
		f := randomField(rng)
		s := straight(3 + 4*rng.Float64())
		s.Heading.StepDeg = 3
		s.FirstRow.Steps = 5
		s.HeadlandM = 10 * rng.Float64()
		s.SideM = s.HeadlandM
		switch i % 4 {
		case 1:
			s.SideM = s.HeadlandM / 2
		case 2:
			s.HeadlandM, s.SideM, s.ObstacleM = 0, 0, 0
		case 3:
			s.LongestM = 70
		}
		o := f.Blocks[0].Outline
		switch i % 7 {
		case 1: // the same ground listed twice
			f.Obstacles = append(f.Obstacles, f.Obstacles...)
		case 2:
			if len(o) > 1 {
				f.Obstacles = append(f.Obstacles, geo.Obstacle{Name: "hole again", Area: orb.Polygon{reversed(o[1])}})
			}
		case 3: // a drive log of some hundred vertices, round a pond with an island
			o[0] = dense(rng, o[0], 4, 0.02)
			f.Obstacles = append(f.Obstacles, geo.Obstacle{Name: "moat", Area: orb.Polygon{dense(rng, rect(-20, -20, 20, 20), 1, 0.01), reversed(rect(-10, -10, 10, 10))}})
		}
		st := newSite(f.Blocks[0], f.Obstacles, &s)
		hs := st.headings()
		var find searcher
		got, err := find.search(context.Background(), st, hs, 1)
		require.NoError(t, err)
		require.Len(t, find.table, (s.FirstRow.Steps+2)*len(hs), "every heading at every first row")
		want, worth := bruteForce(st, find.table)
		require.Equal(t, want, got, "field %d, worth %g", i, worth)
		got, err = new(searcher).search(context.Background(), st, hs, 3)
		require.NoError(t, err)
		require.Equal(t, want, got, "field %d, whatever the number of workers", i)
	}
}

// The bound is one: never below the exact worth.
func TestBoundIsAnUpperBound(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	torn, tight, open, all := 0, 0, 0, 0
	for range 300 {
		f := randomField(rng)
		s := straight(3 + 4*rng.Float64())
		s.HeadlandM, s.SideM = 10*rng.Float64(), 10*rng.Float64()
		st := newSite(f.Blocks[0], f.Obstacles, &s)
		var c counter
		var k clipper
		for h := 0.0; h < 180; h += 7 {
			x := axesOf(geo.Bearing(h))
			vmin, vmax := st.across(x)
			c.turn(st, x)
			off := s.SpacingM * rng.Float64()
			b := c.bound(grid{x, vmin + off, s.SpacingM}, rowsWithin(vmin, vmax, off, s.SpacingM), st.spec.valuer())
			w := st.exactWorth(&k, choice{geo.Bearing(h), off}, st.spec.valuer())
			require.GreaterOrEqual(t, b, w-worthStep)
			all++
			if math.IsInf(b, 1) {
				torn++
			}
			if len(f.Obstacles)+len(f.Blocks[0].Outline) == 1 {
				open++
				if b-w < 0.02*w+2*s.PieceCostM {
					tight++
				}
			}
		}
	}
	assert.Less(t, torn, all/200, "torn boundaries are rare")
	assert.Greater(t, tight, open*4/5, "and without obstacles the bound is nearly always tight")
}

// A worth of one's own drives the search.
func TestSearchByOwnWorth(t *testing.T) {
	f := randomField(rand.New(rand.NewPCG(11, 12)))
	s := straight(5)
	s.Worth = func(l float64) float64 { return math.Max(0, l-60) } // long rows only
	st := newSite(f.Blocks[0], f.Obstacles, &s)
	var find searcher
	got, err := find.search(context.Background(), st, st.headings(), 1)
	require.NoError(t, err)
	want, _ := bruteForce(st, find.table)
	assert.Equal(t, want, got)
}

// The default worth keeps the promises the search relies on.
func TestDefaultWorthIsLawful(t *testing.T) {
	for _, c := range []float64{0, 4, 10, 25} {
		s := straight(5)
		s.PieceCostM = c
		w := s.DefaultWorth()
		for a := 0.0; a < 60; a += 0.7 {
			assert.GreaterOrEqual(t, w(a+0.1), w(a))
			for b := 0.0; b < 60; b += 1.3 {
				assert.LessOrEqual(t, w(a)+w(b), w(a+b)+1e-12)
			}
		}
	}
}

// BenchmarkSearch180 is a search of 180 headings by counting, one field of
// 26 vertices and 9 ha, 5 m rows, 6 m headland, first row given: with planted
// length alone and with the default worth; and the counting of it alone, without
// the exact clips of what may still win.
func BenchmarkSearch180(b *testing.B) {
	f := fieldOf(nil, nineHectares())
	hs := make([]geo.Bearing, 180)
	for i := range hs {
		hs[i] = geo.Bearing(i)
	}
	for _, c := range []struct {
		name         string
		piece, least float64
		count        bool
	}{{"counting", 10, 10, true}, {"length", 0, 0, false}, {"worth", 10, 10, false}} {
		b.Run(c.name, func(b *testing.B) {
			s := straight(5)
			s.HeadlandM, s.SideM, s.PieceCostM, s.ShortestM = 6, 6, c.piece, c.least
			s.FirstRow = FirstRow{OffsetM: 2.5, Steps: 1}
			var find searcher
			var st site
			b.ReportAllocs()
			for b.Loop() {
				st.reset(f.Blocks[0], nil, &s)
				if c.count {
					find.hands = append(find.hands, hand{})[:1]
					find.boundAll(context.Background(), &st, hs, 1)
					continue
				}
				if _, err := find.search(context.Background(), &st, hs, 1); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkSearchDefault is the search of a plan with all defaults: 180
// headings and the edges, 22 first rows each, side and headland different; on
// one processor and on all.
func BenchmarkSearchDefault(b *testing.B) {
	f := fieldOf(nil, nineHectares())
	s := straight(5)
	st := newSite(f.Blocks[0], nil, &s)
	for name, workers := range map[string]int{"one": 1, "all": runtime.GOMAXPROCS(0)} {
		b.Run(name, func(b *testing.B) {
			var find searcher
			for b.Loop() {
				if _, err := find.search(context.Background(), st, st.headings(), workers); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkPlanFixed is rows.Plan with heading and first row given.
func BenchmarkPlanFixed(b *testing.B) {
	f := fieldOf(nil, nineHectares())
	s := straight(5)
	s.HeadlandM, s.SideM, s.TurnRadiusM = 6, 6, 2.5 // a turn that the headland holds
	s.Heading = Heading{Mode: HeadingFixed, Bearing: 37}
	s.FirstRow = FirstRow{OffsetM: 2.5}
	b.ReportAllocs()
	var p Planner
	for b.Loop() {
		if _, _, err := p.Plan(context.Background(), f, s); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkSearchDriveLog is the default search of an outline as a GNSS log
// gives it: some 1100 vertices with 2 cm of noise.
func BenchmarkSearchDriveLog(b *testing.B) {
	o := nineHectares()
	o[0] = dense(rand.New(rand.NewPCG(1, 1)), o[0], 1, 0.02)
	f := fieldOf(nil, o)
	s := straight(5)
	b.ReportAllocs()
	b.ReportMetric(float64(len(o[0])-1), "vertices")
	for b.Loop() {
		if _, _, err := new(Planner).Plan(context.Background(), f, s); err != nil {
			b.Fatal(err)
		}
	}
}

// The extent across the rows is that of all vertices, whatever the hull.
func TestAcrossIsTheExtentOfAllVertices(t *testing.T) {
	rng := rand.New(rand.NewPCG(31, 32))
	for range 200 {
		f := randomField(rng)
		s := straight(5)
		st := newSite(f.Blocks[0], nil, &s)
		for h := 0.0; h < 180; h += 11 {
			x := axesOf(geo.Bearing(h))
			vmin, vmax := st.across(x)
			lo, hi := math.Inf(1), math.Inf(-1)
			for _, p := range f.Blocks[0].Outline[0] {
				_, v := x.uv(p)
				lo, hi = min(lo, v), max(hi, v)
			}
			require.Equal(t, lo, vmin)
			require.Equal(t, hi, vmax)
		}
	}
	line := newSite(geo.Block{Outline: orb.Polygon{{{0, 0}, {1, 1}, {2, 2}, {0, 0}}}}, nil, &Spec{})
	vmin, vmax := line.across(axesOf(0))
	assert.Equal(t, [2]float64{0, 2}, [2]float64{vmin, vmax})
}
