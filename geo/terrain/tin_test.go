package terrain

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo"
	"hemrow/geo/polygon"
)

// scatter is n points of a surface in a square of the given side.
func scatter(n int, sideM float64, seed uint64, z func(x, y float64) float64) []Point {
	r := rand.New(rand.NewPCG(seed, 7))
	pts := make([]Point, n)
	for i := range pts {
		x, y := lattice(r.Float64()*sideM), lattice(r.Float64()*sideM)
		pts[i] = Point{x, y, z(x, y)}
	}
	return pts
}

func plane(x, y float64) float64 { return 120 + 0.08*x - 0.05*y }

func mustTIN(t testing.TB, pts []Point, breaks [][]Point, opt TINOptions) (*TIN, geo.Notes) {
	t.Helper()
	s, notes, err := FromPoints(pts, breaks, opt)
	require.NoError(t, err)
	return s, notes
}

func TestTINOnAPlaneIsExact(t *testing.T) {
	s, _ := mustTIN(t, scatter(500, 300, 1, plane), nil, TINOptions{LongestEdgeM: math.Inf(1)})
	n := 0
	for _, p := range scatter(5000, 320, 2, plane) {
		z, ok := s.Height(orb.Point{p.X, p.Y})
		gx, gy, okG := s.Gradient(orb.Point{p.X, p.Y})
		require.Equal(t, ok, okG)
		if !ok {
			continue
		}
		n++
		assert.InDelta(t, p.Z, z, 1e-9)
		assert.InDelta(t, 0.08, gx, 1e-8)
		assert.InDelta(t, -0.05, gy, 1e-8)
	}
	assert.Greater(t, n, 4000)
	assert.Contains(t, s.Describe(), "triangles between")
}

func TestHeightsAtTheSurveyedPoints(t *testing.T) {
	bumpy := func(x, y float64) float64 { return 200 + 10*math.Sin(x/30)*math.Cos(y/40) }
	pts := scatter(2000, 300, 3, bumpy)
	s, _ := mustTIN(t, pts, nil, TINOptions{LongestEdgeM: math.Inf(1)})
	in := 0
	for _, p := range pts {
		if z, ok := s.Height(orb.Point{p.X, p.Y}); ok {
			in++
			assert.InDelta(t, p.Z, z, 1e-9)
		}
	}
	assert.Greater(t, in, 1970, "all but those of flat triangles at the edge")
}

// Walking finds the triangle that looking at all of them finds, on points that
// lie inside, on edges and on corners.
func TestLocateIsSearch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pts := drawPoints(t)
		three := make([]Point, len(pts))
		for i, p := range pts {
			three[i] = Point{p[0], p[1], float64(i % 5)}
		}
		s, _, err := FromPoints(three, [][]Point{three[:2]}, TINOptions{LongestEdgeM: rapid.SampledFrom([]float64{0, math.Inf(1)}).Draw(t, "limit")})
		if err != nil {
			return
		}
		for range 20 {
			p := pts[rapid.IntRange(0, len(pts)-1).Draw(t, "p")]
			q := pts[rapid.IntRange(0, len(pts)-1).Draw(t, "q")]
			at := along(p, q, rapid.SampledFrom([]float64{0, 0.5, 0.3, 1, 1.1}).Draw(t, "t"))
			want := none
			for k := range s.triangles() {
				if want == none && s.covered[k] && s.holds(k, at) {
					want = k
				}
			}
			require.Equal(t, want, s.locate(at), "%v", at)
		}
	})
}

