package contour

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// lattice is the knots of a uniform tensor cubic B-spline: nx by ny square cells
// of side h from the corner (x0, y0). Cell (i, j) is ruled by the coefficients
// (i..i+3, j..j+3); coefficient (i, j) sits at the place (x0+(i-1)h, y0+(j-1)h).
type lattice struct {
	x0, y0, h float64
	nx, ny    int
}

// cover is the lattice of side h over a box, centred on it.
func cover(b orb.Bound, h float64) lattice {
	c := b.Center()
	l := lattice{h: h, nx: cells(b.Max[0]-b.Min[0], h), ny: cells(b.Max[1]-b.Min[1], h)}
	l.x0, l.y0 = c[0]-h*float64(l.nx)/2, c[1]-h*float64(l.ny)/2
	return l
}

func cells(length, h float64) int { return max(1, int(math.Ceil(length/h))) }

func (l *lattice) unknowns() int { return (l.nx + 3) * (l.ny + 3) }

// strides number the unknowns along the shorter side first, which keeps the
// band narrow.
func (l *lattice) strides() (sx, sy int) {
	if l.nx >= l.ny {
		return l.ny + 3, 1
	}
	return 1, l.nx + 3
}

func (l *lattice) band() int {
	sx, sy := l.strides()
	return 3*sx + 3*sy
}

// base is the number of the first coefficient of a cell.
func (l *lattice) base(i, j int) int {
	sx, sy := l.strides()
	return i*sx + j*sy
}

// offsets is where the sixteen coefficients of a cell are, counted from base.
func (l *lattice) offsets() (off [16]int) {
	sx, sy := l.strides()
	for i := range 4 {
		for j := range 4 {
			off[4*i+j] = i*sx + j*sy
		}
	}
	return off
}

// cell is the cell of a place and the place in it; places beyond the lattice
// belong to the nearest cell.
func (l *lattice) cell(p orb.Point) (i, j int, u, v float64) {
	u, v = (p[0]-l.x0)/l.h, (p[1]-l.y0)/l.h
	i = max(0, min(l.nx-1, int(math.Floor(u))))
	j = max(0, min(l.ny-1, int(math.Floor(v))))
	return i, j, u - float64(i), v - float64(j)
}

// cubic is the four basis functions at u of a cell, with their first and
// second derivatives by u.
func cubic(u float64) (b, d, dd [4]float64) {
	w := 1 - u
	b = [4]float64{w * w * w / 6, (4 + u*u*(3*u-6)) / 6, (1 + u*(3+u*(3-3*u))) / 6, u * u * u / 6}
	d = [4]float64{-w * w / 2, u * (1.5*u - 2), 0.5 + u*(1-1.5*u), u * u / 2}
	dd = [4]float64{w, 3*u - 2, 1 - 3*u, u}
	return b, d, dd
}

// tensor is the sixteen products of basis functions at one place of a cell, and
// their derivatives by x and y per metre.
type tensor struct{ b, bx, by, bxx, bxy, byy [16]float64 }

func newTensor(u, v, h float64) *tensor {
	t := new(tensor)
	p, dp, ddp := cubic(u)
	q, dq, ddq := cubic(v)
	for i := range 4 {
		for j := range 4 {
			k := 4*i + j
			t.b[k] = p[i] * q[j]
			t.bx[k], t.by[k] = dp[i]*q[j]/h, p[i]*dq[j]/h
			t.bxx[k], t.bxy[k], t.byy[k] = ddp[i]*q[j]/(h*h), dp[i]*dq[j]/(h*h), p[i]*ddq[j]/(h*h)
		}
	}
	return t
}

// spline is a function of the plane.
type spline struct {
	lattice
	c []float64
}

func (s *spline) clone() *spline { return &spline{s.lattice, slices.Clone(s.c)} }

// linear is the spline that equals gx (x-p) + gy (y-q) with (p, q) the middle.
func linear(l lattice, gx, gy float64) *spline {
	s := &spline{l, make([]float64, l.unknowns())}
	for i := range l.nx + 3 {
		for j := range l.ny + 3 {
			s.c[l.base(i, j)] = gx*l.h*(float64(i-1)-float64(l.nx)/2) + gy*l.h*(float64(j-1)-float64(l.ny)/2)
		}
	}
	return s
}

// jet is a function's value, slope and second derivatives.
type jet struct{ f, fx, fy, fxx, fxy, fyy float64 }

// at is value and derivatives at a place.
func (s *spline) at(p orb.Point) (r jet) {
	i, j, u, v := s.cell(p)
	bx, dx, ddx := cubic(u)
	by, dy, ddy := cubic(v)
	sx, sy := s.strides()
	base := s.base(i, j)
	for a := range 4 {
		var q, dq, ddq float64
		for b := range 4 {
			c := s.c[base+a*sx+b*sy]
			q += by[b] * c
			dq += dy[b] * c
			ddq += ddy[b] * c
		}
		r.f += bx[a] * q
		r.fx += dx[a] * q
		r.fy += bx[a] * dq
		r.fxx += ddx[a] * q
		r.fxy += dx[a] * dq
		r.fyy += bx[a] * ddq
	}
	h := s.h
	r.fx, r.fy = r.fx/h, r.fy/h
	r.fxx, r.fxy, r.fyy = r.fxx/(h*h), r.fxy/(h*h), r.fyy/(h*h)
	return r
}

