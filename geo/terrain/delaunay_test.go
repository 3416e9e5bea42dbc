package terrain

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo"
	"hemrow/geo/polygon"
)

// bigInCircle is the determinant in rational arithmetic (math/big), by the
// definition of the predicate.
func bigInCircle(a, b, c, d orb.Point) int {
	rat := func(x float64) *big.Rat { return new(big.Rat).SetFloat64(x) }
	sub := func(x, y float64) *big.Rat { return new(big.Rat).Sub(rat(x), rat(y)) }
	mul := func(x, y *big.Rat) *big.Rat { return new(big.Rat).Mul(x, y) }
	type row struct{ x, y, l *big.Rat }
	mk := func(p orb.Point) row {
		x, y := sub(p[0], d[0]), sub(p[1], d[1])
		return row{x, y, new(big.Rat).Add(mul(x, x), mul(y, y))}
	}
	r, s, t := mk(a), mk(b), mk(c)
	minor := func(p, q row) *big.Rat { return new(big.Rat).Sub(mul(p.x, q.y), mul(q.x, p.y)) }
	sum := mul(r.l, minor(s, t))
	sum.Add(sum, mul(s.l, minor(t, r)))
	sum.Add(sum, mul(t.l, minor(r, s)))
	return sum.Sign()
}

func lattice(x float64) float64 {
	y, _ := onLattice(x)
	return y
}

// Against rational arithmetic, on points made to lie near or on one circle.
func TestInCircleIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		scale := math.Pow(10, float64(rapid.IntRange(-6, 6).Draw(t, "scale")))
		at := func(name string) orb.Point {
			return orb.Point{
				lattice(float64(rapid.IntRange(-6, 6).Draw(t, name+".x"))*scale + geo.LatticeM*float64(rapid.IntRange(-1, 1).Draw(t, name+".dx"))),
				lattice(float64(rapid.IntRange(-6, 6).Draw(t, name+".y")) * scale),
			}
		}
		a, b, c, d := at("a"), at("b"), at("c"), at("d")
		want := bigInCircle(a, b, c, d)
		assert.Equal(t, want, inCircle(a, b, c, d))
		assert.Equal(t, want, inCircleExact([6]float64{a[0] - d[0], a[1] - d[1], b[0] - d[0], b[1] - d[1], c[0] - d[0], c[1] - d[1]}))
	})
}

func TestInCircleAtTheEndsOfTheLattice(t *testing.T) {
	m := float64(mostM)
	u := geo.LatticeM
	square := []orb.Point{{-m, -m}, {m, -m}, {m, m}, {-m, m}}
	assert.Equal(t, 0, inCircle(square[0], square[1], square[2], square[3]))
	assert.Equal(t, 1, inCircle(square[0], square[1], square[2], orb.Point{-m + u, m - u}))
	assert.Equal(t, -1, inCircle(square[0], square[1], orb.Point{m - u, m - u}, square[3]))
}

// checkMesh holds a triangulation against its definition: triangles turn left,
// twins agree, the hull is convex, no circle holds another vertex (every edge
// is locally Delaunay, which is the same; fixed edges excepted), and the area
// is that of the hull (Euler's formula gives the number of triangles).
func checkMesh(t require.TestingT, m *mesh) {
	hull, used := 0, map[int32]bool{}
	for k := range m.triangles() {
		a, b, c := m.corners(k)
		require.Equal(t, 1, polygon.Orient(a, b, c), "triangle %d", k)
	}
	for e := range int32(len(m.org)) {
		used[m.org[e]] = true
		f := m.twin[e]
		if f == none {
			hull++
			continue
		}
		require.Equal(t, e, m.twin[f])
		require.Equal(t, m.org[e], m.org[next(f)])
		require.Equal(t, m.org[f], m.org[next(e)])
		if m.isFixed(e) {
			require.True(t, m.isFixed(f))
			continue
		}
		require.True(t, m.isDelaunay(e), "edge %d", e)
	}
	checkHull(t, m, hull)
	require.Equal(t, 2*len(used)-2-hull, int(m.triangles()))
}

// checkHull goes round the hull: all edges in one turn, never to the right.
func checkHull(t require.TestingT, m *mesh, edges int) {
	out := map[int32]int32{}
	for e := range int32(len(m.org)) {
		if m.twin[e] == none {
			out[m.org[e]] = m.org[next(e)]
		}
	}
	require.Len(t, out, edges)
	start := none
	for v := range out {
		start = max(start, v)
	}
	v := start
	for range edges {
		w := out[v]
		require.GreaterOrEqual(t, polygon.Orient(m.pts[v], m.pts[w], m.pts[out[w]]), 0)
		v = w
	}
	require.Equal(t, start, v)
}