// Between breaks the gradient is that of one triangle, and at each break the
// segment meets an edge: every crossing of an edge found by looking at all
// edges is a break, and no break is anything else.
func TestTINBreaks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pts := drawPoints(t)
		three := make([]Point, len(pts))
		for i, p := range pts {
			three[i] = Point{p[0], p[1], float64(i % 7)}
		}
		s, _, err := FromPoints(three, nil, TINOptions{LongestEdgeM: math.Inf(1)})
		if err != nil {
			return
		}
		pick := func(name string) orb.Point {
			p := pts[rapid.IntRange(0, len(pts)-1).Draw(t, name)]
			d := rapid.SampledFrom([]float64{0, 0.25, -3, 500}).Draw(t, name+".off")
			return orb.Point{p[0] + d, p[1] + d/3}
		}
		a, b := pick("a"), pick("b")
		got := s.Breaks(a, b, nil)
		require.True(t, slices.IsSorted(got))
		l := distM(a, b)
		for _, u := range got {
			at := along(a, b, u)
			near := math.Inf(1)
			for e := range int32(len(s.org)) {
				p, q := s.ends(e)
				near = min(near, polygon.PointSegmentM(at, p, q))
			}
			require.Less(t, near, 1e-6)
		}
		for e := range int32(len(s.org)) {
			p, q := s.ends(e)
			if polygon.Orient(a, b, p)*polygon.Orient(a, b, q) >= 0 || polygon.Orient(p, q, a)*polygon.Orient(p, q, b) >= 0 {
				continue
			}
			u := crossShare(a, b, p, q)
			near := min(u, 1-u)
			for _, g := range got {
				near = min(near, math.Abs(g-u))
			}
			require.LessOrEqual(t, near*l, 1e-5, "edge %v %v", p, q)
		}
	})
}

func TestBreaksAlongAnEdgeAndTheHull(t *testing.T) {
	var net []Point
	for i := range 5 {
		for j := range 5 {
			net = append(net, Point{float64(i) * 10, float64(j) * 10, 0})
		}
	}
	s, _ := mustTIN(t, net, nil, TINOptions{})
	for name, y := range map[string]float64{"inner": 20, "south edge": 0, "north edge": 40} {
		assert.InDeltaSlice(t, []float64{0.25, 0.5, 0.75}, s.Breaks(orb.Point{0, y}, orb.Point{40, y}, nil), 1e-12, name)
		assert.InDeltaSlice(t, []float64{0.25, 0.5, 0.75}, s.Breaks(orb.Point{40, y}, orb.Point{0, y}, nil), 1e-12, name)
		assert.InDeltaSlice(t, []float64{0.1, 0.3, 0.5, 0.7, 0.9}, s.Breaks(orb.Point{-5, y}, orb.Point{45, y}, nil), 1e-12, name)
	}
	assert.Empty(t, s.Breaks(orb.Point{-5, -5}, orb.Point{45, -5}, nil))
	assert.Empty(t, s.Breaks(orb.Point{3, 3}, orb.Point{3, 3}, nil))
}

func TestLongEdges(t *testing.T) {
	// Two blocks of ground, 200 m apart, and a bay: by hand.
	var pts []Point
	for i := range 11 {
		for j := range 11 {
			pts = append(pts, Point{float64(i) * 10, float64(j) * 10, 5}, Point{300 + float64(i)*10, float64(j) * 10, 5})
		}
	}
	s, notes := mustTIN(t, pts, nil, TINOptions{Place: "survey.csv"})
	assert.InDelta(t, 20000, s.AreaM2(), 1e-6)
	_, ok := s.Height(orb.Point{200, 50})
	assert.False(t, ok)
	_, ok = s.Height(orb.Point{100, 50})
	assert.True(t, ok, "the border belongs to the surface")
	note := noteOf(t, notes, geo.NoteLongEdges)
	assert.InDelta(t, 20000, note.Value, 1e-6, "the area between the blocks")
	assert.Equal(t, "survey.csv", note.Place)
	assert.NotEmpty(t, noteOf(t, notes, geo.NoteTerrain).Text)

	all, notes := mustTIN(t, pts, nil, TINOptions{LongestEdgeM: math.Inf(1)})
	assert.InDelta(t, 40000, all.AreaM2(), 1e-6)
	for _, n := range notes {
		assert.NotEqual(t, geo.NoteLongEdges, n.Code)
	}
	_, _, err := FromPoints(pts, nil, TINOptions{LongestEdgeM: 1})
	assert.ErrorContains(t, err, "no triangle is left")
}

func TestFlatTrianglesAtTheEdge(t *testing.T) {
	// A fence surveyed a little crooked: the middle post 10 cm inside the line.
	pts := []Point{{0, 0, 0}, {50, 0.1, 3}, {100, 0, 0}, {0, 60, 0}, {100, 60, 0}}
	s, notes := mustTIN(t, pts, nil, TINOptions{})
	assert.InDelta(t, 6000-100*0.1/2, s.AreaM2(), 1e-6)
	assert.Contains(t, noteOf(t, notes, geo.NoteLongEdges).Text, "flatter")
}

