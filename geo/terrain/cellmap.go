package terrain

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// cellMap gives the column and row of a raster, with fractions, at a place in
// the frame. It stands for the chain frame → WGS84 → the raster's system →
// cell, which costs two projections, by a polynomial of low degree: over a
// field the chain is all but affine.
//
// With u and v running from -1 to 1 over the domain, each of the two is
// Σ cᵢⱼ uⁱ vʲ over i + j <= degree, kept for Horner's rule: highest i first,
// and for each i highest j first.
type cellMap struct {
	mid, perM orb.Point // u = (x - mid[0]) * perM[0]
	degree    int
	errM      float64 // the worst found
	c         [terms]orb.Point
}

const (
	mostDegree = 5
	terms      = (mostDegree + 1) * (mostDegree + 2) / 2
	fitNodes   = 8 // along each axis; more than mostDegree
	checkSteps = 32
)

// unit is a place in the units of the domain; inside says whether it lies
// there. Numbers one by one, not as a pair, stay in registers.
func (m *cellMap) unit(x, y float64) (u, v float64, inside bool) {
	u, v = (x-m.mid[0])*m.perM[0], (y-m.mid[1])*m.perM[1]
	return u, v, u >= -1 && u <= 1 && v >= -1 && v <= 1
}

// cell is the column and row at (u, v). Up to the second degree, which does
// for most fields, it is written out.
func (m *cellMap) cell(u, v float64) (col, row float64) {
	switch c := &m.c; m.degree {
	case 1:
		return c[0][0]*u + c[1][0]*v + c[2][0], c[0][1]*u + c[1][1]*v + c[2][1]
	case 2:
		return (c[0][0]*u+c[1][0]*v+c[2][0])*u + (c[3][0]*v+c[4][0])*v + c[5][0],
			(c[0][1]*u+c[1][1]*v+c[2][1])*u + (c[3][1]*v+c[4][1])*v + c[5][1]
	}
	return m.horner(u, v)
}

func (m *cellMap) horner(u, v float64) (col, row float64) {
	k := 0
	for n := 0; n <= m.degree; n++ {
		q := m.c[k]
		k++
		for range n {
			q[0], q[1] = q[0]*v+m.c[k][0], q[1]*v+m.c[k][1]
			k++
		}
		col, row = col*u+q[0], row*u+q[1]
	}
	return col, row
}

// jet is the cell and its change per metre of the frame, by the same rule.
func (m *cellMap) jet(u, v float64) (cell, east, north orb.Point) {
	if m.degree == 2 {
		for i := range 2 {
			c0, c1, c2, c3, c4 := m.c[0][i], m.c[1][i], m.c[2][i], m.c[3][i], m.c[4][i]
			cell[i] = (c0*u+c1*v+c2)*u + (c3*v+c4)*v + m.c[5][i]
			east[i] = (2*c0*u + c1*v + c2) * m.perM[0]
			north[i] = (c1*u + 2*c3*v + c4) * m.perM[1]
		}
		return cell, east, north
	}
	k := 0
	for n := 0; n <= m.degree; n++ {
		q, d := m.c[k], orb.Point{}
		k++
		for range n {
			d[0], d[1] = d[0]*v+q[0], d[1]*v+q[1]
			q[0], q[1] = q[0]*v+m.c[k][0], q[1]*v+m.c[k][1]
			k++
		}
		for i := range 2 {
			east[i] = east[i]*u + cell[i]
			north[i] = north[i]*u + d[i]
			cell[i] = cell[i]*u + q[i]
		}
	}
	for i := range 2 {
		east[i] *= m.perM[0]
		north[i] *= m.perM[1]
	}
	return cell, east, north
}

// chain is the exact way from a place in the frame to a cell.
type chain func(p orb.Point) (cell orb.Point, ok bool)