// refine is the same function on knots half as far apart, cut to a box within
// the lattice. No value changes: cubic B-splines are refined by the mask
// (1 4 6 4 1)/8.
// Source: G. M. Chaikin's scheme for cubics, e.g. N. Dyn and D. Levin, Acta
// Numerica 11 (2002), section 2 (from memory); checked by test.
func (s *spline) refine(b orb.Bound) *spline {
	h := s.h / 2
	i0, i1 := halves(s.x0, h, b.Min[0], b.Max[0], 2*s.nx)
	j0, j1 := halves(s.y0, h, b.Min[1], b.Max[1], 2*s.ny)
	r := &spline{lattice: lattice{s.x0 + h*float64(i0), s.y0 + h*float64(j0), h, i1 - i0, j1 - j0}}
	r.c = make([]float64, r.unknowns())
	for i := range r.nx + 3 {
		ki, wi := halved(i + i0)
		for j := range r.ny + 3 {
			kj, wj := halved(j + j0)
			var sum float64
			for a, x := range wi {
				for b, y := range wj {
					if x*y != 0 { // a weight of nothing may lie beyond the lattice
						sum += x * y * s.c[s.base(ki+a, kj+b)]
					}
				}
			}
			r.c[r.base(i, j)] = sum
		}
	}
	return r
}

// halves are the first and the last knot of a finer lattice that enclose lo..hi.
func halves(origin, h, lo, hi float64, n int) (first, last int) {
	first = max(0, min(n-1, int(math.Floor((lo-origin)/h))))
	last = max(first+1, min(n, int(math.Ceil((hi-origin)/h))))
	return first, last
}

// halved is the first of three coarse coefficients, with their weights, that
// make the fine coefficient k of a lattice with the same corner.
func halved(k int) (first int, w [3]float64) {
	// Fine k sits at (k-1)/2 coarse steps from the corner, coarse i at i-1.
	if k%2 == 1 {
		return (k+1)/2 - 1, [3]float64{1. / 8, 6. / 8, 1. / 8}
	}
	return k / 2, [3]float64{1. / 2, 1. / 2, 0}
}

// bending is the matrix of the thin plate energy: the integral over the lattice
// of fxx² + 2 fxy² + fyy², exact.
func bending(l lattice) *banded {
	x0, x1, x2 := gram(l.nx, l.h)
	y0, y1, y2 := gram(l.ny, l.h)
	m := newBanded(l.unknowns(), l.band())
	for i := range l.nx + 3 {
		for j := range l.ny + 3 {
			for di := 0; di < 4 && i+di < l.nx+3; di++ {
				for dj := -3; dj < 4; dj++ {
					if j+dj < 0 || j+dj >= l.ny+3 || (di == 0 && dj < 0) {
						continue
					}
					jj, d := min(j, j+dj), max(dj, -dj)
					v := x2[i][di]*y0[jj][d] + 2*x1[i][di]*y1[jj][d] + x0[i][di]*y2[jj][d]
					m.add(l.base(i, j), l.base(i+di, j+dj), v)
				}
			}
		}
	}
	return m
}

// gram is the integrals of products of the basis functions i and i+d along
// one axis, and of their first and second derivatives, by four Gauss points a
// cell (exact to degree 7; the products have 6 at most).
func gram(n int, h float64) (g0, g1, g2 [][4]float64) {
	g0, g1, g2 = make([][4]float64, n+3), make([][4]float64, n+3), make([][4]float64, n+3)
	// Source: Abramowitz and Stegun, 1964, table 25.4, n = 4.
	nodes := [4]float64{-0.861136311594053, -0.339981043584856, 0.339981043584856, 0.861136311594053}
	weights := [4]float64{0.347854845137454, 0.652145154862546, 0.652145154862546, 0.347854845137454}
	var m0, m1, m2 [4][4]float64
	for k, x := range nodes {
		b, d, dd := cubic((x + 1) / 2)
		for i := range 4 {
			for j := i; j < 4; j++ {
				m0[i][j] += weights[k] / 2 * h * b[i] * b[j]
				m1[i][j] += weights[k] / 2 / h * d[i] * d[j]
				m2[i][j] += weights[k] / 2 / (h * h * h) * dd[i] * dd[j]
			}
		}
	}
	for c := range n {
		for i := range 4 {
			for j := i; j < 4; j++ {
				g0[c+i][j-i] += m0[i][j]
				g1[c+i][j-i] += m1[i][j]
				g2[c+i][j-i] += m2[i][j]
			}
		}
	}
	return g0, g1, g2
}
