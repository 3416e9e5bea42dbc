package contour

import "math"

// banded is a symmetric matrix that is zero beyond its band: row i holds the
// columns i-b to i, the diagonal last.
type banded struct {
	n, b int
	a    []float64
}

func newBanded(n, b int) *banded { return &banded{n, b, make([]float64, n*(b+1))} }

// add adds v at row i and column j, whichever is greater.
func (m *banded) add(i, j int, v float64) {
	if i < j {
		i, j = j, i
	}
	m.a[i*(m.b+1)+m.b+j-i] += v
}

func (m *banded) row(i int) []float64 { return m.a[i*(m.b+1) : (i+1)*(m.b+1) : (i+1)*(m.b+1)] }

// factor replaces the matrix by its Cholesky factor, row by row; ok is false if
// it is not positive definite to rounding.
func (m *banded) factor() (ok bool) {
	for i := range m.n {
		ri := m.row(i)
		first := max(0, i-m.b)
		for j := first; j < i; j++ {
			rj := m.row(j)
			lo := max(first, j-m.b)
			x := ri[m.b+lo-i : m.b+j-i]
			y := rj[m.b+lo-j : m.b]
			ri[m.b+j-i] = (ri[m.b+j-i] - dot(x, y)) / rj[m.b]
		}
		x := ri[m.b+first-i : m.b]
		d := ri[m.b] - dot(x, x)
		if !(d > 0) {
			return false
		}
		ri[m.b] = math.Sqrt(d)
	}
	return true
}

// solve replaces x by the solution of the factored system.
func (m *banded) solve(x []float64) {
	for i := range m.n {
		ri := m.row(i)
		first := max(0, i-m.b)
		x[i] = (x[i] - dot(ri[m.b+first-i:m.b], x[first:i])) / ri[m.b]
	}
	for i := m.n - 1; i >= 0; i-- {
		ri := m.row(i)
		x[i] /= ri[m.b]
		first := max(0, i-m.b)
		l, y := ri[m.b+first-i:m.b], x[first:i]
		for k, v := range l {
			y[k] -= v * x[i]
		}
	}
}

// dot adds four products at a time, which is where all the time goes.
func dot(x, y []float64) float64 {
	y = y[:len(x)]
	var s0, s1, s2, s3 float64
	for len(x) >= 4 && len(y) >= 4 {
		s0 += x[0] * y[0]
		s1 += x[1] * y[1]
		s2 += x[2] * y[2]
		s3 += x[3] * y[3]
		x, y = x[4:], y[4:]
	}
	for i, v := range x {
		s0 += v * y[i]
	}
	return s0 + s1 + (s2 + s3)
}