// fitCells fits the chain over the box with the lowest degree whose error is
// below geo.MapErrorM on the ground, given the size of a cell in metres; where
// the system's datum is known by a grid of shifts, whose patches meet at an
// angle, up to geo.SurveySnapM will do. The
// error is looked for at 33 x 33 places; beyond the degree of the fit, the
// chain's terms fall by the size of the box over the earth's radius each, so
// that between such places nothing can hide.
func fitCells(exact chain, box orb.Bound, cellM float64) (*cellMap, error) {
	m := &cellMap{mid: box.Center()}
	half := [2]float64{(box.Max[0] - box.Min[0]) / 2, (box.Max[1] - box.Min[1]) / 2}
	m.perM = orb.Point{1 / half[0], 1 / half[1]}
	at := func(u, v float64) (orb.Point, bool) {
		return exact(orb.Point{m.mid[0] + u*half[0], m.mid[1] + v*half[1]})
	}
	cheb, ok := chebyshev(at)
	if !ok {
		return nil, errOffSystem
	}
	type control struct{ at, want orb.Point }
	checks := make([]control, 0, (checkSteps+1)*(checkSteps+1))
	for i := range checkSteps + 1 {
		for j := range checkSteps + 1 {
			u, v := 2*float64(i)/checkSteps-1, 2*float64(j)/checkSteps-1
			want, ok := at(u, v)
			if !ok {
				return nil, errOffSystem
			}
			checks = append(checks, control{orb.Point{u, v}, want})
		}
	}
	for d := 1; d <= mostDegree; d++ {
		m.set(&cheb, d)
		m.errM = 0
		for _, c := range checks {
			col, row := m.cell(c.at[0], c.at[1])
			m.errM = max(m.errM, cellM*math.Hypot(col-c.want[0], row-c.want[1]))
		}
		if m.errM <= geo.MapErrorM {
			return m, nil
		}
	}
	if m.errM <= geo.SurveySnapM {
		return m, nil
	}
	return nil, fmt.Errorf("over %.0f x %.0f km its cells cannot be placed closer than %.2g m; plan a smaller area at a time",
		2*half[0]/1000, 2*half[1]/1000, m.errM)
}

// chebyshev is the coefficients of the chain in products of Chebyshev
// polynomials, by discrete orthogonality at the nodes.
// Source: J. C. Mason, D. C. Handscomb, Chebyshev Polynomials, 2002, section
// 4.6 (from memory).
func chebyshev(at func(u, v float64) (orb.Point, bool)) (c [mostDegree + 1][mostDegree + 1]orb.Point, ok bool) {
	for k := range fitNodes {
		for l := range fitNodes {
			a := math.Pi * (float64(k) + 0.5) / fitNodes
			b := math.Pi * (float64(l) + 0.5) / fitNodes
			f, ok := at(math.Cos(a), math.Cos(b))
			if !ok {
				return c, false
			}
			for i := range c {
				for j := range c[i] {
					w := math.Cos(float64(i)*a) * math.Cos(float64(j)*b) * 4 / (fitNodes * fitNodes)
					if i == 0 {
						w /= 2
					}
					if j == 0 {
						w /= 2
					}
					c[i][j][0] += w * f[0]
					c[i][j][1] += w * f[1]
				}
			}
		}
	}
	return c, true
}

// powers[n] is the Chebyshev polynomial of degree n in powers, lowest first.
var powers = [mostDegree + 1][mostDegree + 1]float64{
	{1},
	{0, 1},
	{-1, 0, 2},
	{0, -3, 0, 4},
	{1, 0, -8, 0, 8},
	{0, 5, 0, -20, 0, 16},
}

// set takes the terms up to the degree over as powers of u and v.
func (m *cellMap) set(cheb *[mostDegree + 1][mostDegree + 1]orb.Point, degree int) {
	var mono [mostDegree + 1][mostDegree + 1]orb.Point
	for i := 0; i <= degree; i++ {
		for j := 0; i+j <= degree; j++ {
			for p := 0; p <= i; p++ {
				for q := 0; q <= j; q++ {
					w := powers[i][p] * powers[j][q]
					mono[p][q][0] += w * cheb[i][j][0]
					mono[p][q][1] += w * cheb[i][j][1]
				}
			}
		}
	}
	m.degree = degree
	k := 0
	for i := degree; i >= 0; i-- {
		for j := degree - i; j >= 0; j-- {
			m.c[k] = mono[i][j]
			k++
		}
	}
}
