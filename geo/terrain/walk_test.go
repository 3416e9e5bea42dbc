package terrain

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo"
	"hemrow/geo/format"
)

func waves(x, y float64) float64 { return 100 + 2*math.Sin(x/11)*math.Cos(y/13) }

// holed is a grid of waves with cells missing here and there.
func holed(t testing.TB, m Method) (*Grid, geo.Frame) {
	t.Helper()
	f, sys := frameAt(t, 11.8, 46), system(t, 32632)
	rnd := rand.New(rand.NewPCG(5, 5))
	r := &memory{layout: centred(t, sys, f, 81, 5), unit: 1, height: func(c, row int) float64 {
		if rnd.IntN(60) == 0 {
			return math.NaN()
		}
		return waves(5*float64(c), 5*float64(row))
	}}
	g, _, err := FromRaster(r, sys, f, boxOf(300), GridOptions{Method: m})
	require.NoError(t, err)
	return g, f
}

// Going from patch to patch gives what samples of the surface between its
// breaks give, over holes and past the edge too; so do triangles, also along
// their edges and over those left out.
func TestWalksAreSamples(t *testing.T) {
	bi, f := holed(t, Bilinear)
	cu, _ := holed(t, Bicubic)
	var net []Point
	for i := range 21 {
		for j := range 21 {
			if x, y := float64(20*i-200), float64(20*j-200); (i*7+j)%11 > 0 {
				net = append(net, Point{x, y, waves(x, y)})
			}
		}
	}
	tin, _ := mustTIN(t, net, nil, TINOptions{LongestEdgeM: 29})
	for name, s := range map[string]Surface{"bilinear": bi, "bicubic": cu, "triangles": tin} {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				co := rapid.OneOf(rapid.Float64Range(-280, 280), rapid.Map(rapid.IntRange(-11, 11), func(k int) float64 { return 20 * float64(k) }))
				a, b := orb.Point{co.Draw(t, "ax"), co.Draw(t, "ay")}, orb.Point{co.Draw(t, "bx"), co.Draw(t, "by")}
				if distM(a, b) < 15 {
					return
				}
				if a[0] != b[0] && a[1] != b[1] { // rounding would put samples on either side of an edge
					a[0] += 0.1234
				}
				row := []orb.Point{a, b}
				got, want := Drape(s, f, row, 0), Drape(struct{ Surface }{s}, f, row, 0)
				require.InDelta(t, want.GroundM, got.GroundM, 1e-6)
				require.InDelta(t, want.OutsideM, got.OutsideM, 2e-5)
				// Where the grade changes sign, three points do not give the mean of
				// its size exactly, and the cuts between runs move them.
				require.InDelta(t, want.MeanGradePct, got.MeanGradePct, 0.02)
				// Within a bicubic patch heights are kept as a parabola for each piece.
				require.InDelta(t, want.Lowest.ZM, got.Lowest.ZM, 1e-3)
				require.InDelta(t, want.Highest.ZM, got.Highest.ZM, 1e-3)
				require.InDelta(t, math.Abs(want.ChordGradePct), math.Abs(got.ChordGradePct), 0.02)
			})
		})
	}
}

// A row and the same row backwards lie on the same ground, even where they run
// along the edges of triangles.
func TestBackwards(t *testing.T) {
	var net []Point
	for i := range 9 {
		for j := range 9 {
			net = append(net, Point{10 * float64(i), 10 * float64(j), waves(30*float64(i), 40*float64(j))})
		}
	}
	tin, _ := mustTIN(t, net, nil, TINOptions{})
	f := frameAt(t, 9.4, 46)
	k := rapid.Map(rapid.IntRange(-1, 9), func(k int) float64 { return 10 * float64(k) })
	rapid.Check(t, func(t *rapid.T) {
		a, b := orb.Point{k.Draw(t, "ax"), k.Draw(t, "ay")}, orb.Point{k.Draw(t, "bx"), k.Draw(t, "by")}
		p, q := Drape(tin, f, []orb.Point{a, b}, 0), Drape(tin, f, []orb.Point{b, a}, 0)
		require.InDelta(t, p.GroundM, q.GroundM, 1e-9)
		require.InDelta(t, p.OutsideM, q.OutsideM, 1e-9)
		require.InDelta(t, p.MeanSideSlopePct, q.MeanSideSlopePct, 1e-6)
		require.InDelta(t, math.Abs(p.SideSlopePct), math.Abs(q.SideSlopePct), 1e-6)
		require.InDelta(t, math.Abs(p.ChordGradePct), math.Abs(q.ChordGradePct), 1e-6)
	})
}

// Runs follow each other without gaps and stray from the map by no more than
// was derived; a row of 10 km at the edge of a zone needs many.
func TestRunsAreStraightInCells(t *testing.T) {
	f, sys := frameAt(t, 11.9, 46), system(t, 32632)
	r := &memory{layout: centred(t, sys, f, 1100, 10), unit: 1, height: func(_, _ int) float64 { return 1 }}
	g, _, err := FromRaster(r, sys, f, boxOf(5000), GridOptions{})
	require.NoError(t, err)
	most := 0
	rapid.Check(t, func(t *rapid.T) {
		co := rapid.Float64Range(-6000, 6000)
		a, b := orb.Point{co.Draw(t, "ax"), co.Draw(t, "ay")}, orb.Point{co.Draw(t, "bx"), co.Draw(t, "by")}
		if distM(a, b) < 1 {
			return
		}
		runs := g.runs(a, b, nil)
		most = max(most, len(runs))
		for i, r := range runs {
			if i > 0 {
				require.Equal(t, runs[i-1].t1, r.t0)
			}
			for k := range 17 {
				x := float64(k) / 16
				p := along(a, b, r.t0+x*(r.t1-r.t0))
				u, v, _ := g.cells.unit(p[0], p[1])
				col, row := g.cells.cell(u, v)
				on := along(r.c0, r.c1, x)
				require.Less(t, g.SpacingM()*math.Hypot(col-on[0], row-on[1]), 3*geo.CoincidentM)
			}
		}
	})
	assert.Greater(t, most, 100)
}

func TestJoinOfNothing(t *testing.T) {
	for _, none := range [][]format.Raster{nil, {}} {
		_, err := Join(none)
		assert.ErrorContains(t, err, "no tiles")
	}
}

// BenchmarkSamplingAlongRows measures heights, grades and side slopes of the
// surface along rows of 200 m: finding the breaks, and what there is between
// two of them. A sample is one of the three points that a piece stands for;
// cubic patches are evaluated at all three, the others in closed form.
func BenchmarkSamplingAlongRows(b *testing.B) {
	for _, c := range benchSurfaces(b) {
		b.Run(c.name, func(b *testing.B) {
			w := walkerOf(c.s)
			var list []piece
			samples, i := 0, 0
			for b.Loop() {
				y := float64(i%50) - 90
				list = w.pieces(orb.Point{-80, y}, orb.Point{80, y + 120}, 200, list[:0])
				samples += 3 * len(list)
				i++
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(samples), "ns/sample")
			b.ReportMetric(3*float64(b.Elapsed().Nanoseconds())/float64(samples), "ns/piece")
		})
	}
}
