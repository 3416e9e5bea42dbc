package terrain

import (
	"fmt"
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo"
)

// analytic is a surface by formula, without breaks but for those given.
type analytic struct {
	z      func(x, y float64) (z, gx, gy float64)
	covers func(x, y float64) bool
	breaks []float64
}

func (a analytic) sampleAt(p orb.Point) (z, gx, gy float64, ok bool) {
	if a.covers != nil && !a.covers(p[0], p[1]) {
		return 0, 0, 0, false
	}
	z, gx, gy = a.z(p[0], p[1])
	return z, gx, gy, true
}

func (a analytic) Height(p orb.Point) (float64, bool) {
	z, _, _, ok := a.sampleAt(p)
	return z, ok
}

func (a analytic) Gradient(p orb.Point) (float64, float64, bool) {
	_, x, y, ok := a.sampleAt(p)
	return x, y, ok
}

func (a analytic) Breaks(_, _ orb.Point, dst []float64) []float64 { return append(dst, a.breaks...) }
func (a analytic) Bounds() orb.Bound                              { return boxOf(1000) }
func (a analytic) SpacingM() float64                              { return 5 }
func (a analytic) Describe() string                               { return "by formula" }

// On a plane all figures have a closed form. Source: Pythagoras; the length of
// a row at ground height is its plan length times k = 1 + h/R and its rise is
// the plane's.
func TestDrapeOnAPlane(t *testing.T) {
	grid, f := sampled(t, 5, 400, Bilinear, plane)
	cubic, _ := sampled(t, 5, 400, Bicubic, plane)
	tin, _ := mustTIN(t, scatter(3000, 900, 4, func(x, y float64) float64 { return plane(x-450, y-450) }), nil, TINOptions{LongestEdgeM: math.Inf(1)})
	for i := range tin.pts { // around the origin too
		tin.pts[i] = orb.Point{tin.pts[i][0] - 450, tin.pts[i][1] - 450}
	}
	tin.index()
	frames := map[string]geo.Frame{"height unknown": f, "at 1200 m": f.WithHeight(1200)}
	for name, s := range map[string]Surface{"bilinear": grid, "bicubic": cubic, "triangles": tin} {
		for at, fr := range frames {
			t.Run(name+" "+at, func(t *testing.T) {
				rapid.Check(t, func(t *rapid.T) {
					co := rapid.Float64Range(-350, 350)
					a, b := orb.Point{co.Draw(t, "ax"), co.Draw(t, "ay")}, orb.Point{co.Draw(t, "bx"), co.Draw(t, "by")}
					if distM(a, b) < 20 {
						return
					}
					p := Drape(s, fr, []orb.Point{a, b}, 0)
					plan, k := fr.PlanM(a, b), fr.GroundFactor()
					rise := plane(b[0], b[1]) - plane(a[0], a[1])
					require.InEpsilon(t, plan, p.PlanM, 1e-12)
					require.InEpsilon(t, math.Hypot(plan*k, rise), p.GroundM, 1e-9)
					require.Zero(t, p.OutsideM)
					grade := 100 * rise / plan / k
					require.InDelta(t, grade, p.ChordGradePct, 1e-6)
					require.InDelta(t, math.Abs(grade), p.MeanGradePct, 1e-6)
					side := 100 * (-0.05*(b[0]-a[0]) - 0.08*(b[1]-a[1])) / distM(a, b) / k
					require.InDelta(t, side, p.SideSlopePct, 1e-5)
					require.InDelta(t, side, p.ChordSidePct, 1e-5)
					require.InDelta(t, math.Abs(side), p.MeanSideSlopePct, 1e-5)
					require.InDelta(t, min(plane(a[0], a[1]), plane(b[0], b[1])), p.Lowest.ZM, 1e-6)
					require.InDelta(t, max(plane(a[0], a[1]), plane(b[0], b[1])), p.Highest.ZM, 1e-6)
					require.Equal(t, 2, p.Line.Len(), "a plane needs no more vertices")
					require.Equal(t, p.GroundM, p.Line.GroundM())
				})
			})
		}
	}
}