// drawPoints makes sets that are hard in different ways.
func drawPoints(t *rapid.T) []orb.Point {
	kind := rapid.SampledFrom([]string{"even", "net", "lines", "doubles", "circle", "steps"}).Draw(t, "kind")
	n := rapid.IntRange(3, 80).Draw(t, "n")
	f := rapid.Float64Range(-1000, 1000)
	k := rapid.IntRange(-4, 4)
	pts := make([]orb.Point, n)
	for i := range pts {
		switch kind {
		case "even":
			pts[i] = orb.Point{f.Draw(t, "x"), f.Draw(t, "y")}
		case "net":
			pts[i] = orb.Point{float64(k.Draw(t, "x")), float64(k.Draw(t, "y"))}
		case "lines":
			pts[i] = orb.Point{float64(k.Draw(t, "x")) / 3, 7 * float64(rapid.IntRange(0, 1).Draw(t, "y"))}
		case "doubles":
			pts[i] = orb.Point{float64(rapid.IntRange(0, 2).Draw(t, "x")), float64(rapid.IntRange(0, 2).Draw(t, "y"))}
		case "circle":
			s, c := math.Sincos(2 * math.Pi * float64(rapid.IntRange(0, 24).Draw(t, "a")) / 24)
			pts[i] = orb.Point{100 * c, 100 * s}
		case "steps":
			pts[i] = orb.Point{float64(k.Draw(t, "x")) * geo.LatticeM, float64(k.Draw(t, "y")) * geo.LatticeM}
		}
		pts[i] = orb.Point{lattice(pts[i][0]), lattice(pts[i][1])}
	}
	return pts
}

func TestDelaunay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pts := drawPoints(t)
		m, same, ok := delaunay(pts)
		inLine := true
		for _, p := range pts {
			for _, q := range pts {
				inLine = inLine && polygon.Orient(pts[0], p, q) == 0
			}
		}
		require.Equal(t, !inLine, ok)
		for i, j := range same {
			require.Equal(t, pts[i], pts[j])
			require.Equal(t, j, same[j])
		}
		if !ok {
			return
		}
		checkMesh(t, m)
		places := map[orb.Point]bool{}
		for _, p := range pts {
			places[p] = true
		}
		used := map[int32]bool{}
		for _, v := range m.org {
			used[v] = true
		}
		require.Len(t, used, len(places), "every place is a vertex once")
		emptyCircles(t, m)
	})
}

// emptyCircles is the definition itself, all circles against all vertices.
func emptyCircles(t require.TestingT, m *mesh) {
	for k := range m.triangles() {
		a, b, c := m.corners(k)
		for _, p := range m.pts {
			if inCircle(a, b, c, p) > 0 {
				require.Fail(t, "circle not empty", "triangle %d, %v", k, p)
			}
		}
	}
}

func TestDelaunayOfMany(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	net, even := []orb.Point{}, []orb.Point{}
	for i := range 100 {
		for j := range 100 {
			net = append(net, orb.Point{float64(i) * 5, float64(j) * 5})
			even = append(even, orb.Point{lattice(r.Float64() * 500), lattice(r.Float64() * 500)})
		}
	}
	for name, pts := range map[string][]orb.Point{"net": net, "even": even} {
		t.Run(name, func(t *testing.T) {
			m, _, ok := delaunay(pts)
			require.True(t, ok)
			checkMesh(t, m)
		})
	}
}

func TestOrderOfPointsDoesNotMatter(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	pts := []Point{}
	for i := range 30 {
		for j := range 30 {
			pts = append(pts, Point{float64(i), float64(j), 0}) // all ties
		}
	}
	edges := func(pts []Point) map[[2]orb.Point]bool {
		m, _, err := FromPoints(pts, nil, TINOptions{})
		require.NoError(t, err)
		set := map[[2]orb.Point]bool{}
		for e := range int32(len(m.org)) {
			a, b := m.ends(e)
			set[[2]orb.Point{a, b}] = true
		}
		return set
	}
	want := edges(pts)
	shuffled := append([]Point{}, pts...)
	r.Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
	assert.Equal(t, want, edges(shuffled))
}

func TestForcedEdges(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pts := drawPoints(t)
		m, same, ok := delaunay(pts)
		if !ok {
			return
		}
		m.constrain()
		for range rapid.IntRange(1, 6).Draw(t, "lines") {
			u := same[rapid.IntRange(0, len(pts)-1).Draw(t, "u")]
			v := same[rapid.IntRange(0, len(pts)-1).Draw(t, "v")]
			if m.force(u, v) && u != v {
				followed(t, m, u, v)
			}
		}
		checkMesh(t, m)
	})
}

// followed goes from u to v along fixed edges in line with both.
func followed(t require.TestingT, m *mesh, u, v int32) {
	p, q := m.pts[u], m.pts[v]
	for range len(m.pts) {
		if u == v {
			return
		}
		onward := none
		for e := range int32(len(m.org)) {
			for _, w := range [2][2]int32{{m.org[e], m.org[next(e)]}, {m.org[next(e)], m.org[e]}} {
				r := m.pts[w[1]]
				if w[0] == u && m.fixed[e] && polygon.Orient(p, q, r) == 0 && (w[1] == v || between(m.pts[u], q, r)) {
					onward = w[1]
				}
			}
		}
		require.NotEqual(t, none, onward)
		u = onward
	}
	require.Equal(t, v, u)
}
