package rows

import (
	"math"
	"math/rand/v2"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// Test fields, made by hand in frame metres.

func testFrame() geo.Frame {
	f, _ := geo.NewFrame(geo.LonLat{LonDeg: 17.5, LatDeg: 48.2})
	return f
}

func fieldOf(obstacles []geo.Obstacle, outlines ...orb.Polygon) geo.Field {
	f := geo.Field{Name: "test", Frame: testFrame(), Obstacles: obstacles}
	for i, o := range outlines {
		f.Blocks = append(f.Blocks, geo.Block{Name: string(rune('A' + i)), Outline: o})
	}
	return f
}

func rect(x0, y0, x1, y1 float64) orb.Ring {
	return orb.Ring{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}
}

func reversed(r orb.Ring) orb.Ring {
	out := make(orb.Ring, len(r))
	for i := range r {
		out[len(r)-1-i] = r[i]
	}
	return out
}

// star is a star-shaped ring of n vertices about (x, y): simple by
// construction, with reflex corners.
func star(rng *rand.Rand, n int, x, y, radius, rough float64) orb.Ring {
	r := make(orb.Ring, 0, n+1)
	for i := range n {
		phi := 2 * math.Pi * (float64(i) + 0.8*rng.Float64()) / float64(n)
		d := radius * (1 - rough*rng.Float64())
		r = append(r, orb.Point{x + d*math.Cos(phi), y + d*math.Sin(phi)})
	}
	return append(r, r[0])
}

// randomField has an outline of up to 40 vertices, often with a hole, a pond,
// a ditch or a pole.
func randomField(rng *rand.Rand) geo.Field {
	radius := 30 + 250*rng.Float64()
	outer := star(rng, 3+rng.IntN(38), 0, 0, radius, 0.7*rng.Float64())
	p := orb.Polygon{outer}
	inner := 0.1 * radius
	if rng.IntN(3) == 0 {
		p = append(p, reversed(star(rng, 3+rng.IntN(8), 0, 0, inner, 0.5)))
	}
	var obs []geo.Obstacle
	at := func() (x, y float64) {
		return (rng.Float64() - 0.5) * radius, (rng.Float64() - 0.5) * radius
	}
	for range rng.IntN(3) {
		x, y := at()
		switch rng.IntN(3) {
		case 0:
			obs = append(obs, geo.Obstacle{Name: "pond", Area: orb.Polygon{star(rng, 3+rng.IntN(9), x, y, inner, 0.4)}})
		case 1:
			u, v := at()
			obs = append(obs, geo.Obstacle{Name: "ditch", Path: orb.LineString{{x, y}, {u, v}, {u + 10, v + 3}}})
		default:
			obs = append(obs, geo.Obstacle{Name: "pole", Path: orb.LineString{{x, y}}})
		}
	}
	return fieldOf(obs, p)
}

// dense puts vertices with noise into the sides of a ring, as a drive log has
// them.
func dense(rng *rand.Rand, r orb.Ring, stepM, noiseM float64) orb.Ring {
	var out orb.Ring
	for i := 1; i < len(r); i++ {
		n := max(1, int(math.Hypot(r[i][0]-r[i-1][0], r[i][1]-r[i-1][1])/stepM))
		for k := range n {
			t := float64(k) / float64(n)
			p := orb.Point{r[i-1][0] + t*(r[i][0]-r[i-1][0]), r[i-1][1] + t*(r[i][1]-r[i-1][1])}
			out = append(out, orb.Point{p[0] + noiseM*rng.NormFloat64(), p[1] + noiseM*rng.NormFloat64()})
		}
	}
	return append(out, out[0])
}

// nineHectares is the yardstick of the benchmarks: 26 vertices, about 9 ha.
func nineHectares() orb.Polygon {
	rng := rand.New(rand.NewPCG(9, 26))
	r := star(rng, 26, 0, 0, 192, 0.22)
	return orb.Polygon{r}
}

func areaM2(p orb.Polygon) (a float64) {
	for _, r := range p {
		for i := 1; i < len(r); i++ {
			a += r[i-1][0]*r[i][1] - r[i][0]*r[i-1][1]
		}
	}
	return a / 2
}

func straight(spacing float64) Spec {
	s := DefaultSpec()
	s.SpacingM, s.HeadlandM = spacing, 6
	return s
}
