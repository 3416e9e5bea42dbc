package contour

import (
	"math"
	"math/rand/v2"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// shape is terrain by formula: height and slope by x and y.
type shape func(x, y float64) (z, gx, gy float64)

var _ geo.Surface = shape(nil)

func (f shape) Height(p orb.Point) (float64, bool) {
	z, _, _ := f(p[0], p[1])
	return z, true
}

func (f shape) Gradient(p orb.Point) (east, north float64, ok bool) {
	_, gx, gy := f(p[0], p[1])
	return gx, gy, true
}

func (f shape) Breaks(_, _ orb.Point, dst []float64) []float64 { return dst }
func (f shape) Bounds() orb.Bound {
	return orb.Bound{Min: orb.Point{-1e5, -1e5}, Max: orb.Point{1e5, 1e5}}
}
func (f shape) SpacingM() float64 { return 1 }
func (f shape) Describe() string  { return "a formula" }

func plane(slope, bearing float64) shape {
	e, n := geo.Bearing(bearing).Unit()
	return func(x, y float64) (z, gx, gy float64) { return slope * (e*x + n*y), slope * e, slope * n }
}

func cone(slope float64, apex orb.Point) shape {
	return func(x, y float64) (z, gx, gy float64) {
		dx, dy := x-apex[0], y-apex[1]
		r := math.Hypot(dx, dy)
		return -slope * r, -slope * dx / r, -slope * dy / r
	}
}

func bowl(curve float64, apex orb.Point) shape {
	return func(x, y float64) (z, gx, gy float64) {
		dx, dy := x-apex[0], y-apex[1]
		return curve / 2 * (dx*dx + dy*dy), curve * dx, curve * dy
	}
}

// trough is a parabolic cylinder whose axis runs through p at the bearing.
func trough(curve, bearing float64, p orb.Point) shape {
	e, n := geo.Bearing(bearing + 90).Unit()
	return func(x, y float64) (z, gx, gy float64) {
		d := e*(x-p[0]) + n*(y-p[1])
		return curve / 2 * d * d, curve * d * e, curve * d * n
	}
}

func hill(height, sigma float64, top orb.Point) shape {
	return func(x, y float64) (z, gx, gy float64) {
		dx, dy := x-top[0], y-top[1]
		z = height * math.Exp(-(dx*dx+dy*dy)/(2*sigma*sigma))
		return z, -z * dx / (sigma * sigma), -z * dy / (sigma * sigma)
	}
}

func saddle(c orb.Point) shape {
	return func(x, y float64) (z, gx, gy float64) {
		dx, dy := x-c[0], y-c[1]
		return (dx*dx - dy*dy) / 5000, dx / 2500, -dy / 2500
	}
}

// ridges are waves across a bearing, on a tilt of the ground.
func ridges(amplitude, wavelength, bearing, east, north float64) shape {
	e, n := geo.Bearing(bearing).Unit()
	k := 2 * math.Pi / wavelength
	return func(x, y float64) (z, gx, gy float64) {
		s, c := math.Sincos(k * (e*x + n*y))
		return east*x + north*y + amplitude*c, east - amplitude*k*e*s, north - amplitude*k*n*s
	}
}

// nose is a fall with a cosine across it that grows downhill: two valleys with
// a nose between.
func nose(fall, amplitude, wavelength, crest float64) shape {
	k := 2 * math.Pi / wavelength
	return func(x, y float64) (z, gx, gy float64) {
		s, c := math.Sincos(k * (x - crest))
		grow := amplitude * (1 - 0.6*y/330)
		return fall*y + grow*c, -grow * k * s, fall - amplitude*0.6/330*c
	}
}

// crater is a ring-shaped wall, higher to the north, on a gentle fall.
func crater(c orb.Point, radius, width, height float64) shape {
	return func(x, y float64) (z, gx, gy float64) {
		dx, dy := x-c[0], y-c[1]
		r := math.Hypot(dx, dy) + 1e-9
		u := (r - radius) / width
		wall := height * math.Exp(-u*u/2)
		tilt := 1 + 0.3*dy/(r+radius)
		wr := -wall * u / width
		tx, ty := -0.3*dy*dx/(r*(r+radius)*(r+radius)), 0.3/(r+radius)-0.3*dy*dy/(r*(r+radius)*(r+radius))
		return wall*tilt - 0.01*dx, wr*dx/r*tilt + wall*tx - 0.01, wr*dy/r*tilt + wall*ty
	}
}

// fractal is a sum of waves of all lengths from 8 to 800 m whose power falls
// with the wave number to 3.6, scaled to a root mean square slope, on a tilt to
// the south-west.
func fractal(seed uint64, rms, tilt float64) shape {
	type wave struct{ kx, ky, phase, amp float64 }
	rng := rand.New(rand.NewPCG(seed, 1))
	list := make([]wave, 300)
	var slope2 float64
	for i := range list {
		k := 2 * math.Pi / 800 * math.Pow(100, (float64(i)+rng.Float64())/float64(len(list)))
		dir := 2 * math.Pi * rng.Float64()
		w := wave{k * math.Cos(dir), k * math.Sin(dir), 2 * math.Pi * rng.Float64(), math.Pow(k, -1.2)}
		list[i] = w
		slope2 += k * k * w.amp * w.amp / 2
	}
	for i := range list {
		list[i].amp *= rms / math.Sqrt(slope2)
	}
	t := tilt / math.Sqrt2
	return func(x, y float64) (z, gx, gy float64) {
		z, gx, gy = t*(x+y), t, t
		for _, w := range list {
			s, c := math.Sincos(w.kx*x + w.ky*y + w.phase)
			z += w.amp * c
			gx -= w.amp * w.kx * s
			gy -= w.amp * w.ky * s
		}
		return z, gx, gy
	}
}

// sampled is a formula sampled every 2 m and blended between, for speed, like
// the grids that surveys come as.
type sampled struct {
	shape
	x0, y0, d float64
	nx, ny    int
	z         []float64
}

func sample2M(f shape, b orb.Bound) *sampled {
	const d = 2
	s := &sampled{shape: f, x0: b.Min[0] - 60, y0: b.Min[1] - 60, d: d}
	s.nx, s.ny = int((b.Max[0]-b.Min[0]+120)/d)+2, int((b.Max[1]-b.Min[1]+120)/d)+2
	s.z = make([]float64, s.nx*s.ny)
	for k := range s.z {
		s.z[k], _, _ = f(s.x0+d*float64(k%s.nx), s.y0+d*float64(k/s.nx))
	}
	return s
}

// smoothed is the same by a Gaussian of sigma metres.
func (s *sampled) smoothed(sigmaM float64) *sampled {
	r := *s
	r.z = blur(blur(s.z, s.nx, s.ny, 1, s.nx, sigmaM/s.d), s.ny, s.nx, s.nx, 1, sigmaM/s.d)
	return &r
}

// blur smooths n places a step apart, m times.
func blur(z []float64, n, m, step, next int, sigma float64) []float64 {
	out := make([]float64, len(z))
	reach := int(4 * sigma)
	for j := range m {
		for i := range n {
			var sum, weight float64
			for k := max(0, i-reach); k <= min(n-1, i+reach); k++ {
				w := math.Exp(-float64((k-i)*(k-i)) / (2 * sigma * sigma))
				sum, weight = sum+w*z[j*next+k*step], weight+w
			}
			out[j*next+i*step] = sum / weight
		}
	}
	return out
}

func (s *sampled) Height(p orb.Point) (float64, bool) {
	u, v := (p[0]-s.x0)/s.d, (p[1]-s.y0)/s.d
	i, j := int(u), int(v)
	if u < 0 || v < 0 || i > s.nx-2 || j > s.ny-2 {
		return 0, false
	}
	u, v = u-float64(i), v-float64(j)
	k := j*s.nx + i
	a, b := s.z[k]+u*(s.z[k+1]-s.z[k]), s.z[k+s.nx]+u*(s.z[k+s.nx+1]-s.z[k+s.nx])
	return a + v*(b-a), true
}

// Gradient is by central differences over two cells.
func (s *sampled) Gradient(p orb.Point) (east, north float64, ok bool) {
	var z [4]float64
	for i, q := range [4]orb.Point{{p[0] - s.d, p[1]}, {p[0] + s.d, p[1]}, {p[0], p[1] - s.d}, {p[0], p[1] + s.d}} {
		if z[i], ok = s.Height(q); !ok {
			return 0, 0, false
		}
	}
	return (z[1] - z[0]) / (2 * s.d), (z[3] - z[2]) / (2 * s.d), true
}

var (
	// convex is a field of 11.2 ha, lpond one of 9.0 ha with a pond.
	convex = orb.Polygon{{{0, 40}, {120, 0}, {400, 30}, {420, 230}, {260, 330}, {30, 290}, {0, 40}}}
	lpond  = orb.Polygon{
		{{0, 0}, {380, 0}, {380, 150}, {190, 150}, {190, 330}, {0, 330}, {0, 0}},
		circle(orb.Point{108, 109}, 22),
	}
)

func circle(c orb.Point, r float64) (ring orb.Ring) {
	const n = 48
	for i := range n {
		s, cs := math.Sincos(-2 * math.Pi * float64(i) / n)
		ring = append(ring, orb.Point{c[0] + r*cs, c[1] + r*s})
	}
	return append(ring, ring[0])
}