func noteOf(t testing.TB, ns geo.Notes, c geo.Code) geo.Note {
	t.Helper()
	i := slices.IndexFunc(ns, func(n geo.Note) bool { return n.Code == c })
	require.GreaterOrEqual(t, i, 0, "no note %s in %v", c, ns)
	return ns[i]
}

func TestPointsInOnePlace(t *testing.T) {
	square := []Point{{0, 0, 10}, {20, 0, 10}, {20, 20, 10}, {0, 20, 10}}
	t.Run("same height", func(t *testing.T) {
		s, notes := mustTIN(t, append(square[:4:4], square...), nil, TINOptions{})
		assert.Equal(t, 4, s.points)
		n := noteOf(t, notes, geo.NoteTerrainPoints)
		assert.Contains(t, n.Text, "4 survey points dropped")
		assert.Equal(t, geo.Info, n.Severity)
	})
	t.Run("two heights", func(t *testing.T) {
		s, notes := mustTIN(t, append(square[:4:4], Point{20.003, 0, 10.04}, Point{10, 10, 10}), nil, TINOptions{})
		z, ok := s.Height(orb.Point{20, 0})
		assert.True(t, ok)
		assert.InDelta(t, 10.02, z, 1e-9, "the mean")
		n := noteOf(t, notes, geo.NoteTerrainPoints)
		assert.Equal(t, geo.Info, n.Severity)
		assert.InDelta(t, 0.04, n.Value, 1e-9)
	})
	t.Run("a wall", func(t *testing.T) {
		_, notes := mustTIN(t, append(square[:4:4], Point{20, 0, 12}), nil, TINOptions{})
		n := noteOf(t, notes, geo.NoteTerrainPoints)
		assert.Equal(t, geo.Caution, n.Severity)
		assert.InDelta(t, 2, n.Value, 1e-9)
		assert.NotEmpty(t, n.Hint)
	})
	t.Run("6 mm apart stay two", func(t *testing.T) {
		s, _ := mustTIN(t, append(square[:4:4], Point{10, 10, 10}, Point{10.006, 10, 10}), nil, TINOptions{})
		assert.Equal(t, 6, s.points)
	})
}

func TestBreakLines(t *testing.T) {
	// A bank: level at 10 m west of x = 50, level at 12 m east of x = 51, with
	// its foot and its top as break lines; by hand.
	var pts []Point
	for _, p := range scatter(400, 100, 9, func(x, _ float64) float64 { return 10 + 2*min(1, max(0, x-50)) }) {
		if p.X < 49 || p.X > 52 {
			pts = append(pts, p)
		}
	}
	foot := []Point{{50, 1, 10}, {50, 99, 10}}
	top := []Point{{51, 1, 12}, {51, 99, 12}}
	s, _ := mustTIN(t, pts, [][]Point{foot, top}, TINOptions{LongestEdgeM: math.Inf(1)})
	checkMesh(t, &s.mesh)
	for y := 5.0; y < 95; y += 0.7 {
		for x, want := range map[float64]float64{49.9: 10, 50: 10, 50.25: 10.5, 50.5: 11, 51: 12, 51.1: 12} {
			z, ok := s.Height(orb.Point{x, y})
			require.True(t, ok)
			assert.InDelta(t, want, z, 1e-9, "%g, %g", x, y)
		}
	}
	gx, gy, ok := s.Gradient(orb.Point{50.5, 40})
	assert.True(t, ok)
	assert.InDelta(t, 2, gx, 1e-9)
	assert.InDelta(t, 0, gy, 1e-9)
}

