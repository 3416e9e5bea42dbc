package shapefile_test

import (
	"fmt"
	"math"
	"math/big"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/format"
)

func reversed(r []xy) []xy {
	r = slices.Clone(r)
	slices.Reverse(r)
	return r
}

// shapeOf is each polygon as the numbers of its rings in the file, found again
// by their first vertex and length.
func shapeOf(rings [][]xy, polygons []format.Polygon) string {
	var words []string
	for _, p := range polygons {
		var w []string
		for _, r := range p {
			w = append(w, fmt.Sprint(slices.IndexFunc(rings, func(x []xy) bool {
				return len(x) == len(r) && x[0] == xy{r[0].X, r[0].Y} && x[1] == xy{r[1].X, r[1].Y}
			})))
		}
		words = append(words, strings.Join(w, ","))
	}
	return strings.Join(words, " ")
}

// Which ring is what; the answers are by hand.
func TestRingRoles(t *testing.T) {
	a, b := box(0, 0, 100, 100), box(200, 0, 300, 100)
	inA, inB := hole(10, 10, 20, 20), hole(210, 10, 220, 20)
	island := box(12, 12, 14, 14)
	for name, c := range map[string]struct {
		rings [][]xy
		want  string
		note  float64 // area of rings taken as holes
	}{
		"outline and hole":              {[][]xy{a, inA}, "0,1", 0},
		"hole first":                    {[][]xy{inA, a}, "1,0", 0},
		"two outlines, holes mixed":     {[][]xy{inB, a, inA, b}, "1,2 3,0", 0},
		"all the wrong way round":       {[][]xy{reversed(a), reversed(inA), reversed(b)}, "0,1 2", 0},
		"outline the wrong way round":   {[][]xy{reversed(b)}, "0", 0},
		"hole in nothing":               {[][]xy{a, inB}, "0 1", 0},
		"second outline inside another": {[][]xy{a, reversed(inA)}, "0,1", 100},
		"both counter-clockwise":        {[][]xy{reversed(a), inA}, "0,1", 100},
		"island in a hole":              {[][]xy{a, inA, island}, "0,1 2", 0},
		"hole in the island":            {[][]xy{a, hole(10, 10, 60, 60), box(20, 20, 50, 50), hole(30, 30, 40, 40)}, "0,1 2,3", 0},
		"hole in a hole":                {[][]xy{a, inA, hole(12, 12, 14, 14)}, "0,1,2", 0},
		"hole touching at a corner":     {[][]xy{a, {{0, 50}, {10, 40}, {10, 60}, {0, 50}}}, "0,1", 0},
		"hole touching at all corners":  {[][]xy{a, {{50, 0}, {100, 50}, {50, 100}, {0, 50}, {50, 0}}}, "0,1", 0},
		"hole crossing the outline":     {[][]xy{a, hole(90, 40, 110, 60)}, "0,1", 0},
		"hole crossing, before it":      {[][]xy{hole(-10, 40, 10, 60), a}, "1,0", 0},
		"outlines side by side":         {[][]xy{a, box(100, 0, 150, 100)}, "0 1", 0},
		"outlines crossing":             {[][]xy{a, box(50, 50, 150, 150)}, "0 1", 0},
		"the same twice":                {[][]xy{a, a[:4], b}, "0 1 2", 0},
		"ring without area":             {[][]xy{a, {{5, 5}, {6, 6}, {5, 5}}}, "0,1", 0},
		"in the bay of another": {
			[][]xy{{{0, 0}, {0, 9}, {9, 9}, {9, 6}, {3, 6}, {3, 3}, {9, 3}, {9, 0}, {0, 0}}, box(5, 4, 6, 5)}, "0 1", 0,
		},
	} {
		t.Run(name, func(t *testing.T) {
			f, err := oneShape(t, polygon, multi(polygon, nil, c.rings...))
			require.NoError(t, err)
			assert.Equal(t, c.want, shapeOf(c.rings, f.Features[0].Polygons))
			if c.note == 0 {
				for _, n := range f.Notes {
					assert.NotEqual(t, geo.NoteRingRole, n.Code)
				}
				return
			}
			n := noteOf(t, f.Notes, geo.NoteRingRole)
			assert.Equal(t, c.note, n.Value)
			assert.Equal(t, geo.Caution, n.Severity)
		})
	}
}