// A section of a sphere is a circle: over a row at distance y from the top the
// length is ρ (asin(x₁/ρ) - asin(x₀/ρ)) with ρ² = R² - y². Closed form.
func TestDrapeOnASphere(t *testing.T) {
	const r = 500.0
	ball := func(x, y float64) float64 { return math.Sqrt(r*r - x*x - y*y) }
	// The error of one row depends on how its ends lie in their cells, so
	// many are taken.
	errAt := func(m Method, size float64) (mean float64) {
		const rows = 40
		s, f := sampled(t, size, 200, m, ball)
		for i := range rows {
			y, x0, x1 := 1.7*float64(i)-30, -140.3+0.9*float64(i), 131.7+1.1*float64(i)
			rho := math.Sqrt(r*r - y*y)
			want := rho * (math.Asin(x1/rho) - math.Asin(x0/rho))
			a, b := orb.Point{x0, y}, orb.Point{x1, y}
			p := Drape(s, f, []orb.Point{a, b}, 0)
			require.Zero(t, p.OutsideM)
			mean += math.Abs(p.GroundM-want*f.PlanM(a, b)/(x1-x0)) / rows
		}
		return mean
	}
	// Bilinear heights are of second order in the size of the cells, cubic
	// convolution of third (Keys 1981, section V).
	b8, b4, b2 := errAt(Bilinear, 8), errAt(Bilinear, 4), errAt(Bilinear, 2)
	t.Logf("bilinear: %.2g m at 8 m, %.2g m at 4 m, %.2g m at 2 m", b8, b4, b2)
	assert.InDelta(t, 4, b8/b4, 1)
	assert.InDelta(t, 4, b4/b2, 1)
	assert.Less(t, b2, 1e-3)
	c32, c16, c8 := errAt(Bicubic, 32), errAt(Bicubic, 16), errAt(Bicubic, 8)
	t.Logf("bicubic: %.2g m at 32 m, %.2g m at 16 m, %.2g m at 8 m", c32, c16, c8)
	assert.Greater(t, c32/c16, 7.0)
	assert.Greater(t, c16/c8, 7.0)
	assert.Less(t, c8, b8/10)
}

// On a cone z = c r a row past the tip at distance y has
// dz/dx = c x/sqrt(x² + y²); its length by Simpson's rule with 200,000 steps.
// A row through the tip has the closed form L sqrt(1 + c²).
func TestDrapeOnACone(t *testing.T) {
	const c = 0.3
	cone := func(x, y float64) float64 { return 100 + c*math.Hypot(x, y) }
	simpson := func(y, x0, x1 float64) float64 {
		const n = 200_000
		h, sum := (x1-x0)/n, 0.0
		for i := range n + 1 {
			x := x0 + float64(i)*h
			w := 2.0 + 2*float64(i%2)
			if i == 0 || i == n {
				w = 1
			}
			sum += w * math.Sqrt(1+c*c*x*x/(x*x+y*y))
		}
		return sum * h / 3
	}
	for _, m := range []Method{Bilinear, Bicubic} {
		s, f := sampled(t, 1, 220, m, cone)
		for _, y := range []float64{60, 25} {
			a, b := orb.Point{-180, y}, orb.Point{200, y}
			p := Drape(s, f, []orb.Point{a, b}, 0)
			assert.InDelta(t, simpson(y, -180, 200)*f.PlanM(a, b)/380, p.GroundM, 1e-3, "%s %g", m, y)
		}
		p := Drape(s, f, []orb.Point{{10, 10}, {150, 150}}, 0)
		assert.InEpsilon(t, 140*math.Sqrt2*math.Sqrt(1+c*c), p.GroundM, 1e-5)
		assert.InDelta(t, 30, p.ChordGradePct, 1e-2)
	}
}

// z = a s² along the row: the steepest chord of length c is the last, with
// grade a (2L - c); the mean side slope is that of the plane across. By hand.
func TestSteepestChord(t *testing.T) {
	const a = 0.0005
	bowl := func(x, y float64) float64 { return 50 + a*x*x + 0.1*y }
	s, f := sampled(t, 5, 250, Bicubic, bowl)
	row := []orb.Point{{0, 10}, {200, 10}}
	for _, c := range []float64{10, 40, 3.3} {
		p := Drape(s, f, row, c)
		assert.InDelta(t, 100*a*(2*200-c), p.ChordGradePct, 1e-3)
		assert.InDelta(t, p.GroundM-c/2*math.Hypot(1, a*(2*200-c)), p.ChordAtM, 0.1)
		assert.InDelta(t, c, p.ChordM, 1e-12)
		back := Drape(s, f, []orb.Point{row[1], row[0]}, c)
		assert.InDelta(t, -p.ChordGradePct, back.ChordGradePct, 1e-6)
		assert.InDelta(t, -p.ChordSidePct, back.ChordSidePct, 1e-6)
		assert.InDelta(t, 10, p.ChordSidePct, 1e-3)
		assert.InDelta(t, 10, p.SideSlopePct, 1e-3, "the left side, north, is higher")
	}
	p := Drape(s, f, []orb.Point{{0, 10}, {4, 10}}, 10)
	assert.InDelta(t, 4, p.ChordM, 1e-6, "no longer than the row")
	assert.InDelta(t, 100*a*4, p.ChordGradePct, 1e-3)
	low := Drape(s, f, []orb.Point{{-100, 0}, {60, 0}}, 10).Lowest
	assert.InDelta(t, 50, low.ZM, 1e-6)
	assert.InDelta(t, 100, low.ChainageM, 0.3)
}