func TestBreakLinesThatMeet(t *testing.T) {
	square := []Point{{0, 0, 10}, {100, 0, 10}, {100, 100, 10}, {0, 100, 10}}
	cross := func(dz float64) [][]Point {
		return [][]Point{{{10, 10, 10}, {90, 90, 10}}, {{10, 90, 10 + dz}, {90, 10, 10 + dz}}}
	}
	t.Run("cross", func(t *testing.T) {
		s, notes := mustTIN(t, square, cross(0.06), TINOptions{})
		z, ok := s.Height(orb.Point{50, 50})
		assert.True(t, ok)
		assert.InDelta(t, 10.03, z, 1e-9)
		assert.Contains(t, noteOf(t, notes, geo.NoteBreakLine).Text, "1 place")
		checkMesh(t, &s.mesh)
	})
	t.Run("cross at different heights", func(t *testing.T) {
		_, _, err := FromPoints(square, cross(0.5), TINOptions{Place: "lines.shp"})
		assert.EqualError(t, err, "lines.shp: break lines 1 and 2 cross at 50.00, 50.00 with heights 10.00 m and 10.50 m; correct one of them or end it before the other")
	})
	t.Run("through a point", func(t *testing.T) {
		s, _ := mustTIN(t, append(square[:4:4], Point{50, 50.004, 11}), cross(0)[:1], TINOptions{})
		a, b, c := none, none, none
		for i, p := range s.pts {
			switch p {
			case orb.Point{10, 10}:
				a = int32(i)
			case orb.Point{50, lattice(50.004)}:
				b = int32(i)
			case orb.Point{90, 90}:
				c = int32(i)
			}
		}
		assert.True(t, s.fixed[s.edge(a, b)], "the line takes the point up")
		assert.True(t, s.fixed[s.edge(b, c)])
	})
	t.Run("one upon another", func(t *testing.T) {
		l := cross(0)[0]
		s, _ := mustTIN(t, square, [][]Point{l, {l[1], l[0]}, {{30, 30, 10}, {70, 70, 10}}}, TINOptions{})
		checkMesh(t, &s.mesh)
	})
}

func TestRandomBreakLines(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pts := scatter(60, 100, rapid.Uint64().Draw(t, "seed"), func(_, _ float64) float64 { return 3 })
		var lines [][]Point
		for range rapid.IntRange(1, 6).Draw(t, "lines") {
			var l []Point
			for range rapid.IntRange(2, 5).Draw(t, "n") {
				l = append(l, Point{rapid.Float64Range(0, 100).Draw(t, "x"), rapid.Float64Range(0, 100).Draw(t, "y"), 3})
			}
			lines = append(lines, l)
		}
		s, notes, err := FromPoints(pts, lines, TINOptions{LongestEdgeM: math.Inf(1)})
		require.NoError(t, err)
		checkMesh(t, &s.mesh)
		for _, n := range notes {
			assert.Less(t, n.Severity, geo.Caution, "all were followed: %s", n)
		}
		// Every break line lies on fixed edges.
		for _, l := range lines {
			for i := 1; i < len(l); i++ {
				if math.Hypot(l[i].X-l[i-1].X, l[i].Y-l[i-1].Y) <= 2*geo.SurveySnapM {
					continue // one place
				}
				for _, u := range []float64{0.1, 0.37, 0.8} {
					p := along(orb.Point{l[i-1].X, l[i-1].Y}, orb.Point{l[i].X, l[i].Y}, u)
					near := math.Inf(1)
					for e, fixed := range s.fixed {
						if a, b := s.ends(int32(e)); fixed {
							near = min(near, polygon.PointSegmentM(p, a, b))
						}
					}
					require.LessOrEqual(t, near, 2*geo.SurveySnapM)
				}
			}
		}
	})
}

func TestFromPointsRefuses(t *testing.T) {
	nan := math.NaN()
	for name, c := range map[string]struct {
		pts    []Point
		breaks [][]Point
		limitM float64
		want   string
	}{
		"none":             {nil, nil, 0, "0 points; a surface needs three"},
		"two":              {[]Point{{1, 2, 3}, {2, 3, 4}}, nil, 0, "2 points"},
		"in one line":      {[]Point{{0, 0, 1}, {1, 1, 1}, {2, 2, 1}, {5, 5, 1}}, nil, 0, "4 points in one line"},
		"all the same":     {[]Point{{1, 1, 1}, {1, 1, 1}, {1, 1, 1}}, nil, 0, "3 points in one line"},
		"within 5 mm":      {[]Point{{1, 1, 1}, {1.001, 1, 1}, {1, 1.001, 1}}, nil, 0, "all points lie within"},
		"not a number":     {[]Point{{0, 0, 1}, {1, 1, nan}, {2, 0, 1}}, nil, 0, "point 2"},
		"infinite":         {[]Point{{0, 0, 1}, {1, 1, 1}, {math.Inf(-1), 0, 1}}, nil, 0, "point 3"},
		"degrees of grids": {[]Point{{0, 0, 1}, {1, 1, 1}, {1, 5_800_000, 1}}, nil, 0, "point 3"},
		"height mark":      {[]Point{{0, 0, 1}, {1, 1, -9999}, {2, 0, 1}}, nil, 0, "point 2"},
		"break line":       {[]Point{{0, 0, 1}, {1, 1, 1}, {2, 0, 1}}, [][]Point{{{0, 0, 1}}, {{0, 0, 0}, {0, nan, 0}}}, 0, "break line 2, vertex 2"},
		"limit":            {[]Point{{0, 0, 1}, {1, 1, 1}, {2, 0, 1}}, nil, -1, "longest side"},
	} {
		t.Run(name, func(t *testing.T) {
			_, _, err := FromPoints(c.pts, c.breaks, TINOptions{LongestEdgeM: c.limitM, Place: "points.csv"})
			require.Error(t, err)
			assert.Contains(t, err.Error(), c.want)
			assert.False(t, strings.HasSuffix(err.Error(), "."))
		})
	}
}

