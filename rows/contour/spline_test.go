package contour

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// A spline of random coefficients on a lattice that is longer north than east,
// or east than north.
func randomSpline(t *rapid.T) *spline {
	l := lattice{x0: -37, y0: 12, h: 20, nx: rapid.IntRange(1, 6).Draw(t, "nx"), ny: rapid.IntRange(1, 6).Draw(t, "ny")}
	s := &spline{l, make([]float64, l.unknowns())}
	for i := range s.c {
		s.c[i] = rapid.Float64Range(-10, 10).Draw(t, "c")
	}
	return s
}

func placeIn(t *rapid.T, l lattice) orb.Point {
	u, v := rapid.Float64Range(0.01, 0.99).Draw(t, "u"), rapid.Float64Range(0.01, 0.99).Draw(t, "v")
	return orb.Point{l.x0 + u*l.h*float64(l.nx), l.y0 + v*l.h*float64(l.ny)}
}

// Derivatives against central differences of the value and of the slope, whose
// error is of the second order in the step.
func TestSplineDerivatives(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := randomSpline(t)
		p := placeIn(t, s.lattice)
		const d = 1e-3
		j := s.at(p)
		e, w := s.at(orb.Point{p[0] + d, p[1]}), s.at(orb.Point{p[0] - d, p[1]})
		n, o := s.at(orb.Point{p[0], p[1] + d}), s.at(orb.Point{p[0], p[1] - d})
		assert.InDelta(t, (e.f-w.f)/(2*d), j.fx, 1e-6)
		assert.InDelta(t, (n.f-o.f)/(2*d), j.fy, 1e-6)
		assert.InDelta(t, (e.fx-w.fx)/(2*d), j.fxx, 1e-4)
		assert.InDelta(t, (n.fx-o.fx)/(2*d), j.fxy, 1e-4)
		assert.InDelta(t, (n.fy-o.fy)/(2*d), j.fyy, 1e-4)
	})
}

// The tensor of one place gives what evaluation gives.
func TestTensorAgreesWithEvaluation(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := randomSpline(t)
		p := placeIn(t, s.lattice)
		i, j, u, v := s.cell(p)
		var c [16]float64
		for k, o := range s.offsets() {
			c[k] = s.c[s.base(i, j)+o]
		}
		want := s.at(p)
		got := newTensor(u, v, s.h).derive(&c)
		assert.InDelta(t, want.fx, got.fx, 1e-12)
		assert.InDelta(t, want.fy, got.fy, 1e-12)
		assert.InDelta(t, want.fxx, got.fxx, 1e-12)
		assert.InDelta(t, want.fxy, got.fxy, 1e-12)
		assert.InDelta(t, want.fyy, got.fyy, 1e-12)
	})
}

// Refining changes no value, wherever the finer lattice is cut.
func TestRefineKeepsTheFunction(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := randomSpline(t)
		a, b := placeIn(t, s.lattice), placeIn(t, s.lattice)
		box := orb.MultiPoint{a, b}.Bound()
		r := s.refine(box)
		for _, p := range []orb.Point{a, b, box.Center(), box.Min, box.Max} {
			assert.InDelta(t, s.at(p).f, r.at(p).f, 1e-11)
			assert.InDelta(t, s.at(p).fxy, r.at(p).fxy, 1e-11)
		}
	})
}

func TestLinearIsExact(t *testing.T) {
	s := linear(cover(orb.Bound{Min: orb.Point{0, 0}, Max: orb.Point{100, 37}}, 15), 0.3, -0.7)
	j := s.at(orb.Point{80, 5})
	assert.InDelta(t, 0.3*(80-50)-0.7*(5-18.5), j.f, 1e-12)
	assert.InDelta(t, 0.3, j.fx, 1e-13)
	assert.InDelta(t, -0.7, j.fy, 1e-13)
	assert.InDelta(t, 0, j.fxx, 1e-13)
}

// Bending energy by hand: of x² it is 4 a unit of area, of xy it is 2, of a
// plane nothing. The coefficients of those are known: a cubic B-spline with
// c(i) = (i²-1/3)h² is x², and with c(i) = i h is x.
func TestBendingEnergy(t *testing.T) {
	l := lattice{h: 5, nx: 4, ny: 7}
	area := float64(l.nx*l.ny) * l.h * l.h
	energy := func(f func(i, j float64) float64) float64 {
		m := bending(l)
		c := make([]float64, l.unknowns())
		for i := range l.nx + 3 {
			for j := range l.ny + 3 {
				c[l.base(i, j)] = f(float64(i-1)*l.h, float64(j-1)*l.h)
			}
		}
		var sum float64
		for i := range m.n {
			for j := max(0, i-m.b); j <= i; j++ {
				v := m.a[i*(m.b+1)+m.b+j-i] * c[i] * c[j]
				if j < i {
					v *= 2
				}
				sum += v
			}
		}
		return sum
	}
	square := func(x float64) float64 { return x*x - l.h*l.h/3 }
	assert.InDelta(t, 0, energy(func(x, y float64) float64 { return 2*x - y + 3 }), 1e-9)
	assert.InDelta(t, 4*area, energy(func(x, _ float64) float64 { return square(x) }), 1e-8*area)
	assert.InDelta(t, 4*area, energy(func(_, y float64) float64 { return square(y) }), 1e-8*area)
	assert.InDelta(t, 2*area, energy(func(x, y float64) float64 { return x * y }), 1e-8*area)
}

// The banded solver against the product of the matrix with a known answer.
func TestBandedSolve(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(t, "n")
		b := rapid.IntRange(0, n+2).Draw(t, "band")
		m := newBanded(n, b)
		full := make([][]float64, n)
		for i := range full {
			full[i] = make([]float64, n)
		}
		for i := range n {
			for j := max(0, i-b); j <= i; j++ {
				v := rapid.Float64Range(-1, 1).Draw(t, "v")
				if i == j {
					v = 2*float64(min(b, n)) + 1 // dominant, so definite
				}
				m.add(j, i, v)
				full[i][j], full[j][i] = v, v
			}
		}
		want, rhs := make([]float64, n), make([]float64, n)
		for i := range want {
			want[i] = float64(i%7) - 3
		}
		for i := range n {
			for j := range n {
				rhs[i] += full[i][j] * want[j]
			}
		}
		if !m.factor() {
			t.Fatal("a dominant matrix is definite")
		}
		m.solve(rhs)
		for i := range want {
			assert.InDelta(t, want[i], rhs[i], 1e-10)
		}
	})
	m := newBanded(2, 1)
	m.add(0, 0, 1)
	m.add(1, 0, 2)
	m.add(1, 1, 1)
	assert.False(t, m.factor(), "1 2; 2 1 is not definite")
	m = newBanded(1, 0)
	m.add(0, 0, math.NaN())
	assert.False(t, m.factor())
}