// rightOf is exact: 1 when p lies to the right of the way from a to b, 0 on it.
func rightOf(a, b, p xy) int {
	rat := func(v float64) *big.Rat { return new(big.Rat).SetFloat64(v) }
	sub := func(x, y float64) *big.Rat { return new(big.Rat).Sub(rat(x), rat(y)) }
	l := new(big.Rat).Mul(sub(b[0], a[0]), sub(p[1], a[1]))
	r := new(big.Rat).Mul(sub(b[1], a[1]), sub(p[0], a[0]))
	return r.Cmp(l)
}

// Near misses are answered exactly: a ring with a vertex within rounding of the outline, in coordinates
// of a national grid. Outside value: rational arithmetic (math/big).
func TestRolesAreExact(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	seen := map[int]int{}
	for range 2000 {
		x, y := 5e5+rng.Float64()*1e3, 5e6+rng.Float64()*1e3
		a, b, c := xy{x, y}, xy{x + rng.Float64()*100, y + 50 + rng.Float64()*100}, xy{x + 120, y + rng.Float64()*10}
		near := xy{(a[0] + b[0]) / 2, (a[1] + b[1]) / 2}
		for range rng.IntN(4) {
			near[0] = math.Nextafter(near[0], 1e9)
		}
		tip := xy{(a[0] + b[0] + c[0]) / 3, (a[1] + b[1] + c[1]) / 3}
		low := xy{tip[0] - 1, tip[1] - 2}
		f, err := oneShape(t, polygon, multi(polygon, nil, []xy{a, b, c, a}, []xy{near, tip, low, near}))
		require.NoError(t, err)
		side := rightOf(a, b, near)
		seen[side]++
		want := 1 // inside or on the outline: a hole
		if side < 0 {
			want = 2
		}
		require.Len(t, f.Features[0].Polygons, want, "%v %v %v", a, b, near)
	}
	assert.Greater(t, seen[1], 100)
	assert.Greater(t, seen[-1], 100)
}

// A place within some rounding steps of a long line, at which the plain
// determinant answers wrongly for many (Kettner, Mehlhorn, Pion, Schirra and
// Yap, Classroom examples of robustness problems in geometric computations,
// 2008, section 3; the line moved so that it passes the place). The answer is
// by hand: inside where x > y, on the outline where x = y.
func TestRolesWherePlainSignsFail(t *testing.T) {
	const step = 0x1p-53 // between numbers from 0.5 to 1
	a, b, c := xy{-12, -12}, xy{24, 24}, xy{24, -12}
	for i := range 48 {
		for k := range 48 {
			near := xy{0.5 + float64(i)*step, 0.5 + float64(k)*step}
			f, err := oneShape(t, polygon, multi(polygon, nil, []xy{a, b, c, a}, []xy{near, {5, 0}, {1, -5}, near}))
			require.NoError(t, err)
			want := 1
			if i < k {
				want = 2
			}
			require.Len(t, f.Features[0].Polygons, want, "%d %d", i, k)
		}
	}
}

// Many parts in any order: 10 000 holes, every second with an island in it, in
// an outline of 20 000 corners.
func TestManyRings(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	const side = 100
	big := []xy{} // clockwise, of many vertices
	const corners = 20000
	for i := range corners {
		s, c := math.Sincos(-2 * math.Pi * float64(i) / corners)
		big = append(big, xy{3000 + 5000*c, 3000 + 5000*s})
	}
	rings := [][]xy{append(big, big[0])}
	for i := range side * side {
		x, y := float64(i%side)*60, float64(i/side)*60
		rings = append(rings, hole(x, y, x+20, y+20))
		if i%2 == 0 {
			rings = append(rings, box(x+5, y+5, x+10, y+10))
		}
	}
	rng.Shuffle(len(rings), func(i, k int) { rings[i], rings[k] = rings[k], rings[i] })
	f, err := oneShape(t, polygon, multi(polygon, nil, rings...))
	require.NoError(t, err)
	got := f.Features[0].Polygons
	assert.Len(t, got, 1+side*side/2)
	for _, p := range got {
		if len(p[0]) > 5 {
			assert.Len(t, p, 1+side*side)
		} else {
			assert.Len(t, p, 1)
		}
	}
	assert.Empty(t, f.Notes)
}