func TestQueriesThatAreNoPlaces(t *testing.T) {
	s, _ := mustTIN(t, scatter(50, 100, 5, plane), nil, TINOptions{})
	for _, p := range []orb.Point{{math.NaN(), 1}, {1, math.Inf(1)}, {-1e300, 1e300}, {1e9, 50}} {
		_, ok := s.Height(p)
		assert.False(t, ok, "%v", p)
		assert.NotPanics(t, func() { s.Breaks(p, orb.Point{50, 50}, nil) })
		assert.NotPanics(t, func() { s.Breaks(orb.Point{50, 50}, p, nil) })
	}
}

func FuzzFromPoints(f *testing.F) {
	f.Add([]byte{0, 0, 9, 0, 0, 9, 9, 9, 3, 3}, 1e-3, uint8(3))
	f.Add([]byte{1, 1, 1, 1, 1, 1, 7, 7, 7, 7, 3, 4}, 1e6, uint8(0))
	f.Add([]byte{0, 0, 255, 255, 0, 255, 255, 0, 128, 128, 1, 0}, 0x1p-30, uint8(12))
	f.Add([]byte("some points on a hillside, drawn by letters"), 1.0, uint8(9))
	f.Fuzz(func(t *testing.T, data []byte, scale float64, breaks uint8) {
		var pts []Point
		for i := 0; i+1 < len(data) && len(pts) < 300; i += 2 {
			pts = append(pts, Point{float64(int8(data[i])) * scale, float64(int8(data[i+1])) * scale, float64(data[i] % 4)})
		}
		var lines [][]Point
		for k := int(breaks) % 16; k > 1 && len(pts) > k; k-- {
			lines = append(lines, pts[len(pts)-k:])
		}
		s, _, err := FromPoints(pts, lines, TINOptions{})
		if err != nil {
			return
		}
		checkMesh(t, &s.mesh)
		for i := 1; i < len(pts); i++ {
			a, b := orb.Point{pts[i-1].X, pts[i-1].Y}, orb.Point{pts[i].X, pts[i].Y}
			if !slices.IsSorted(s.Breaks(a, b, nil)) {
				t.Fatal("breaks do not rise")
			}
			s.Height(a)
		}
	})
}

func BenchmarkFromPoints(b *testing.B) {
	for _, n := range []int{1_000, 10_000, 100_000, 1_000_000} {
		pts := scatter(n, 2000, 11, plane)
		b.Run(fmt.Sprintf("n=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, _, err := FromPoints(pts, nil, TINOptions{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
	var net []Point
	for i := range 100 {
		for j := range 100 {
			net = append(net, Point{float64(i) * 5, float64(j) * 5, 0})
		}
	}
	b.Run("net=10000", func(b *testing.B) {
		for b.Loop() {
			if _, _, err := FromPoints(net, nil, TINOptions{}); err != nil {
				b.Fatal(err)
			}
		}
	})
}

func BenchmarkTINHeight(b *testing.B) {
	s, _ := mustTIN(b, scatter(100_000, 2000, 11, plane), nil, TINOptions{})
	i, sum := 0, 0.0
	for b.Loop() {
		z, _ := s.Height(orb.Point{100 + float64(i%1800), 700.3})
		sum += z
		i++
	}
	if math.IsNaN(sum) {
		b.Fatal(sum)
	}
}
