package terrain

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestSmoothKeepsPlanes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		gx, gy := rapid.Float64Range(-0.5, 0.5).Draw(t, "gx"), rapid.Float64Range(-0.5, 0.5).Draw(t, "gy")
		l := onNodes(23, 17, 2, func(x, y float64) float64 { return 400 + gx*x + gy*y })
		for k := range l.Z {
			if rapid.IntRange(0, 4).Draw(t, "unknown") == 0 {
				l.Z[k] = math.NaN()
			}
		}
		s := l.Smooth(rapid.Float64Range(0, 30).Draw(t, "sigma"))
		for k, z := range l.Z {
			require.Equal(t, math.IsNaN(z), math.IsNaN(s.z[k]), "unknown stays unknown")
			if z == z {
				require.InDelta(t, z, s.z[k], 1e-9)
			}
		}
	})
}

// A wave of number k keeps exp(-k²σ²/2) of its height: the Fourier transform of
// the Gaussian.
func TestSmoothWaves(t *testing.T) {
	for _, c := range []struct{ length, sigma, step float64 }{
		{20, 3, 1}, {30, 5, 1}, {30, 5, 2}, {60, 5, 5}, {13, 2, 2},
	} {
		n := int(400 / c.step)
		kx, ky := 2*math.Pi/c.length*0.8, 2*math.Pi/c.length*0.6
		l := onNodes(n, n, c.step, func(x, y float64) float64 { return 100 + 2*math.Cos(kx*x+ky*y) })
		s := l.Smooth(c.sigma)
		k := 2 * math.Pi / c.length
		keep := math.Exp(-k * k * c.sigma * c.sigma / 2)
		edge := int(6*c.sigma/c.step) + 1
		for j := edge; j < n-edge; j++ {
			for i := edge; i < n-edge; i++ {
				p := l.Node(i, j)
				// The plane of best fit through whole waves is level but for what
				// the cut waves at the border tilt it, which is put back.
				want := 100 + 2*keep*math.Cos(kx*p[0]+ky*p[1])
				if !assert.InDelta(t, want, s.z[j*n+i], 1e-4, "%+v at %v", c, p) {
					return
				}
			}
		}
	}
}

func TestSmoothIsSurface(t *testing.T) {
	l := onNodes(40, 40, 2, func(x, y float64) float64 { return 0.001*x*x + 0.05*y })
	s := l.Smooth(4)
	assert.Equal(t, "bicubic between cell centres 2 m apart, smoothed by a bell curve of sigma 4 m", s.Describe())
	// A parabola is raised by its curvature times half the variance.
	p := orb.Point{0, 65}
	z, ok := s.Height(p)
	require.True(t, ok)
	assert.InDelta(t, 0.05*65+0.001*16, z, 1e-6)
	gx, gy, ok := s.Gradient(orb.Point{2, 65})
	require.True(t, ok)
	assert.InDelta(t, 0.004, gx, 1e-6)
	assert.InDelta(t, 0.05, gy, 1e-6)
	for _, q := range []orb.Point{l.Node(0, 0), l.Node(39, 39), l.Node(39, 0)} {
		_, ok = s.Height(q)
		assert.True(t, ok, "%v is on the border", q)
	}
	_, ok = s.Height(orb.Point{-40.01, 65})
	assert.False(t, ok)
}

func TestSmoothOfNothing(t *testing.T) {
	var none Lattice
	_, ok := none.Smooth(5).Height(orb.Point{})
	assert.False(t, ok)
	l := onNodes(6, 6, 1, func(x, y float64) float64 { return math.Sin(x * y) })
	for _, sigma := range []float64{0, -1, math.NaN()} {
		s := l.Smooth(sigma)
		for k := range l.Z {
			assert.InDelta(t, l.Z[k], s.z[k], 1e-12)
		}
	}
	for k := range l.Z {
		l.Z[k] = math.NaN()
	}
	_, ok = l.Smooth(3).Height(orb.Point{-38, 27})
	assert.False(t, ok)
}

func BenchmarkSmooth(b *testing.B) {
	l := onNodes(500, 410, 1, func(x, y float64) float64 { return math.Sin(x/20) * math.Cos(y/30) })
	b.ReportAllocs()
	for b.Loop() {
		l.Smooth(5)
	}
}