// The sliding window against all chords a tenth of a metre apart.
func TestSteepestChordBySearch(t *testing.T) {
	bumpy := func(x, y float64) float64 { return 100 + 3*math.Sin(x/7)*math.Cos(y/9) + x*0.03 }
	tin, _ := mustTIN(t, scatter(2000, 300, 8, bumpy), nil, TINOptions{LongestEdgeM: math.Inf(1)})
	f := frameAt(t, 9.4, 46)
	rapid.Check(t, func(t *rapid.T) {
		co := rapid.Float64Range(20, 280)
		a, b := orb.Point{co.Draw(t, "ax"), co.Draw(t, "ay")}, orb.Point{co.Draw(t, "bx"), co.Draw(t, "by")}
		l := distM(a, b)
		if l < 30 {
			return
		}
		p := Drape(tin, f, []orb.Point{a, b}, 10)
		best := 0.0
		for s := 0.0; s+10 <= l; s += 0.1 {
			z0, _ := tin.Height(along(a, b, s/l))
			z1, _ := tin.Height(along(a, b, (s+10)/l))
			best = max(best, math.Abs(z1-z0)*10)
		}
		got := math.Abs(p.ChordGradePct)
		require.GreaterOrEqual(t, got, best-1e-3)
		require.Less(t, got, best+1.0)
	})
}

func TestDrapeOffTerrain(t *testing.T) {
	// Level ground on both sides of a pond from x = 40 to x = 60, sloping 10 %.
	s := analytic{
		z:      func(x, _ float64) (float64, float64, float64) { return 5 + x/10, 0.1, 0 },
		covers: func(x, _ float64) bool { return x >= 0 && x <= 40 || x >= 60 && x <= 100 },
		breaks: []float64{20.0 / 130, 60.0 / 130, 80.0 / 130, 120.0 / 130},
	}
	f := frameAt(t, 9.4, 46)
	p := Drape(s, f, []orb.Point{{-20, 0}, {110, 0}}, 10)
	assert.InDelta(t, 130, p.PlanM, 1e-6)
	assert.InDelta(t, 50, p.OutsideM, 1e-6)
	assert.InDelta(t, 50+80*math.Sqrt(1.01), p.GroundM, 1e-6)
	assert.InDelta(t, 10, p.ChordGradePct, 1e-6)
	assert.InDelta(t, 10, p.MeanGradePct, 1e-6)
	assert.InDelta(t, 5, p.Lowest.ZM, 1e-6)
	assert.InDelta(t, 20, p.Lowest.ChainageM, 1e-5)
	assert.InDelta(t, 15, p.Highest.ZM, 1e-6)
	assert.True(t, p.Covered())
	var zs []string
	for i := range p.Line.Len() {
		z, known := p.Line.HeightAt(i)
		if zs = append(zs, "-"); known {
			zs[i] = fmt.Sprintf("%.1f", z)
		}
		if i > 0 {
			assert.Greater(t, p.Line.ChainageM(i), p.Line.ChainageM(i-1))
		}
	}
	assert.Equal(t, []string{"-", "5.0", "9.0", "-", "11.0", "15.0", "-"}, zs)

	none := Drape(s, f, []orb.Point{{0, 0}, {0, 1}}, 10)
	assert.Zero(t, none.OutsideM)
	s.covers = func(_, _ float64) bool { return false }
	none = Drape(s, f.WithHeight(2000), []orb.Point{{0, 0}, {100, 0}}, 10)
	assert.False(t, none.Covered())
	assert.Equal(t, none.PlanM, none.OutsideM)
	assert.InDelta(t, 100*f.WithHeight(2000).GroundFactor(), none.GroundM, 1e-6)
	assert.Zero(t, none.ChordGradePct)
	assert.Equal(t, 2, none.Line.Len())
	assert.Equal(t, Profile{}, Drape(s, f, nil, 0))
	assert.Equal(t, Profile{}, Drape(s, f, []orb.Point{{1, 1}, {1, 1}}, 0))
}

// The draped line keeps to the surface within geo.DrapeZM, its chainage is
// that of the surface, and its plan is the row's.
func TestDrapedLine(t *testing.T) {
	wavy := func(x, y float64) float64 { return 100 + 2*math.Sin(x/11)*math.Cos(y/13) }
	coarse, f := sampled(t, 10, 250, Bilinear, wavy)
	fine, _ := sampled(t, 1, 250, Bicubic, wavy)
	tin, _ := mustTIN(t, scatter(4000, 500, 8, wavy), nil, TINOptions{LongestEdgeM: math.Inf(1)})
	for name, s := range map[string]Surface{"coarse": coarse, "fine": fine, "triangles": tin} {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				co := rapid.Float64Range(20, 220)
				var row []orb.Point
				for range rapid.IntRange(2, 4).Draw(t, "n") {
					row = append(row, orb.Point{co.Draw(t, "x"), co.Draw(t, "y")})
				}
				p := Drape(s, f, row, 10)
				l := p.Line
				if l.Len() == 0 {
					return
				}
				require.InDelta(t, p.PlanM, l.PlanM(f), 1e-6)
				require.GreaterOrEqual(t, p.GroundM, p.PlanM)
				d := NewDraper(s, f, 10)
				for i := 1; i < l.Len(); i++ {
					a, b := l.At(i-1), l.At(i)
					za, ok := l.HeightAt(i - 1)
					require.True(t, ok)
					zb, _ := l.HeightAt(i)
					for k := range 21 {
						u := float64(k) / 20
						z, ok := s.Height(along(a, b, u))
						require.True(t, ok)
						require.InDelta(t, z, za+u*(zb-za), geo.DrapeZM+1e-6)
					}
					require.InDelta(t, d.Drape([]orb.Point{a, b}).GroundM, l.ChainageM(i)-l.ChainageM(i-1), 1e-6)
				}
			})
		})
	}
}

// A surface seen only through its interface gives the same profile.
func TestDrapeThroughTheInterface(t *testing.T) {
	wavy := func(x, y float64) float64 { return 100 + 2*math.Sin(x/11)*math.Cos(y/13) }
	tin, _ := mustTIN(t, scatter(1000, 300, 8, wavy), nil, TINOptions{LongestEdgeM: math.Inf(1)})
	f := frameAt(t, 9.4, 46)
	row := []orb.Point{{30, 40}, {200, 180}, {270, 20}}
	fast, slow := Drape(tin, f, row, 0), Drape(struct{ Surface }{tin}, f, row, 0)
	assert.InDelta(t, fast.GroundM, slow.GroundM, 1e-9)
	assert.InDelta(t, fast.ChordGradePct, slow.ChordGradePct, 1e-9)
	assert.InDelta(t, fast.MeanSideSlopePct, slow.MeanSideSlopePct, 1e-9)
	assert.Equal(t, fast.Line.Len(), slow.Line.Len())
}

func TestDraperReuse(t *testing.T) {
	g, f := sampled(t, 1, 150, Bilinear, func(x, y float64) float64 { return 100 + math.Sin(x/9)*math.Cos(y/8) })
	d := NewDraper(g, f, 0)
	a, b := []orb.Point{{-100, -90}, {110, 100}}, []orb.Point{{-50, 90}, {60, 80}}
	want := Drape(g, f, a, 0)
	d.Drape(b)
	assert.Equal(t, want, d.Drape(a))
	assert.LessOrEqual(t, testing.AllocsPerRun(10, func() { d.Drape(a) }), 2.0, "the line, and what holds it")
}

type benchSurface struct {
	name string
	s    Surface
}

func benchSurfaces(b *testing.B) []benchSurface {
	bi, _ := sampled(b, 1, 150, Bilinear, waves)
	cu, _ := sampled(b, 1, 150, Bicubic, waves)
	coarse, _ := sampled(b, 5, 150, Bilinear, waves)
	tin, _ := mustTIN(b, scatter(10_000, 300, 8, waves), nil, TINOptions{})
	for i := range tin.pts {
		tin.pts[i] = orb.Point{tin.pts[i][0] - 150, tin.pts[i][1] - 150}
	}
	tin.index()
	return []benchSurface{{"bilinear 1 m", bi}, {"bicubic 1 m", cu}, {"bilinear 5 m", coarse}, {"triangles 3 m", tin}}
}

func BenchmarkDrape(b *testing.B) {
	f := frameAt(b, 9.4, 46)
	for _, c := range benchSurfaces(b) {
		b.Run(c.name+", 200 m row", func(b *testing.B) {
			d := NewDraper(c.s, f, 0)
			row := []orb.Point{{-80, -60}, {80, 60}}
			b.ReportAllocs()
			for b.Loop() {
				d.Drape(row)
			}
		})
	}
}
